//! The finished line of a piece: edges between lettered points.

use super::edit::Way;
use super::joint::{self, SMOOTH_RAD};
use super::{Allowance, Corner, Letter, StepProblem, Tab, nearest};
use crate::geometry::{Affine, PathSeg, Point, Ring};
use kurbo::{CubicBez, ParamCurve, ParamCurveArclen, ParamCurveArea};

/// A straight run at least this long that passes smoothly into a curve has lettered points at its ends,
/// millimetres: a side and a hem are edges of their own though the corner between them is rounded. Shorter
/// straight bits are part of the curve that they belong to. Raising it gives fewer letters.
const STRAIGHT_RUN_MM: f64 = 25.0;

/// Name of the last edge of a half piece.
pub const FOLD: &str = "fold";

/// One edge: from its lettered point to the point of the edge after it.
#[derive(Debug, Clone, PartialEq)]
pub struct Edge {
    /// The point at which it begins.
    pub from: Letter,
    /// A name that a person gave it (`armhole`), if any.
    pub name: Option<String>,
    /// What is added outside it, if anything.
    pub allowance: Option<Allowance>,
    /// What becomes of the allowances at its first point.
    pub corner: Corner,
    /// Tabs that are folded over parts of it.
    pub tabs: Vec<Tab>,
    /// Its lines and cubics, never empty, each beginning where the one before ends.
    pub segments: Vec<PathSeg>,
}

impl Edge {
    /// An edge of these segments with nothing outside it.
    pub(super) fn new(from: Letter, segments: Vec<PathSeg>) -> Self {
        Self { from, name: None, allowance: None, corner: Corner::Full, tabs: Vec::new(), segments }
    }

    /// Where it begins.
    #[must_use]
    pub fn start(&self) -> Point {
        self.segments[0].start()
    }

    /// Where it ends.
    #[must_use]
    pub fn end(&self) -> Point {
        self.segments[self.segments.len() - 1].end()
    }

    /// Arc length in millimetres, good to a micrometre.
    #[must_use]
    pub fn length_mm(&self) -> f64 {
        self.segments.iter().map(|s| s.arclen(1e-4)).sum()
    }

    /// Whether it is one straight line.
    #[must_use]
    pub fn is_straight(&self) -> bool {
        matches!(self.segments[..], [PathSeg::Line(_)])
    }
}

/// The finished line of a piece, clockwise, as edges between lettered points.
///
/// A half piece begins at the fold's top, (0, 0), and its last edge is the straight fold on x = 0, going up.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    edges: Vec<Edge>,
    on_fold: bool,
    /// The letter that the next new point gets; a letter once used never comes again.
    unused: Letter,
}

impl Outline {
    /// Letters a half: corners (indices of segments that begin at one) and the ends of straight runs become
    /// points, from A at the fold's top round to the fold's bottom.
    ///
    /// The ring begins at the fold's top, runs clockwise and ends with the straight fold.
    #[must_use]
    pub fn from_half(half: &Ring, corners: &[usize]) -> Self {
        let segments: Vec<PathSeg> = half.segments().iter().map(as_line_or_cubic).collect();
        let last = segments.len() - 1;
        let is_run = |s: &PathSeg| matches!(s, PathSeg::Line(l) if (l.p1 - l.p0).hypot() >= STRAIGHT_RUN_MM);
        let mut edges: Vec<Edge> = Vec::new();
        for (index, segment) in segments.iter().enumerate() {
            let corner = corners.contains(&index) || index == 0 || index == last;
            let run_end = index > 0 && is_run(segment) != is_run(&segments[index - 1]);
            if corner || run_end {
                let from = edges.last().map_or(Letter::nth(0), |e| e.from.next());
                edges.push(Edge::new(from, Vec::new()));
            }
            if let Some(edge) = edges.last_mut() {
                push_joined(&mut edge.segments, *segment);
            }
        }
        if let Some(fold) = edges.last_mut() {
            fold.name = Some(FOLD.to_owned());
        }
        let unused = edges.last().map_or(Letter::nth(0), |e| e.from.next());
        Self { edges, on_fold: true, unused }
    }

    /// An outline of edges that meet, clockwise; with a fold, that is the last one.
    pub(super) fn from_edges(edges: Vec<Edge>, on_fold: bool, unused: Letter) -> Self {
        Self { edges, on_fold, unused }
    }

    /// An outline drafted from numbers: straight edges through points, clockwise, each edge with its name (empty for none).
    pub(super) fn drafted(points: &[(f64, f64, &str)]) -> Self {
        let count = points.len();
        let mut from = Letter::nth(0);
        let edges = (0..count).map(|i| {
            let (a, b) = (points[i], points[(i + 1) % count]);
            let line = PathSeg::Line(kurbo::Line::new((a.0, a.1), (b.0, b.1)));
            let mut edge = Edge::new(from, vec![line]);
            edge.name = (!a.2.is_empty()).then(|| a.2.to_owned());
            from = from.next();
            edge
        });
        let edges: Vec<Edge> = edges.collect();
        Self { edges, on_fold: false, unused: from }
    }

