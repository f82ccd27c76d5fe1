//! Whether the finished line meets the fold square, so that the opened piece has neither a peak nor a notch there.

use super::{Letter, Outline, joint};
use std::f64::consts::FRAC_PI_2;

/// How the finished line meets one end of the fold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FoldEnd {
    /// The point.
    pub letter: Letter,
    /// How far the angle inside the cloth departs from a right angle, radians: positive when it is larger, so that
    /// the opened piece has a V cut into it there; negative when it has a peak.
    pub off_rad: f64,
}

impl FoldEnd {
    /// Depth of the V over a width from the fold, w · tan δ; negative for a peak.
    #[must_use]
    pub fn depth_mm(&self, width_mm: f64) -> f64 {
        width_mm * self.off_rad.tan()
    }
}

impl Outline {
    /// How the line meets the fold at its top and at its bottom; `None` for a piece without a fold.
    #[must_use]
    pub fn fold_ends(&self) -> Option<[FoldEnd; 2]> {
        if !self.on_fold() {
            return None;
        }
        let edges = self.edges();
        let fold = edges.len() - 1;
        let end = |point: usize| {
            let before = &edges[(point + fold) % edges.len()].segments;
            let turn = joint::turn_rad(&before[before.len() - 1], &edges[point].segments[0]);
            // Clockwise round the cloth, the angle inside is π less the turn.
            FoldEnd { letter: edges[point].from, off_rad: FRAC_PI_2 - turn }
        };
        Some([end(0), end(fold)])
    }
}
