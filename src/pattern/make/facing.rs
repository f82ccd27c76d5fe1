//! A facing, shaped by the edges that it faces.

use super::said::Said;
use crate::geometry::{PathSeg, Point};
use crate::pattern::bundle::Bundle;
use crate::pattern::edit::{Make, letters};
use crate::pattern::part::own_frame;
use crate::pattern::{Edge, FOLD, Outline, StepProblem, StepText, allowance};
use crate::units::{Length, Unit};
use kurbo::{ParamCurve, ParamCurveNearest};

/// The part of a piece within a depth of some edges, as a piece of its own: sewn to those edges and turned inside. Its
/// sides are those of the piece; its inner edge runs at the depth.
///
/// ```toml
/// [[step]]
/// do = "facing"
/// name = "top facing"
/// edges = ["top"]          # following each other; of the piece that `piece` names
/// depth = "50mm"
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(in crate::pattern) struct Facing {
    said: Said,
    edges: Vec<String>,
    depth: Length,
}

/// Distances to an edge are measured to this, millimetres.
const NEAR_MM: f64 = 1e-9;

impl Facing {
    /// How it is written.
    pub(in crate::pattern) const KIND: &str = "facing";

    pub(in crate::pattern) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&[&Said::KEYS[..], &["edges", "depth"]].concat())?;
        Ok(Self {
            said: Said::read(text, "facing")?,
            edges: text.must_edges()?,
            depth: text.must_size("depth", "depth = \"50mm\"")?,
        })
    }
}

impl Make for Facing {
    fn spoken(&self) -> String {
        format!("{}: {} deep, along {}", self.said.spoken(), self.depth, self.edges.join(", "))
    }

    fn unit(&self) -> Option<Unit> {
        Some(self.depth.unit())
    }

    fn make(&self, bundle: &mut Bundle, at: usize) -> Result<(), StepProblem> {
        let faced = bundle.pieces[at].outline.clone();
        let mut run = letters(&faced, &self.edges)?
            .iter()
            .map(|letter| faced.find_point(&letter.to_string()))
            .collect::<Result<Vec<_>, _>>()?;
        run.sort_unstable();
        run.dedup();
        let follow = run.windows(2).all(|w| w[0] + 1 == w[1]);
        if !follow || run.iter().any(|&e| faced.is_fold(e)) || run.len() + 1 >= faced.edges().len() {
            return Err(StepProblem::NotARun { edges: self.edges.join(", ") });
        }
        let stop = |edge: usize| faced.edges()[edge].segments.clone();
        let inner = allowance::inset(&faced, &run, |_| self.depth.mm(), stop)?.concat();
        let mut line = faced.clone();
        let mut edges: Vec<Edge> = run.iter().map(|&e| plain(&faced.edges()[e])).collect();
        let (before, after) = (faced.before(run[0]), faced.after(run[run.len() - 1]));
        let (inner_start, inner_end) = (inner[0].start(), inner[inner.len() - 1].end());
        let mut side = plain(&faced.edges()[after]);
        side.segments = up_to(&side.segments, inner_end);
        edges.push(side);
        let mut back = Edge::new(line.new_letter(), inner.iter().rev().map(PathSeg::reverse).collect());
        back.name = Some("inner".to_owned());
        edges.push(back);
        let mut side = plain(&faced.edges()[before]);
        side.from = line.new_letter();
        let reversed: Vec<PathSeg> = side.segments.iter().rev().map(PathSeg::reverse).collect();
        side.segments = up_to(&reversed, inner_start).iter().rev().map(PathSeg::reverse).collect();
        edges.push(side);
        let folds = edges.iter().filter(|e| faced.on_fold() && e.name.as_deref() == Some(FOLD)).count();
        if folds > 1 {
            return Err(StepProblem::NotARun { edges: self.edges.join(", ") });
        }
        if let Some(fold) = edges.iter().position(|e| folds == 1 && e.name.as_deref() == Some(FOLD)) {
            edges.rotate_left(fold + 1);
        }
        let mut outline = Outline::from_edges(edges, folds == 1, line.unused());
        outline.transform(own_frame(&outline));
        let record = bundle.pieces[at].record.clone();
        let grain = record.grain.clone();
        bundle.add(self.said.piece(outline, &record, &grain))
    }
}

/// An edge with its name and nothing outside it.
fn plain(edge: &Edge) -> Edge {
    Edge { name: edge.name.clone(), ..Edge::new(edge.from, edge.segments.clone()) }
}

/// A run up to the place of it that is nearest to a point on it, ending exactly there.
fn up_to(run: &[PathSeg], end: Point) -> Vec<PathSeg> {
    let near = |s: &PathSeg| s.nearest(end, NEAR_MM);
    let (index, t) = run
        .iter()
        .enumerate()
        .map(|(i, s)| (i, near(s)))
        .min_by(|a, b| a.1.distance_sq.total_cmp(&b.1.distance_sq))
        .map_or((0, 1.0), |(i, n)| (i, n.t));
    let mut out = run[..index].to_vec();
    out.push(match run[index].subsegment(0.0..t) {
        PathSeg::Line(l) => PathSeg::Line(kurbo::Line::new(l.p0, end)),
        PathSeg::Cubic(c) => PathSeg::Cubic(kurbo::CubicBez::new(c.p0, c.p1, c.p2, end)),
        PathSeg::Quad(q) => PathSeg::Quad(kurbo::QuadBez::new(q.p0, q.p1, end)),
    });
    out
}
