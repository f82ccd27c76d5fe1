//! Corners by evidence: two arms that meet at an angle explain the points, one smooth curve does not.
//!
//! At each place where the line turns sharply, two models with the same number of unknowns are compared
//! over the same points: two parabolas, one for each arm, and one cubic. The arms must be clearly better,
//! and their angle where they meet clearly above noise. The length of the arms grows with noise until
//! their directions are known; it is never longer, so a tight round corner is seen as round.

use super::Tolerance;
use super::piece::{self, Limit};
use super::samples::{Block, Samples};
use crate::geometry::{CubicBez, Point, Vec2};
use kurbo::{ParamCurve, ParamCurveCurvature, ParamCurveDeriv};

/// Standard deviation of the angle between the arms that is good enough to judge by, radians.
const TURN_SIGMA_RAD: f64 = 0.05;
/// Arms are at least and at most this long, mm.
const ARM_MM: (f64, f64) = (4.0, 40.0);
/// Fewest points of an arm.
const ARM_POINTS: usize = 6;
/// A turn stands out of noise by this many standard deviations.
const TURN_SIGMAS: f64 = 4.0;
/// At least this part of the turn over both arms is at the corner itself. A round corner turns along the arms.
const AT_CORNER_PART: f64 = 0.6;
/// ... and this over arms of twice the length, where a round corner is hidden more easily.
const AT_CORNER_LONG: f64 = 0.75;
/// The cubic's sum of squares may be less than the arms' by this much, no more; with the tracer's hint a little more.
const MARGIN: f64 = 2.0;
const MARGIN_HINTED: f64 = 6.0;
/// A smooth curve tighter than this radius is a corner, mm.
const LEAST_RADIUS_MM: f64 = 3.0;
/// Differences below this are no evidence, mm.
const EVIDENCE_FLOOR_MM: f64 = 0.02;

/// A corner found.
#[derive(Debug, Clone, Copy)]
pub(super) struct Corner {
    /// Index of the point nearest to it.
    pub(super) index: usize,
    /// Where the arms meet, mm.
    pub(super) at: Point,
    /// True when the tracer names it: its place is the tracer's.
    pub(super) told: bool,
}

/// One arm: a parabola over its own chord.
struct Arm {
    from: Point,
    along: Vec2,
    /// v = k0 + k1 u + k2 u².
    k: [f64; 3],
    chi2: f64,
}

impl Arm {
    fn new(blocks: &[Block], floor: f64) -> Option<Self> {
        let n = blocks.len();
        if n < ARM_POINTS {
            return None;
        }
        let (from, along) = piece::line(blocks);
        let mut m = nalgebra::Matrix3::<f64>::zeros();
        let mut g = nalgebra::Vector3::<f64>::zeros();
        for b in blocks {
            let d = b.at - from;
            let (u, v) = (d.dot(along), along.cross(d));
            let w = (b.sd * b.sd + floor * floor).recip();
            let row = nalgebra::Vector3::new(1.0, u, u * u);
            m += w * row * row.transpose();
            g += w * v * row;
        }
        let k = m.cholesky()?.solve(&g);
        let mut arm = Self { from, along, k: [k[0], k[1], k[2]], chi2: 0.0 };
        arm.chi2 = blocks
            .iter()
            .map(|b| {
                let d = b.at - from;
                let u = d.dot(along);
                (along.cross(d) - arm.at(u).1).powi(2) / (b.sd * b.sd + floor * floor)
            })
            .sum();
        Some(arm)
    }

    /// Along and across at `u`.
    fn at(&self, u: f64) -> (f64, f64) {
        (u, self.k[0] + u * (self.k[1] + u * self.k[2]))
    }

    fn point(&self, u: f64) -> Point {
        let v = self.at(u).1;
        self.from + self.along * u + Vec2::new(-self.along.y, self.along.x) * v
    }

    fn heading(&self, u: f64) -> Vec2 {
        let s = self.k[1] + 2.0 * u * self.k[2];
        (self.along + Vec2::new(-self.along.y, self.along.x) * s).normalize()
    }
}

/// Where two arms meet, near `near`, and the angle they make there.
fn meet(a: &Arm, b: &Arm, near: Point) -> Option<(Point, f64)> {
    let (mut u, mut v) = ((near - a.from).dot(a.along), (near - b.from).dot(b.along));
    for _ in 0..6 {
        let (p, q, du, dv) = (a.point(u), b.point(v), a.heading(u), b.heading(v));
        let across = du.cross(dv);
        if across.abs() < 0.03 {
            return None;
        }
        let d = q - p;
        u += d.cross(dv) / across;
        v += d.cross(du) / across;
    }
    let turn = a.heading(u).cross(b.heading(v)).atan2(a.heading(u).dot(b.heading(v)));
    Some((a.point(u), turn))
}

