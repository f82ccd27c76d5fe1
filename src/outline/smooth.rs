//! The line through the places found: robust, weighted, smooth, with its corners kept.
//!
//! Smoothing by least squares with a penalty on third differences (E. T. Whittaker 1923; P. H. C. Eilers,
//! "A perfect smoother", Analytical Chemistry 75, 2003, doi:10.1021/ac034173t), reweighted by Cauchy's
//! function. A place without evidence has next to no weight, so its neighbours' curve bridges it. Corners are
//! where the two arms, fitted apart, meet at an angle; there the penalty is left out.

use super::banded::Banded;
use super::bridge::{self, Arm, Bend};
use super::doubt::Hints;
use super::flank::Flank;
use super::kink::{self, Kink};
use super::vertex::Vertex;
use crate::geometry::{Point, TracePoint, Vec2};
use rayon::prelude::*;

/// Wavelengths shorter than this are smoothed away where the evidence is of typical strength, millimetres: a
/// checker square is 20 mm, and what changes with the print is not cloth.
const WAVE_MM: f64 = 24.0;
/// The first, stiff round, which finds the strays.
const FIRST_WAVE_MM: f64 = 60.0;
/// Standard deviation below which no place counts as better, millimetres: the faults of neighbouring places
/// are of one kind.
const FLOOR_MM: f64 = 0.12;
/// Cauchy's constant, as in the camera's solve.
const CAUCHY: f64 = 2.385;
/// Least turn of a corner that needs no closer look, degrees. A rounding of 10 mm radius turns by 34 between the arms' ends.
pub(super) const TURN_LEAST_DEG: f64 = 42.0;
/// How a line was found, which says how near it comes to its corners.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Normals {
    /// Along normals that turn through the corners: they cut a true corner, but by less than a rounding.
    Turning,
    /// Along normals of the corner's own arms: a true corner is reached but for the blur.
    OfArms,
    /// The same for the last time: the corners are those that have stood, and are placed by all that is known beside them.
    Stood,
}

impl Normals {
    /// Largest distance of a corner that is seen from the line found, millimetres.
    fn off_most_mm(self) -> f64 {
        match self {
            Self::Turning => OFF_MOST_MM,
            Self::OfArms | Self::Stood => 1.0,
        }
    }

    /// Least turn of a corner, degrees: whether a shallow one is a corner only shows along the normals of its arms.
    fn turn_least_deg(self) -> f64 {
        match self {
            Self::Turning => TURN_LEAST_DEG,
            Self::OfArms | Self::Stood => kink::TURN_LEAST_DEG,
        }
    }
}

/// Places between a corner and its arms when it is placed along turning normals.
const TURNING_GAP: usize = 6;
/// Two corners are at least this far apart, millimetres.
const APART_MM: f64 = 8.0;
/// The line this near a corner is the corner's, millimetres.
const ROUND_MM: f64 = 3.0;

/// The smoothed closed line and the indices of its corners. `known` are corners already placed, `hints` what was settled
/// of others; `judge` tells how much more likely a place is cloth than not.
pub(super) fn smooth(
    mut points: Vec<TracePoint>,
    known: &[usize],
    normals: Normals,
    hints: &Hints,
    judge: &(impl Fn(Point) -> f32 + Sync),
) -> (Vec<TracePoint>, Vec<usize>) {
    let mut corners = find(&points, known, normals, hints, judge);
    if corners.is_empty() {
        return (settled(&wrapped(&points), points.len()), Vec::new());
    }
    // Begin at a corner, and end at it again.
    let first = corners[0].0;
    points.rotate_left(first);
    for c in &mut corners {
        c.0 -= first;
    }
    points.push(points[0]);
    let n = points.len();
    let mut fixed = vec![false; n];
    for &(k, vertex) in &corners {
        let places: &[usize] = if k == 0 { &[0, n - 1] } else { &[k] };
        for &k in places {
            points[k] = TracePoint { at: vertex, sigma_mm: VERTEX_SIGMA_MM, ..points[k] };
            fixed[k] = true;
        }
    }
    let mut line = settled(&Line { points, fixed: fixed.clone() }, n);
    line.pop();
    // The few places beside a corner carry no evidence and may lie in the wrong order: the arms do without.
    let vertices: Vec<Point> = (0..n - 1).filter(|&i| fixed[i]).map(|i| line[i].at).collect();
    let (mut out, mut indices) = (Vec::with_capacity(n), Vec::new());
    for (i, p) in line.into_iter().enumerate() {
        if fixed[i] {
            indices.push(out.len());
            out.push(p);
        } else if vertices.iter().all(|v| v.distance(p.at) > ROUND_MM) {
            out.push(p);
        }
    }
    filled(&out, &indices)
}

