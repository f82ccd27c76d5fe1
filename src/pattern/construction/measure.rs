//! Figures for a workshop's tables: edges and widths, finished and cut; stitch holes and thread.

use super::super::{Allowance, Piece, StepProblem, Stitch};
use crate::geometry::{PathSeg, Point};
use crate::units::Unit;
use kurbo::{Line, ParamCurve, ParamCurveArclen};

/// One edge, finished and cut.
#[derive(Debug, Clone, PartialEq)]
pub struct EdgeMeasure {
    /// The edge, as a person says it.
    pub edge: String,
    /// Length of the finished line, millimetres.
    pub finished_mm: f64,
    /// Length of the cut line along it, its corners counted in, millimetres.
    pub cut_mm: f64,
    /// What is added outside it.
    pub allowance: Option<Allowance>,
}

/// A width, opened out at the fold, finished and cut.
#[derive(Debug, Clone, PartialEq)]
pub struct WidthMeasure {
    /// The lettered point at whose height it is taken: `C`.
    pub at: String,
    /// How far down that is from the top of the fold (or of the piece), millimetres.
    pub down_mm: f64,
    /// Between the finished lines, millimetres.
    pub finished_mm: f64,
    /// Between the cut lines, millimetres.
    pub cut_mm: f64,
}

/// A stitch line with its holes.
#[derive(Debug, Clone, PartialEq)]
pub struct Stitching {
    /// The edges it follows, as a person says them.
    pub edges: String,
    /// Which stitch.
    pub stitch: Stitch,
    /// How far inside the finished line it runs, millimetres.
    pub inset_mm: f64,
    /// Holes on the drawn piece, in order; none for a machine's stitch. On a half one of them may lie on the fold.
    pub holes: Vec<Point>,
    /// How many holes the whole piece has.
    pub count: usize,
    /// Length of the line on the whole piece, millimetres.
    pub length_mm: f64,
    /// Pitch asked for, millimetres.
    pub asked_pitch_mm: f64,
    /// Smallest and largest pitch that comes out between corners, millimetres.
    pub pitch_mm: (f64, f64),
    /// Thread for the whole piece, tails counted in, millimetres.
    pub thread_mm: f64,
}

impl Stitching {
    /// The line in words: holes, pitch, thread.
    #[must_use]
    pub fn spoken(&self, unit: Unit) -> String {
        let (length, thread) = (unit.show(self.length_mm), unit.show(self.thread_mm));
        let sewn = match self.stitch {
            Stitch::Saddle => {
                format!("{} holes, pitch {:.3} to {:.3} mm", self.count, self.pitch_mm.0, self.pitch_mm.1)
            }
            Stitch::Lockstitch => format!("stitches of {:.1} mm", self.asked_pitch_mm),
        };
        format!("{} along {}: {length}, {sewn}, thread {thread}", self.stitch.word(), self.edges)
    }
}

/// Lengths are measured to this, millimetres.
const ARC_MM: f64 = 1e-4;

/// Points this near to a height are at it, millimetres: a level edge is level to this, and its ends are where it is widest.
const LEVEL_MM: f64 = 0.02;

impl Piece {
    /// Every edge but the fold, finished and cut.
    ///
    /// # Errors
    /// As [`Piece::cut_line`].
    pub fn edge_measures(&self) -> Result<Vec<EdgeMeasure>, StepProblem> {
        let cut = self.cut_line()?;
        let edges = self.outline.edges();
        let measured = edges.iter().enumerate().filter(|(index, _)| !self.outline.is_fold(*index));
        let list = measured.map(|(index, edge)| {
            let finished_mm = edge.length_mm();
            let cut_length = |run: &Vec<PathSeg>| run.iter().map(|s| s.arclen(ARC_MM)).sum();
            EdgeMeasure {
                edge: self.outline.spoken(index),
                finished_mm,
                cut_mm: cut.as_ref().map_or(finished_mm, |c| cut_length(&c.edges[index])),
                allowance: edge.allowance,
            }
        });
        Ok(list.collect())
    }

    /// The width at the height of every lettered point that does not lie on the fold; heights that two points share are
    /// measured once.
    ///
    /// # Errors
    /// As [`Piece::cut_line`].
    pub fn width_measures(&self) -> Result<Vec<WidthMeasure>, StepProblem> {
        let cut = self.cut_line()?;
        let finished: Vec<PathSeg> = self.outline.segments().copied().collect();
        let outer = cut.map_or_else(|| finished.clone(), |c| c.ring.segments().to_vec());
        let bounds = self.outline.ring().bounds();
        let top = if self.outline.on_fold() { self.outline.edges()[0].start().y } else { bounds.y0 };
        let mut out: Vec<WidthMeasure> = Vec::new();
        for (letter, at) in self.outline.points() {
            if out.iter().any(|w| (w.down_mm - (at.y - top)).abs() < 1.0)
                || (self.outline.on_fold() && at.x.abs() < LEVEL_MM)
            {
                continue;
            }
            let widths = [&finished, &outer].map(|run| self.width_at(run, at.y));
            let [Some(finished_mm), Some(cut_mm)] = widths else {
                continue;
            };
            out.push(WidthMeasure { at: letter.to_string(), down_mm: at.y - top, finished_mm, cut_mm });
        }
        Ok(out)
    }

    /// Width of a closed line at a height, opened out at the fold.
    fn width_at(&self, run: &[PathSeg], y: f64) -> Option<f64> {
        let level = Line::new((-1e5, y), (1e5, y));
        let met = |s: &PathSeg| {
            s.intersect_line(level).iter().map(|hit| s.eval(hit.segment_t).x).collect::<Vec<_>>()
        };
        let at_it = run.iter().map(|s| s.start()).filter(|p| (p.y - y).abs() <= LEVEL_MM).map(|p| p.x);
        let across: Vec<f64> = run.iter().flat_map(met).chain(at_it).collect();
        let right = across.iter().copied().reduce(f64::max)?;
        let left = across.iter().copied().reduce(f64::min)?;
        Some(if self.outline.on_fold() { 2.0 * right } else { right - left })
    }
}
