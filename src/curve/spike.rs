//! Pieces that run where no point is.
//!
//! Distances are from the points to the curve. A joint that was carried past its points, along the line and back, leaves a spike that no
//! distance shows: so the curve is held against the points the other way round too.

use super::joined::{Joined, Piece};
use super::samples::Samples;
use super::split::Kind;
use crate::geometry::Point;
use kurbo::ParamCurve;

/// A place of the curve farther than this from all points beside it lies on a spike, mm: at a corner the points are rounded by less.
const SPIKE_MM: f64 = 0.9;
/// Places of a piece that are asked.
const ASKED: usize = 12;
/// Length of points beyond a piece's own to either side that its places may lie beside, mm.
const BESIDE_MM: f64 = 6.0;

impl Joined {
    /// Takes out the joints that make spikes: the pieces on both sides become one cubic; whether there were any.
    pub(super) fn blunted(&mut self, samples: &Samples) -> bool {
        let mut any = false;
        let mut k = 0;
        while k < self.count() && self.count() > 3 {
            let Some(joint) = self.spike(k, samples) else {
                k += 1;
                continue;
            };
            let before = joint - 1;
            let (a, b) = (self.pieces[before], self.pieces[joint]);
            let chord = self.joints[(joint + 1) % self.count()].at - self.joints[before].at;
            let whole = |p: Piece, end: usize| match p.kind {
                Kind::Line => chord.atan2(),
                Kind::Cubic => p.heading[end],
            };
            self.pieces[before] = Piece {
                kind: Kind::Cubic,
                heading: [whole(a, 0), whole(b, 1)],
                handle: [chord.hypot() / 3.0; 2],
            };
            self.pieces.remove(joint);
            self.joints.remove(joint);
            any = true;
            // The new piece is judged when it has settled.
            k = before + 1;
        }
        any
    }

    /// Whether it has spikes that can be taken out.
    pub(super) fn spiked(&self, samples: &Samples) -> bool {
        (0..self.count()).any(|k| self.spike(k, samples).is_some())
    }

    /// The smooth joint of piece `k` that makes it a spike; `None` too where that is the ring's first joint, at which all indices begin.
    fn spike(&self, k: usize, samples: &Samples) -> Option<usize> {
        let n = samples.len();
        let beside = samples.count(BESIDE_MM).min(n / 4);
        let from = self.joints[k].index + n - beside;
        let to = from + self.points(k, n) + 2 * beside;
        let off = |p: Point| {
            let d2 = |i: usize| samples.at[i % n].distance_squared(p);
            (from..=to).map(d2).fold(f64::INFINITY, f64::min).sqrt()
        };
        let c = self.cubic(k);
        let spiked = (1..ASKED).any(|j| off(c.eval(j as f64 / ASKED as f64)) > SPIKE_MM);
        let next = (k + 1) % self.count();
        let held = |j: usize| self.fold.is_some() && (j == 0 || j + 1 == self.count());
        let free = |j: &usize| !self.joints[*j].corner && !held(*j);
        let farther = |a: &usize, b: &usize| off(self.joints[*a].at).total_cmp(&off(self.joints[*b].at));
        spiked.then(|| [k, next].into_iter().filter(free).max_by(farther)).flatten().filter(|j| *j > 0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::curve::joined::Joint;
    use crate::geometry::{Trace, TracePoint, Vec2};

    #[test]
    fn a_joint_carried_off_its_points_is_taken_out() {
        const RADIUS: f64 = 80.0;
        let points: Vec<TracePoint> = (0..504)
            .map(|k| {
                let at = (Vec2::from_angle(f64::from(k) / 504.0 * std::f64::consts::TAU) * RADIUS).to_point();
                TracePoint { at, sigma_mm: 0.05, bridged: false }
            })
            .collect();
        let samples = Samples::new(&Trace { points, corners: Vec::new() }).expect("a ring");
        // Eight cubics round the circle.
        let eighth = std::f64::consts::TAU / 8.0;
        let handle = 4.0 / 3.0 * (eighth / 4.0).tan() * RADIUS;
        let joints = (0u32..8).map(|k| {
            let at = (Vec2::from_angle(f64::from(k) * eighth) * RADIUS).to_point();
            Joint { at, corner: false, told: None, index: 63 * k as usize }
        });
        let quarter = std::f64::consts::FRAC_PI_2;
        let pieces = (0..8).map(|k| Piece {
            kind: Kind::Cubic,
            heading: [f64::from(k) * eighth + quarter, f64::from(k + 1) * eighth + quarter],
            handle: [handle; 2],
        });
        let mut joined = Joined { joints: joints.collect(), pieces: pieces.collect(), fold: None };
        assert!(!joined.blunted(&samples), "a circle has no spike");
        // One joint runs 5 mm off the points.
        let inward = joined.joints[4].at.to_vec2().normalize() * -5.0;
        joined.joints[4].at += inward;
        assert!(joined.blunted(&samples));
        assert_eq!(joined.count(), 7);
        let feet = joined.settle(&samples, 0.25, 8);
        assert!(feet.off.iter().all(|d| d.abs() < 0.05));
        assert!(!joined.blunted(&samples));
    }
}