/// The line with the arms drawn on to their corners, a place a millimetre.
fn filled(line: &[TracePoint], corners: &[usize]) -> (Vec<TracePoint>, Vec<usize>) {
    let n = line.len();
    let (mut out, mut indices) = (Vec::with_capacity(n), Vec::new());
    for i in 0..n {
        let (here, next) = (line[i], line[(i + 1) % n]);
        let corner = corners.contains(&i);
        if corner {
            indices.push(out.len());
        }
        out.push(here);
        if corner || corners.contains(&((i + 1) % n)) {
            let along = if corner { next } else { here };
            for t in [0.25, 0.5, 0.75] {
                out.push(TracePoint { at: here.at.lerp(next.at, t), sigma_mm: VERTEX_SIGMA_MM, ..along });
            }
        }
    }
    (out, indices)
}

/// An open line, and which of its places are corners.
struct Line {
    points: Vec<TracePoint>,
    fixed: Vec<bool>,
}

/// Weight of a corner: the line ends there and its stiffness is not to draw it off.
const PINNED: f64 = 1e6;
/// Overlap with which a ring without corners is opened.
const LAP: usize = 80;

fn wrapped(points: &[TracePoint]) -> Line {
    let n = points.len();
    let points: Vec<_> = (0..n + 2 * LAP).map(|i| points[(i + n * LAP - LAP) % n]).collect();
    Line { fixed: vec![false; points.len()], points }
}

/// Runs the rounds; the middle `count` places.
fn settled(line: &Line, count: usize) -> Vec<TracePoint> {
    let n = line.points.len();
    let corners: Vec<usize> = (0..n).filter(|&k| line.fixed[k]).collect();
    let base: Vec<f64> = (0..n)
        .map(|i| {
            let p = &line.points[i];
            let near_corner =
                corners.iter().any(|&k| k.abs_diff(i) < 8 && line.points[k].at.distance(p.at) < ROUND_MM);
            if line.fixed[i] {
                return PINNED;
            }
            if near_corner { 1e-4 } else { (p.sigma_mm * p.sigma_mm + FLOOR_MM * FLOOR_MM).recip() }
        })
        .collect();
    let mut weights = base.clone();
    let mut at: Vec<Point> = line.points.iter().map(|p| p.at).collect();
    for round in 0..10 {
        let wave = if round < 5 { FIRST_WAVE_MM } else { WAVE_MM };
        let stiffness = (FLOOR_MM * FLOOR_MM).recip() / 2.0 * (wave / std::f64::consts::TAU).powi(6);
        at = solve(line, &weights, stiffness);
        let off: Vec<f64> = (0..n).map(|i| line.points[i].at.distance(at[i]) * base[i].sqrt()).collect();
        let mut sorted: Vec<f64> = (0..n).filter(|&i| base[i] > 1.0).map(|i| off[i]).collect();
        sorted.sort_by(f64::total_cmp);
        let scale = sorted.get(sorted.len() / 2).map_or(1.0, |m| (m / 0.6745).clamp(0.5, 3.0));
        for i in 0..n {
            weights[i] =
                if line.fixed[i] { base[i] } else { base[i] / (1.0 + (off[i] / (CAUCHY * scale)).powi(2)) };
        }
    }
    let from = (n - count) / 2;
    (from..from + count)
        .map(|i| {
            let p = line.points[i];
            let stray = p.at.distance(at[i]);
            // What the line was moved by says more than the single place's own fit.
            let sigma_mm =
                if p.bridged { p.sigma_mm.min(0.5) } else { p.sigma_mm.hypot(stray).clamp(0.05, 0.6) };
            TracePoint { at: at[i], sigma_mm, bridged: p.bridged }
        })
        .collect()
}

/// Minimises  Σ w |p - q|² + stiffness Σ |Δ³ p|²  without the differences across a corner.
fn solve(line: &Line, weights: &[f64], stiffness: f64) -> Vec<Point> {
    let n = line.points.len();
    let mut a = Banded::zero(n);
    let mut b: Vec<Vec2> = Vec::with_capacity(n);
    for i in 0..n {
        a.0[i][0] = weights[i];
        b.push(line.points[i].at.to_vec2() * weights[i]);
    }
    for i in 0..n.saturating_sub(3) {
        if !line.fixed[i + 1] && !line.fixed[i + 2] {
            a.add_third_difference(i, stiffness);
        }
    }
    a.solve(b).into_iter().map(Vec2::to_point).collect()
}

