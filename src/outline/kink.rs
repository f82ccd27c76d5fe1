//! Shallow corners. A corner that turns by less than the ends of a tight rounding do is told from a bend by what the
//! places say: two arms, each a parabola, against one curve with as many unknowns, a polynomial of fifth degree.

use crate::geometry::{Point, TracePoint, Vec2};
use nalgebra::{SMatrix, SVector};

/// Places of an arm, about a millimetre apart, and places left out on either side of the corner.
const ARM: usize = 24;
const GAP: usize = 2;
/// Least turn of a shallow corner, degrees.
pub(super) const TURN_LEAST_DEG: f64 = 18.0;
/// By how much the arms must explain the places better than the curve, sum of squared standard deviations.
const GAIN: f64 = 20.0;
/// By how much the curve must explain them better than the arms, so that it is no corner.
const DENIED: f64 = 8.0;
/// By how much the arms must explain them better so that nothing else need be asked, and what they may leave then.
const CLEAR: f64 = 60.0;
const LEFT_CLEAR: f64 = 0.6;
/// What the arms may leave unexplained, mean square in standard deviations.
const LEFT_MOST: f64 = 0.48;
/// The turn where the arms meet, as a part of that between their middles: it is at the corner and not along the arms.
const AT_CORNER: std::ops::Range<f64> = 0.75..1.3;
/// ... and at least this part of all turns over both arms.
const OF_ALL: f64 = 0.65;
/// Standard deviations beyond which a place says no more.
const STRAY: f64 = 3.0;
/// Cauchy's constant, as in the camera's solve.
const CAUCHY: f64 = 2.385;
/// Places of a kind are wrong together: no place counts as better than this, millimetres.
const FLOOR_MM: f64 = 0.13;

/// What the places about a turn of a closed line say of it.
pub(super) struct Kink {
    /// Turn where the arms meet, degrees.
    turn_deg: f64,
    /// By how much the arms explain the places better than the curve.
    gain: f64,
    /// What the arms leave unexplained, mean square.
    left: f64,
    /// Turns from half arm to half arm, degrees.
    turns: [f64; 3],
}

impl Kink {
    /// Looks at the closed line's place `i`; `None` where it is too short.
    pub(super) fn at(points: &[TracePoint], i: usize) -> Option<Self> {
        let n = points.len();
        if n < 4 * ARM {
            return None;
        }
        let before: Vec<TracePoint> = (GAP..=ARM).rev().map(|k| points[(i + n - k) % n]).collect();
        let after: Vec<TracePoint> = (GAP..=ARM).map(|k| points[(i + k) % n]).collect();
        let all: Vec<TracePoint> = before.iter().chain(&after).copied().collect();
        let (a, b) = (Curve::<3>::through(&before)?, Curve::<3>::through(&after)?);
        let curve = Curve::<6>::through(&all)?;
        let corner = points[i].at;
        let left = a.left + b.left;
        let half = before.len() / 2;
        let heading = |p: &[TracePoint]| Curve::<2>::through(p).map(|c| c.heading(corner));
        let (p, q) = (heading(&before[..half])?, heading(&before[half..])?);
        let (r, s) = (heading(&after[..half])?, heading(&after[half..])?);
        Some(Self {
            turn_deg: angle(a.heading(corner), b.heading(corner)),
            gain: curve.left - left,
            left: left / all.len() as f64,
            turns: [angle(p, q), angle(q, r), angle(r, s)],
        })
    }

    /// Whether it is a corner, be it ever so shallow.
    pub(super) fn told(&self) -> bool {
        self.turn_deg.abs() >= TURN_LEAST_DEG
            && self.left < LEFT_MOST
            && self.gain > GAIN
            && AT_CORNER.contains(&(self.turn_deg / self.turns[1]))
            && self.turn_deg.abs() > OF_ALL * self.turns.iter().map(|t| t.abs()).sum::<f64>()
    }

    /// Whether nothing else need be asked: the places themselves leave no doubt of a corner.
    pub(super) fn clear(&self) -> bool {
        self.gain > CLEAR && self.left < LEFT_CLEAR
    }

    /// Whether it is none, be the turn ever so sharp.
    pub(super) fn denied(&self) -> bool {
        self.gain < -DENIED
    }
}

/// Turn from one direction to another, degrees.
fn angle(a: Vec2, b: Vec2) -> f64 {
    a.cross(b).atan2(a.dot(b)).to_degrees()
}

