//! The flap of an allowance that is folded over whole: the piece along the fold, mirrored.

use crate::geometry::{PathSeg, Point, Vec2};
use crate::pattern::outline::carried;

/// The line that the paper is folded on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct FoldLine {
    /// A point of it.
    pub(super) at: Point,
    /// Its normal of length 1, away from the cloth.
    pub(super) outward: Vec2,
}

impl FoldLine {
    /// How far outside the line a point lies, millimetres.
    pub(super) fn outside_mm(&self, p: Point) -> f64 {
        (p - self.at).dot(self.outward)
    }

    /// The mirror image: P' = P - 2 ((P - F) · n) n.
    pub(super) fn mirrored(&self, p: Point) -> Point {
        p - self.outward * (2.0 * self.outside_mm(p))
    }

    /// The mirror image of a segment.
    pub(super) fn mirrored_segment(&self, segment: PathSeg) -> PathSeg {
        carried(segment, |p| self.mirrored(p))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Where the mirrored side lies at the depth of the flap, and where the side run straight on would.
    fn flap(half_width: f64, widening_per_unit_outward: f64, depth: f64) -> (f64, f64) {
        let fold = FoldLine { at: Point::new(0.0, 0.0), outward: Vec2::new(0.0, 1.0) };
        let side = |down: f64| Point::new(half_width + widening_per_unit_outward * down, down);
        (fold.mirrored(side(-depth)).x, side(depth).x)
    }

    #[test]
    fn hem_after_check_4() {
        // TRADE check 4 [G]: hem 2, half-width 12, sides widening 1:10 downward: mirrored 11.8, run straight on 12.2.
        let (mirrored, straight_on) = flap(12.0, 0.1, 2.0);
        assert!((mirrored - 11.8).abs() < 1e-12 && (straight_on - 12.2).abs() < 1e-12);
    }

    #[test]
    fn turn_down_after_check_5() {
        // TRADE check 5 [G]: turn-down 2 at the top, half-width 5, sides widening 7:10 downward (outward is up here):
        // mirrored 6.4, run straight on 3.6.
        let (mirrored, straight_on) = flap(5.0, -0.7, 2.0);
        assert!((mirrored - 6.4).abs() < 1e-12 && (straight_on - 3.6).abs() < 1e-12);
    }
}