/// Corners: index and place of each, in order.
#[expect(clippy::cast_precision_loss, reason = "a few places")]
fn find(
    points: &[TracePoint],
    known: &[usize],
    normals: Normals,
    hints: &Hints,
    judge: &(impl Fn(Point) -> f32 + Sync),
) -> Vec<(usize, Point)> {
    let n = points.len();
    let clear = vec![false; n];
    // Arms that end `gap` places before and after a place, and where they meet.
    const ARM: (f64, f64) = (bridge::CORNER_CLEAR_MM, CORNER_ARM_MM);
    let meeting = |i: usize, gap: usize| {
        let a = bridge::arm(points, &clear, (i + n - gap) % n, n - 1, ARM, Bend::Stiff)?;
        let b = bridge::arm(points, &clear, (i + gap) % n, 1, ARM, Bend::Stiff)?;
        let (u, v) = bridge::meet(&a, &b, 2.0 * gap as f64 + 4.0)?;
        Some((a, u, b, v))
    };
    let candidate = |i: usize| {
        let (a, u, b, v) = meeting(i, GAP)?;
        let (turn, vertex) = (turn_deg(&a, u, &b, v), a.at(u));
        let straight = a.rms_mm < ARM_RMS_MOST_MM && b.rms_mm < ARM_RMS_MOST_MM;
        if turn < normals.turn_least_deg() || !straight || hints.denies(vertex) {
            return None;
        }
        let near = (n - GAP..=n + GAP).map(|k| (i + k) % n);
        let off = near.map(|k| points[k].at.distance(vertex)).fold(f64::INFINITY, f64::min);
        let kink = || Kink::at(points, i).filter(|_| normals != Normals::Turning);
        let said = || said(points, i, (&a, u), (&b, v), judge) > -DENIED_MOST;
        let borne_out = || {
            hints.corner(vertex)
                || if turn >= TURN_LEAST_DEG {
                    said() || kink().is_some_and(|k| k.clear())
                } else {
                    kink().is_some_and(|k| k.told() && (k.clear() || said()))
                }
        };
        // What was settled may be missed by single places.
        let most = if hints.corner(vertex) { OFF_MOST_MM } else { normals.off_most_mm() };
        (off <= most && borne_out()).then(|| (turn - 12.0 * points[i].at.distance(vertex), i, vertex))
    };
    let mut found: Vec<(f64, usize, Point)> =
        known.iter().map(|&k| (f64::INFINITY, k, points[k].at)).collect();
    found.par_extend((0..n).into_par_iter().filter_map(candidate));
    found.sort_by(|p, q| q.0.total_cmp(&p.0).then(p.1.cmp(&q.1)));
    let mut kept: Vec<(usize, Point)> = Vec::new();
    for (_, k, vertex) in found {
        if kept.iter().all(|c| c.1.distance(vertex) > APART_MM) {
            kept.push((k, vertex));
        }
    }
    match normals {
        // The place from arms that keep clear of what turning normals do to the line: they cross it within this reach.
        Normals::Turning => {
            for c in kept.iter_mut().filter(|c| !known.contains(&c.0)) {
                let placed = meeting(c.0, TURNING_GAP).map(|(a, u, ..)| a.at(u));
                c.1 = placed.filter(|v| v.distance(c.1) < MOVED_MOST_MM).unwrap_or(c.1);
            }
        }
        Normals::OfArms | Normals::Stood => kept.retain_mut(|c| {
            let placed = Vertex::at(points, c.0).filter(|v| v.at.distance(c.1) < MOVED_MOST_MM);
            c.1 = placed.as_ref().map_or(c.1, |v| v.at);
            // What was settled by the areas beside it stands: places may be blind there.
            known.contains(&c.0) || hints.corner(c.1) || !placed.is_some_and(|v| v.rounded)
        }),
    }
    kept.sort_by_key(|c| c.0);
    if normals == Normals::Stood {
        let all: Vec<usize> = kept.iter().map(|c| c.0).collect();
        for c in kept.iter_mut().filter(|c| !known.contains(&c.0)) {
            let met = Flank::meeting(points, c.0, &all).filter(|at| at.distance(c.1) < CARRIED_MOST_MM);
            c.1 = met.unwrap_or(c.1);
        }
    }
    kept
}