/// A polynomial of `N` coefficients through places, robustly: v over u in a frame along their chord.
struct Curve<const N: usize> {
    origin: Point,
    ahead: Vec2,
    c: SVector<f64, N>,
    /// What it leaves unexplained, sum of squared standard deviations.
    left: f64,
}

/// Unit of u, millimetres: keeps the powers of it alike in size.
const UNIT_MM: f64 = 12.0;

impl<const N: usize> Curve<N> {
    fn through(places: &[TracePoint]) -> Option<Self> {
        let (first, last) = (places.first()?.at, places.last()?.at);
        let origin = first.midpoint(last);
        let ahead = (last - first).normalize();
        let side = Vec2::new(-ahead.y, ahead.x);
        let rows: Vec<(SVector<f64, N>, f64)> = places
            .iter()
            .map(|p| {
                let (d, sigma) = (p.at - origin, p.sigma_mm.max(0.05).hypot(FLOOR_MM));
                let u = d.dot(ahead) / UNIT_MM;
                let mut power = 1.0;
                let row = SVector::from_fn(|_, _| {
                    let out = power;
                    power *= u;
                    out
                });
                (row / sigma, d.dot(side) / sigma)
            })
            .collect();
        let mut weights = vec![1.0; rows.len()];
        let mut c = SVector::zeros();
        for _ in 0..5 {
            let mut a = SMatrix::<f64, N, N>::identity() * 1e-9;
            let mut b = SVector::<f64, N>::zeros();
            for ((row, v), w) in rows.iter().zip(&weights) {
                a += row * row.transpose() * *w;
                b += row * (*w * v);
            }
            c = a.cholesky()?.solve(&b);
            for ((row, v), w) in rows.iter().zip(weights.iter_mut()) {
                *w = 1.0 / (1.0 + ((v - row.dot(&c)) / CAUCHY).powi(2));
            }
        }
        let left = rows.iter().map(|(row, v)| (v - row.dot(&c)).abs().min(STRAY).powi(2)).sum();
        Some(Self { origin, ahead, c, left })
    }

    /// Its direction abreast of a point.
    fn heading(&self, at: Point) -> Vec2 {
        let u = (at - self.origin).dot(self.ahead) / UNIT_MM;
        let slope = (1..N).rev().fold(0.0, |sum, k| sum * u + k as f64 * self.c[k]) / UNIT_MM;
        self.ahead + Vec2::new(-self.ahead.y, self.ahead.x) * slope
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A closed line of 400 places a millimetre apart that turns by `turn` degrees over `round_mm` at place 100, with even
    /// noise of 0.1 mm; what is behind does not matter.
    fn turned(turn: f64, round_mm: f64) -> Vec<TracePoint> {
        let mut at = Point::ORIGIN;
        (0..400)
            .map(|k| {
                let noise = 0.2 * (f64::from(k * 7919 % 97) / 96.0 - 0.5);
                let part = ((f64::from(k) - 100.0) / round_mm.max(1e-9) + 0.5).clamp(0.0, 1.0);
                let along = Vec2::from_angle((turn * part).to_radians());
                at += along;
                let off = Vec2::new(-along.y, along.x) * noise;
                TracePoint { at: at + off, sigma_mm: 0.1, bridged: false }
            })
            .collect()
    }

    fn told(points: &[TracePoint]) -> bool {
        (90..110).any(|i| Kink::at(points, i).is_some_and(|k| k.told()))
    }

    #[test]
    fn a_shallow_corner_is_told_from_a_bend() {
        for turn in [22.0, 30.0, -25.0] {
            assert!(told(&turned(turn, 0.0)), "a corner of {turn} degrees");
            // Radii of 60 to 80 mm.
            assert!(!told(&turned(turn, 30.0)), "a bend of {turn} degrees");
        }
        assert!(!told(&turned(0.0, 0.0)));
    }

    #[test]
    fn a_large_rounding_is_denied_and_a_sharp_corner_is_clear() {
        let round = turned(90.0, 47.0);
        assert!((95..105).all(|i| Kink::at(&round, i).is_some_and(|k| !k.told() && !k.clear())));
        let sharp = turned(90.0, 0.0);
        assert!((99..101).any(|i| Kink::at(&sharp, i).is_some_and(|k| k.clear() && !k.denied())));
    }
}