    /// The letter that the next new point gets.
    pub(super) fn unused(&self) -> Letter {
        self.unused
    }

    /// Every line of it carried by a map.
    pub(super) fn transform(&mut self, map: Affine) {
        for segment in self.edges.iter_mut().flat_map(|e| &mut e.segments) {
            *segment = map * *segment;
        }
    }

    /// The edges in order.
    #[must_use]
    pub fn edges(&self) -> &[Edge] {
        &self.edges
    }

    /// The edges, for an edit.
    pub(super) fn edges_mut(&mut self) -> &mut Vec<Edge> {
        &mut self.edges
    }

    /// Whether the last edge is a fold on x = 0.
    #[must_use]
    pub fn on_fold(&self) -> bool {
        self.on_fold
    }

    /// The edge by its letters, `B-C`.
    #[must_use]
    pub fn label(&self, edge: usize) -> String {
        format!("{}-{}", self.edges[edge].from, self.edges[self.after(edge)].from)
    }

    /// The edge as a person says it: `armhole (B-C)`, or its letters alone.
    #[must_use]
    pub fn spoken(&self, edge: usize) -> String {
        match &self.edges[edge].name {
            Some(name) => format!("{name} ({})", self.label(edge)),
            None => self.label(edge),
        }
    }

    /// The lettered points in order.
    pub fn points(&self) -> impl Iterator<Item = (Letter, Point)> + '_ {
        self.edges.iter().map(|e| (e.from, e.start()))
    }

    /// The edge of this name or these letters (`armhole`, `B-C`, `C-B`).
    ///
    /// # Errors
    /// [`StepProblem::NoEdge`] with the nearest one and the list of all.
    pub fn find_edge(&self, name: &str) -> Result<usize, StepProblem> {
        let wanted = name.trim();
        let turned = wanted.split_once('-').map(|(a, b)| format!("{}-{}", b.trim(), a.trim()));
        let found = (0..self.edges.len()).find(|&i| {
            let label = self.label(i);
            label.eq_ignore_ascii_case(wanted)
                || turned.as_ref().is_some_and(|t| label.eq_ignore_ascii_case(t))
                || self.edges[i].name.as_deref().is_some_and(|n| n.eq_ignore_ascii_case(wanted))
        });
        found.ok_or_else(|| {
            let labels: Vec<String> = (0..self.edges.len()).map(|i| self.label(i)).collect();
            let names = self.edges.iter().filter_map(|e| e.name.as_deref());
            StepProblem::NoEdge {
                name: wanted.to_owned(),
                nearest: nearest(wanted, names.chain(labels.iter().map(String::as_str))).map(str::to_owned),
                known: (0..self.edges.len()).map(|i| self.spoken(i)).collect::<Vec<_>>().join(", "),
            }
        })
    }

    /// Index of the edge that begins at the point of this letter.
    ///
    /// # Errors
    /// [`StepProblem::NoPoint`] with the range of letters there are.
    pub fn find_point(&self, letter: &str) -> Result<usize, StepProblem> {
        let wanted = Letter::parse(letter.trim());
        self.edges.iter().position(|e| Some(e.from) == wanted).ok_or_else(|| StepProblem::NoPoint {
            name: letter.trim().to_owned(),
            known: self.edges.iter().map(|e| e.from.to_string()).collect::<Vec<_>>().join(", "),
        })
    }

    /// The edge after this one, and so the point at which this one ends.
    #[must_use]
    pub fn after(&self, edge: usize) -> usize {
        (edge + 1) % self.edges.len()
    }

    /// The edge before this one, which ends at the point where this one begins.
    #[must_use]
    pub fn before(&self, edge: usize) -> usize {
        (edge + self.edges.len() - 1) % self.edges.len()
    }

    /// A letter for a new point.
    pub(super) fn new_letter(&mut self) -> Letter {
        let letter = self.unused;
        self.unused = letter.next();
        letter
    }

    /// Whether this edge is the fold.
    #[must_use]
    pub fn is_fold(&self, edge: usize) -> bool {
        self.on_fold && edge + 1 == self.edges.len()
    }

    /// Whether the point at which this edge begins lies on the fold.
    #[must_use]
    pub fn is_on_fold(&self, point: usize) -> bool {
        self.on_fold && (point == 0 || point + 1 == self.edges.len())
    }

    /// Every segment in order.
    pub fn segments(&self) -> impl Iterator<Item = &PathSeg> {
        self.edges.iter().flat_map(|e| &e.segments)
    }

    /// The closed line opened out at the fold; the line itself where there is none.
    pub(super) fn whole_segments(&self) -> Vec<PathSeg> {
        if !self.on_fold {
            return self.segments().copied().collect();
        }
        let right: Vec<PathSeg> =
            self.edges[..self.edges.len() - 1].iter().flat_map(|e| &e.segments).copied().collect();
        let left = right.iter().rev().map(|s| Affine::FLIP_X * s.reverse());
        right.iter().copied().chain(left).collect()
    }

    /// The closed line.
    ///
    /// # Panics
    /// Never: edges are kept joined.
    #[must_use]
    #[expect(
        clippy::expect_used,
        reason = "edges are joined where they are made, and every edit keeps them so"
    )]
    pub fn ring(&self) -> Ring {
        Ring::new(self.segments().copied().collect()).expect("the edges of an outline meet")
    }

    /// Area in mm².
    #[must_use]
    pub fn area_mm2(&self) -> f64 {
        self.segments().map(ParamCurveArea::signed_area).sum()
    }

    /// For every segment, whether the one before runs smoothly into it.
    pub(super) fn smooth_joints(&self) -> Vec<bool> {
        let segments: Vec<&PathSeg> = self.segments().collect();
        let before = |i: usize| segments[(i + segments.len() - 1) % segments.len()];
        (0..segments.len()).map(|i| joint::turn_rad(before(i), segments[i]).abs() < SMOOTH_RAD).collect()
    }

    /// Blends the joints that were smooth before an edit which kept the number of segments.
    pub(super) fn blend_joints(&mut self, smooth: &[bool]) {
        let mut all: Vec<PathSeg> = self.segments().copied().collect();
        for index in (0..all.len()).filter(|&i| smooth[i]) {
            let before = (index + all.len() - 1) % all.len();
            let (mut a, mut b) = (all[before], all[index]);
            joint::blend(&mut a, &mut b);
            all[before] = a;
            all[index] = b;
        }
        let mut next = all.into_iter();
        for segment in self.edges.iter_mut().flat_map(|e| &mut e.segments) {
            if let Some(blended) = next.next() {
                *segment = blended;
            }
        }
    }
}