/// What the picture says for a corner where the arms `a` and `b` meet, `u` and `v` ahead of them, log likelihood times
/// square millimetres: what it would add to the line found near place `i` must be cloth, what it would take away must not.
fn said(
    points: &[TracePoint],
    i: usize,
    (a, u): (&Arm, f64),
    (b, v): (&Arm, f64),
    judge: &(impl Fn(Point) -> f32 + Sync),
) -> f64 {
    /// Nearer than this to the line and to the arm the picture is blurred, millimetres.
    const BLUR_MM: f64 = 0.4;
    /// Distance between places judged, millimetres; along the line they are a millimetre apart.
    const STEP_MM: f64 = 0.5;
    /// Evidence that does not count, log likelihood.
    const UNSURE: f64 = 1.0;
    let n = points.len();
    let mut out = 0.0;
    for k in n - JUDGED..=n + JUDGED {
        let at = points[(i + k) % n].at;
        let (arm, most, walk) = if k <= n { (a, u, a.heading(u)) } else { (b, v, -b.heading(v)) };
        let on = if k == n { a.at(u) } else { arm.nearest(at, most) };
        let off = at.distance(on);
        let adds = (on - at).dot(Vec2::new(walk.y, -walk.x)) > 0.0;
        let mut t = BLUR_MM;
        while t <= off - BLUR_MM {
            let cloth = f64::from(judge(at.lerp(on, t / off)));
            let favour = if adds { cloth } else { -cloth };
            out += favour.signum() * (favour.abs() - UNSURE).max(0.0) * STEP_MM;
            t += STEP_MM;
        }
    }
    out
}

/// Places on either side of a corner between which and its arms the picture is judged.
const JUDGED: usize = 8;
/// What may be said against a corner that lies on the line, log likelihood times square millimetres.
const DENIED_MOST: f64 = 4.0;
/// Largest distance of a corner from the line found, millimetres.
const OFF_MOST_MM: f64 = 3.5;
/// Standard deviation given to a corner placed from its arms, millimetres: the curves are to keep it.
const VERTEX_SIGMA_MM: f64 = 0.05;
/// Places between a corner and its arms when it is looked for.
const GAP: usize = 3;
/// A corner is placed no farther than this from where it was looked for, millimetres.
const MOVED_MOST_MM: f64 = 3.5;
/// ... and no farther than this by its flanks.
const CARRIED_MOST_MM: f64 = 1.5;
/// Length of the arms whose meeting makes a corner, millimetres.
const CORNER_ARM_MM: f64 = 22.0;
/// An arm that strays more than this is no line to judge a corner by, millimetres.
const ARM_RMS_MOST_MM: f64 = 0.7;

/// Turn from one arm to the other where they meet, degrees.
pub(super) fn turn_deg(a: &Arm, u: f64, b: &Arm, v: f64) -> f64 {
    let (along, back) = (a.heading(u), b.heading(v));
    along.cross(-back).atan2(along.dot(-back)).abs().to_degrees()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(noise: f64) -> Vec<TracePoint> {
        let side = 200;
        (0..4 * side)
            .map(|k| {
                let (edge, t) = (k / side, f64::from(k % side));
                let jitter = noise * (f64::from(k * 7919 % 97) / 48.0 - 1.0);
                let (x, y) = match edge {
                    0 => (t, jitter),
                    1 => (200.0 + jitter, t),
                    2 => (200.0 - t, 200.0 + jitter),
                    _ => (jitter, 200.0 - t),
                };
                TracePoint { at: Point::new(x, y), sigma_mm: 0.1, bridged: false }
            })
            .collect()
    }

    #[test]
    fn a_square_keeps_its_corners_and_loses_its_strays() {
        let mut points = square(0.2);
        for p in &mut points[80..92] {
            p.at.y -= 4.0;
        }
        let (line, corners) = smooth(points, &[], Normals::Turning, &Hints::default(), &|_| 0.0);
        assert_eq!(corners.len(), 4);
        for &c in &corners {
            let p = line[c].at;
            let off = |v: f64| v.abs().min((v - 200.0).abs());
            assert!(off(p.x) < 0.2 && off(p.y) < 0.2, "{p}");
        }
        for p in &line {
            let off = [p.at.x, p.at.y, p.at.x - 200.0, p.at.y - 200.0]
                .map(f64::abs)
                .into_iter()
                .fold(9.0, f64::min);
            assert!(off < 0.35, "{}", p.at);
        }
    }

    #[test]
    fn a_circle_has_no_corner_and_keeps_its_radius() {
        let points: Vec<TracePoint> = (0..314)
            .map(|k| {
                let at = (Vec2::from_angle(f64::from(k) / 50.0) * 50.0).to_point();
                TracePoint { at, sigma_mm: 0.1, bridged: false }
            })
            .collect();
        let (line, corners) = smooth(points, &[], Normals::Turning, &Hints::default(), &|_| 0.0);
        assert!(corners.is_empty() && line.len() == 314);
        assert!(line.iter().all(|p| (p.at.to_vec2().hypot() - 50.0).abs() < 0.05));
    }
}
