//! A line about to reach a corner, carried on past its places: least squares with a penalty on third differences (as in
//! `smooth.rs`), reweighted by Cauchy's function. A bend goes on as it was, so that a hollow is followed into its corner and a side
//! stays straight, without either being told beforehand.

use super::banded::Banded;
use crate::geometry::{Point, TracePoint, Vec2};

/// Places farther from the corner say nothing, millimetres.
const LENGTH_MM: f64 = 40.0;
/// The flank's direction is that to its last place nearer than this, millimetres.
const AHEAD_MM: f64 = 20.0;
/// How far beyond the corner it is carried, millimetres.
const BEYOND_MM: f64 = 8.0;
/// Nearer places are asked last: what lies beside a corner draws them off, millimetres.
const NEAR_MM: f64 = 4.0;
/// Rounds without the near places, and rounds.
const FAR_ROUNDS: usize = 4;
const ROUNDS: usize = 14;
/// Fewest places.
const PLACES_LEAST: usize = 8;
/// Places of a kind are wrong together: none counts as better than this, millimetres.
const FLOOR_MM: f64 = 0.1;
/// Cauchy's constant. A strip of floor or of paper draws a row of places off together, so that even small ones are doubted.
const CAUCHY: f64 = 1.5;
/// Waves shorter than this are smoothed away where places are of typical strength, millimetres.
const WAVE_MM: f64 = 36.0;
/// The typical strength, standard deviation in millimetres.
const TYPICAL_MM: f64 = 0.12;
/// Flanks that meet at a smaller angle than this (its sine) do not place a corner: their bends would shift it along them.
const ASLANT: f64 = 0.5;

/// The line on one side of a corner: v over u, u along a chord from the corner out, every millimetre from beyond the corner on.
pub(super) struct Flank {
    corner: Point,
    ahead: Vec2,
    v: Vec<f64>,
}

impl Flank {
    /// Where the flanks of a corner at place `i` of a closed line meet; `corners` are the places of all.
    pub(super) fn meeting(points: &[TracePoint], i: usize, corners: &[usize]) -> Option<Point> {
        let (n, corner) = (points.len(), points[i].at);
        let flank = |step: usize| {
            let other = |p: usize| corners.iter().any(|&c| c != i && (c.abs_diff(p) + 1) % n <= 2);
            let walk = (1..n / 4).map(|k| (i + k * step) % n).take_while(|&p| !other(p));
            let walk = walk.map(|p| points[p]).take_while(|p| p.at.distance(corner) < LENGTH_MM);
            Self::through(&walk.collect::<Vec<TracePoint>>(), corner)
        };
        flank(n - 1)?.meet(&flank(1)?)
    }