/// Quadratic curves raised to cubics; the rest as it is.
fn as_line_or_cubic(segment: &PathSeg) -> PathSeg {
    match segment {
        PathSeg::Quad(q) => PathSeg::Cubic(q.raise()),
        other => *other,
    }
}

/// The segment with every control point carried by a map that takes lines to lines.
pub(super) fn carried(segment: PathSeg, map: impl Fn(Point) -> Point) -> PathSeg {
    match as_line_or_cubic(&segment) {
        PathSeg::Cubic(c) => PathSeg::Cubic(CubicBez::new(map(c.p0), map(c.p1), map(c.p2), map(c.p3))),
        line => PathSeg::Line(kurbo::Line::new(map(line.start()), map(line.end()))),
    }
}

/// Appends a segment; two lines of one direction become one, so that a straight edge is a single line.
fn push_joined(segments: &mut Vec<PathSeg>, segment: PathSeg) {
    /// Lines that turn by less than this are one, radians: 1 µm over a metre.
    const SAME_DIRECTION_RAD: f64 = 1e-6;
    if let (Some(PathSeg::Line(a)), PathSeg::Line(b)) = (segments.last().copied(), segment)
        && joint::turn_rad(&PathSeg::Line(a), &segment).abs() < SAME_DIRECTION_RAD
    {
        segments.pop();
        segments.push(PathSeg::Line(kurbo::Line::new(a.p0, b.p1)));
    } else {
        segments.push(segment);
    }
}

/// The cubic cut where it turns round (runs level, for [`Way::Down`]), so that each piece only goes one way.
pub(super) fn cut_at_turns(cubic: CubicBez, way: Way) -> Vec<CubicBez> {
    /// Cuts nearer to an end than this part of the curve leave slivers and are not made.
    const SLIVER: f64 = 1e-6;
    let [p0, p1, p2, p3] = [cubic.p0, cubic.p1, cubic.p2, cubic.p3].map(|p| way.of(p));
    let (a, b, c) = (p1 - p0, p2 - p1, p3 - p2);
    let mut cuts: Vec<f64> = kurbo::common::solve_quadratic(a, 2.0 * (b - a), a - 2.0 * b + c)
        .into_iter()
        .filter(|t| (SLIVER..1.0 - SLIVER).contains(t))
        .collect();
    cuts.sort_by(f64::total_cmp);
    cuts.push(1.0);
    let mut from = 0.0;
    cuts.into_iter().map(|to| cubic.subsegment(std::mem::replace(&mut from, to)..to)).collect()
}