/// The corners of a trace, ascending.
pub(super) fn find(samples: &Samples, tolerance: &Tolerance) -> Vec<Corner> {
    let n = samples.len();
    let sigma = samples.typical_sigma();
    // Slope at the end of a parabola over m points spaced h: variance 192 σ² / (m³ h²); two of them.
    let wanted =
        ((384.0 * samples.reach).sqrt() * sigma / (samples.step_mm * TURN_SIGMA_RAD)).powf(2.0 / 3.0);
    let least = samples.count(ARM_MM.0).max(ARM_POINTS);
    let most = samples.count(ARM_MM.1).min(n / 6).max(least);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a count")]
    let arm = wanted.clamp(least as f64, most as f64) as usize;
    if n < 4 * arm {
        return Vec::new();
    }
    // Turn of the chords over one arm either way: cheap, and not less than the corner's.
    let span = (arm / 4).max(1);
    let mean = |i: usize| samples.mean(i, i + span).map_or(samples.place(i), |b| b.at);
    let chord_turn: Vec<f64> = (0..n)
        .map(|i| {
            let a = mean((i + n - arm) % n);
            let b = mean((i + n - span / 2) % n);
            let c = mean((i + arm + 1 - span) % n);
            let (x, y) = (b - a, c - b);
            x.cross(y).atan2(x.dot(y)).abs()
        })
        .collect();
    let threshold = 0.6 * tolerance.corner_deg.to_radians();
    let mut found: Vec<(f64, Corner)> = Vec::new();
    for i in 0..n {
        let peak = (1..=arm / 2)
            .all(|k| chord_turn[i] >= chord_turn[(i + k) % n] && chord_turn[i] > chord_turn[(i + n - k) % n]);
        if chord_turn[i] > threshold && peak {
            // A small turn that noise hides from short arms may stand out of long ones.
            let short = judge(samples, tolerance, i, arm, sigma, AT_CORNER_PART);
            found.extend(short.or_else(|| {
                judge(samples, tolerance, i, (2 * arm).min(most).max(arm), sigma, AT_CORNER_LONG)
            }));
        }
    }
    for &hint in &samples.hints {
        found.push((f64::INFINITY, Corner { index: hint, at: samples.at[hint], told: true }));
    }
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut corners: Vec<Corner> = Vec::new();
    for (_, corner) in found {
        if corners.iter().all(|c| ring_distance(c.index, corner.index, n) > arm / 2) {
            corners.push(corner);
        }
    }
    corners.sort_by_key(|c| c.index);
    corners
}

fn ring_distance(a: usize, b: usize, n: usize) -> usize {
    let d = a.abs_diff(b);
    d.min(n - d)
}

/// Whether a corner stands near index `i`, with the weight of the evidence.
fn judge(
    samples: &Samples,
    tolerance: &Tolerance,
    i: usize,
    arm: usize,
    sigma: f64,
    at_corner: f64,
) -> Option<(f64, Corner)> {
    let n = samples.len();
    let shift = (arm / 3).max(1);
    let mut blocks = Vec::with_capacity(2 * arm + 1);
    let mut best: Option<(f64, usize, Arm, Arm)> = None;
    // Errors that go together are worth fewer points.
    let share = samples.reach.sqrt();
    let widen = |v: &mut Vec<Block>| v.iter_mut().for_each(|b| b.sd *= share);
    for c in (i + n - shift)..=(i + n + shift) {
        let start = (c - arm) % n;
        samples.blocks(start, start + arm, arm, &mut blocks);
        widen(&mut blocks);
        let Some(a) = Arm::new(&blocks, EVIDENCE_FLOOR_MM) else { continue };
        samples.blocks((c + 1) % n, (c + 1) % n + arm, arm, &mut blocks);
        widen(&mut blocks);
        let Some(b) = Arm::new(&blocks, EVIDENCE_FLOOR_MM) else { continue };
        if best.as_ref().is_none_or(|(chi2, ..)| a.chi2 + b.chi2 < *chi2) {
            best = Some((a.chi2 + b.chi2, c % n, a, b));
        }
    }
    let (chi2, index, a, b) = best?;
    let (at, turn) = meet(&a, &b, samples.at[index])?;
    let span = arm as f64 * samples.step_mm;
    // A parabola turns by 2 k2 over a unit of its length; only what goes on in the corner's own direction counts.
    let bend: f64 = [&a, &b].map(|arm| (2.0 * arm.k[2] * span * turn.signum()).atan().max(0.0)).iter().sum();
    let turn_sigma = (384.0 * samples.reach / arm as f64).sqrt() * sigma / (arm as f64 * samples.step_mm);
    let turn = turn.abs();
    let here = samples.at[index];
    if turn < tolerance.corner_deg.to_radians()
        || turn < TURN_SIGMAS * turn_sigma
        || here.distance(at) > 0.5 * span
    {
        return None;
    }
    samples.blocks((index + n - arm) % n, (index + n - arm) % n + 2 * arm + 1, 2 * arm + 1, &mut blocks);
    widen(&mut blocks);
    let floor2 = EVIDENCE_FLOOR_MM.powi(2);
    let limit = Limit { depart_mm: EVIDENCE_FLOOR_MM };
    let (curve, off) = piece::cubic(&blocks, limit);
    let smooth: f64 = off.iter().zip(&blocks).map(|(d, b)| d * d / (b.sd * b.sd + floor2)).sum();
    let hinted = samples.hints.iter().any(|&h| ring_distance(h, index, n) <= arm / 2);
    let margin = if hinted { MARGIN_HINTED } else { MARGIN };
    let explained = smooth - chi2 < -margin && tightest(&curve) > LEAST_RADIUS_MM;
    if explained || turn < at_corner * (turn + bend) {
        return None;
    }
    Some((turn * (smooth - chi2).max(1.0).ln_1p(), Corner { index, at, told: false }))
}