    /// Through places in their order from the corner outwards; `None` if there are too few.
    fn through(places: &[TracePoint], corner: Point) -> Option<Self> {
        let far = |p: &TracePoint| p.at.distance(corner);
        let last = places.iter().rev().find(|p| far(p) < AHEAD_MM)?;
        let ahead = (last.at - corner).normalize();
        let side = ahead.turn_90();
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a few dozen millimetres"
        )]
        let count = (BEYOND_MM + LENGTH_MM) as usize + 2;
        // Place, node before it and the way past that node, and what is seen there.
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "within the nodes")]
        let rows: Vec<(f64, usize, f64, f64, f64)> = places
            .iter()
            .filter(|p| far(p) < LENGTH_MM)
            .filter_map(|p| {
                let d = p.at - corner;
                let u = d.dot(ahead) + BEYOND_MM;
                let node = u.floor();
                (node >= 0.0 && (node as usize) + 1 < count).then(|| {
                    (far(p), node as usize, u - node, d.dot(side), p.sigma_mm.hypot(FLOOR_MM).powi(-2))
                })
            })
            .collect();
        if rows.len() < PLACES_LEAST {
            return None;
        }
        let stiffness = TYPICAL_MM.powi(-2) / 2.0 * (WAVE_MM / std::f64::consts::TAU).powi(6);
        let mut weights: Vec<f64> = rows.iter().map(|r| if r.0 < NEAR_MM { 0.0 } else { r.4 }).collect();
        let mut v = Vec::new();
        for round in 0..ROUNDS {
            let mut a = Banded::zero(count);
            let mut b = vec![0.0; count];
            for i in 0..count - 3 {
                a.add_third_difference(i, stiffness);
            }
            for diagonal in &mut a.0 {
                diagonal[0] += 1e-9;
            }
            for (&(_, node, t, seen, _), w) in rows.iter().zip(&weights) {
                a.0[node][0] += w * (1.0 - t) * (1.0 - t);
                a.0[node + 1][0] += w * t * t;
                a.0[node + 1][1] += w * t * (1.0 - t);
                b[node] += w * (1.0 - t) * seen;
                b[node + 1] += w * t * seen;
            }
            v = a.solve(b);
            for (&(from, node, t, seen, strength), w) in rows.iter().zip(weights.iter_mut()) {
                let off2 = (seen - (v[node] + t * (v[node + 1] - v[node]))).powi(2) * strength;
                let asked = round + 1 >= FAR_ROUNDS || from >= NEAR_MM;
                *w = if asked { strength / (1.0 + off2 / (CAUCHY * CAUCHY)) } else { 0.0 };
            }
        }
        Some(Self { corner, ahead, v })
    }

    /// The place `u` millimetres out from where the corner was looked for, and the way the flank runs there.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the nodes")]
    fn at(&self, u: f64) -> (Point, Vec2) {
        let node = (u + BEYOND_MM).floor().clamp(0.0, (self.v.len() - 2) as f64) as usize;
        let slope = self.v[node + 1] - self.v[node];
        let v = self.v[node] + (u + BEYOND_MM - node as f64) * slope;
        let side = self.ahead.turn_90();
        (self.corner + self.ahead * u + side * v, self.ahead + side * slope)
    }

    /// Where two flanks meet; `None` where that is not near the corner looked for.
    fn meet(&self, other: &Self) -> Option<Point> {
        const STEPS: usize = 30;
        let (mut u, mut v) = (0.0, 0.0);
        for _ in 0..STEPS {
            let ((p, along), (q, across)) = (self.at(u), other.at(v));
            let det = along.cross(across);
            if det.abs() < ASLANT * along.hypot() * across.hypot() {
                return None;
            }
            let (du, dv) = ((q - p).cross(across) / det, (q - p).cross(along) / det);
            u += du;
            v += dv;
            if du.abs() + dv.abs() < 1e-9 {
                break;
            }
        }
        let near = u.abs() < BEYOND_MM && v.abs() < BEYOND_MM;
        near.then(|| self.at(u).0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn places(line: impl Fn(f64) -> Point) -> Vec<TracePoint> {
        (1..40).map(|k| TracePoint { at: line(f64::from(k)), sigma_mm: 0.06, bridged: false }).collect()
    }

    #[test]
    fn a_side_and_a_hollow_meet_where_they_would() {
        let corner = Point::new(100.0, 50.0);
        let side = places(|u| corner + Vec2::new(0.02 * u, u));
        // A quarter of a circle that leaves the corner level.
        let hollow = places(|u| {
            let turn = u / 60.0;
            corner + Vec2::new(60.0 * turn.sin(), -60.0 * (1.0 - turn.cos()))
        });
        // The corner was looked for a little off.
        let about = corner + Vec2::new(0.8, -0.6);
        let flanks = [&side, &hollow].map(|p| Flank::through(p, about).expect("a flank"));
        let met = flanks[0].meet(&flanks[1]).expect("a corner");
        assert!(met.distance(corner) < 0.05, "{met}");
    }

    /// A row of places that lie wrong for no farther than the near ones reach. One of 6 mm is followed, and draws the corner by 0.7.
    #[test]
    fn what_lies_beside_the_corner_draws_it_by_a_third_at_the_most() {
        let corner = Point::ORIGIN;
        let side = places(|u| Point::new(if u < 5.0 { 0.9 } else { 0.0 }, u));
        let other = places(|u| Point::new(u, 0.0));
        let flanks = [&side, &other].map(|p| Flank::through(p, corner).expect("a flank"));
        let met = flanks[0].meet(&flanks[1]).expect("a corner");
        assert!(met.distance(corner) < 0.3, "{met}");
    }
}
