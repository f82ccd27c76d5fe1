//! Where a finding is to be seen.

use crate::geometry::Point;
use crate::pattern::{Edge, Piece};
use kurbo::{ParamCurve, ParamCurveArclen, ParamCurveCurvature};

/// Ways along an edge are good to this, millimetres.
const LENGTH_MM: f64 = 0.01;
/// Places of a segment at which its radius is looked at.
const SAMPLES: u32 = 64;

/// A place of a piece.
#[derive(Debug, Clone, PartialEq)]
pub struct Sight {
    /// The piece's name.
    pub piece: String,
    /// Where, in the piece's own frame, millimetres.
    pub at: Point,
}

impl Sight {
    pub(super) fn new(piece: &Piece, at: Point) -> Self {
        Self { piece: piece.record.piece.clone(), at }
    }

    /// The middle of an edge's length.
    pub(super) fn middle(piece: &Piece, edge: &Edge) -> Self {
        let mut left = edge.length_mm() / 2.0;
        for segment in &edge.segments {
            let length = segment.arclen(LENGTH_MM);
            if left <= length {
                return Self::new(piece, segment.eval(segment.inv_arclen(left, LENGTH_MM)));
            }
            left -= length;
        }
        Self::new(piece, edge.end())
    }

    /// Where an edge has this radius, millimetres, or comes nearest to it.
    pub(super) fn bent(piece: &Piece, edge: &Edge, radius_mm: f64) -> Self {
        let mut best = (f64::INFINITY, edge.start());
        for cubic in edge.segments.iter().map(kurbo::PathSeg::to_cubic) {
            for k in 0..=SAMPLES {
                let t = f64::from(k) / f64::from(SAMPLES);
                let off = (cubic.curvature(t).abs().recip() - radius_mm).abs();
                if off < best.0 {
                    best = (off, cubic.eval(t));
                }
            }
        }
        Self::new(piece, best.1)
    }
}