/// Least radius of curvature along a cubic, mm.
fn tightest(c: &CubicBez) -> f64 {
    let radius = |t: f64| {
        if c.deriv().eval(t).to_vec2().hypot() < 1e-9 { 0.0 } else { 1.0 / c.curvature(t).abs().max(1e-9) }
    };
    (0..=32).map(|k| radius(f64::from(k) / 32.0)).fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    #![allow(
        clippy::cast_possible_truncation,
        clippy::semicolon_if_nothing_returned,
        reason = "shapes of known size"
    )]
    use super::*;
    use crate::geometry::{Trace, TracePoint};

    /// SplitMix64 (Steele, Lea & Flood 2014) made normal by Box and Muller.
    fn normal(state: &mut u64) -> f64 {
        let mut uniform = || {
            *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
            let mut z = *state;
            z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
            z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
            ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
        };
        (-2.0 * (1.0 - uniform()).ln()).sqrt() * (std::f64::consts::TAU * uniform()).cos()
    }

    /// A kite with sides of 300 mm whose first corner turns by `turn_deg`, rounded to `radius` (0: sharp).
    fn kite(turn_deg: f64, radius: f64, sigma: f64, seed: u64) -> Samples {
        let half = 0.5 * turn_deg.to_radians();
        let (c, s) = (half.cos(), half.sin());
        // The corner at the origin, arms down to either side; closed far below.
        let set_back = radius * half.tan();
        let mut state = seed;
        let mut points = Vec::new();
        let mut push = |p: Point, n: Vec2| {
            points.push(TracePoint {
                at: p + n * (sigma * normal(&mut state)),
                sigma_mm: sigma.max(0.03),
                bridged: false,
            })
        };
        for k in 0..300 {
            let l = 300.3 - f64::from(k);
            if l > set_back {
                push(Point::new(-c * l, s * l), Vec2::new(-s, -c));
            }
        }
        let centre = Point::new(0.0, radius / c);
        let steps = (radius * 2.0 * half).floor() as i32;
        for k in 0..steps {
            let a = -half + 2.0 * half * (f64::from(k) + 0.5) / f64::from(steps);
            push(centre + Vec2::new(a.sin(), -a.cos()) * radius, Vec2::new(a.sin(), -a.cos()));
        }
        for k in 0..300 {
            let l = 0.6 + f64::from(k);
            if l > set_back {
                push(Point::new(c * l, s * l), Vec2::new(s, -c));
            }
        }
        let (right, left) = (Point::new(c * 300.0, s * 300.0), Point::new(-c * 300.0, s * 300.0));
        for (from, to) in [
            (right, right + Vec2::new(0.0, 300.0)),
            (right + Vec2::new(0.0, 300.0), left + Vec2::new(0.0, 300.0)),
            (left + Vec2::new(0.0, 300.0), left),
        ] {
            let n = from.distance(to).round() as i32;
            for k in 0..n {
                let u = (to - from) / from.distance(to);
                push(from.lerp(to, (f64::from(k) + 0.4) / f64::from(n)), Vec2::new(-u.y, u.x));
            }
        }
        Samples::new(&Trace { points, corners: Vec::new() }).unwrap()
    }

    fn found(turn: f64, radius: f64, sigma: f64) -> usize {
        (0..20)
            .filter(|&seed| {
                find(&kite(turn, radius, sigma, seed), &Tolerance::default())
                    .iter()
                    .any(|c| c.at.to_vec2().hypot() < 8.0 + radius)
            })
            .count()
    }

    #[test]
    fn sharp_corners_are_found_and_roundings_are_not() {
        for sigma in [0.0, 0.03, 0.1] {
            for turn in [20.0, 35.0, 50.0, 90.0, 130.0] {
                assert_eq!(found(turn, 0.0, sigma), 20, "a sharp corner of {turn} degrees, noise {sigma} mm");
            }
            for (turn, radius) in [(35.0, 20.0), (50.0, 15.0), (90.0, 6.0), (90.0, 20.0), (130.0, 6.0)] {
                assert_eq!(
                    found(turn, radius, sigma),
                    0,
                    "{turn} degrees rounded to {radius} mm, noise {sigma} mm"
                );
            }
        }
    }
}
