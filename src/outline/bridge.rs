//! Stretches where no edge is to be seen, because a strap crosses it: the lines on both sides are carried
//! on until they meet in a corner, or are joined by a smooth curve where they do not.

use crate::geometry::{Point, TracePoint, Vec2};
use nalgebra::{Matrix3, Vector3};

/// Length of line on either side that tells how it goes on, millimetres.
const ARM_MM: f64 = 60.0;
/// Line left out next to the gap, where the strap's edge still pulls, millimetres.
const STRAP_CLEAR_MM: f64 = 8.0;
/// The same in places, a millimetre apart.
const STRAP_CLEAR: usize = 8;
/// Line left out where an arm ends at a corner, millimetres.
pub(super) const CORNER_CLEAR_MM: f64 = 2.0;
/// Most places of a stub.
const STUB_MOST: usize = 16;
/// Line that ends farther than this off its own arm turned a corner just before the gap, millimetres.
const STUB_MM: f64 = 1.2;
/// How far an arm may be carried beyond the gap's own width.
const CARRY: f64 = 1.5;

/// The closed line with its cut stretches bridged; places and corners of the new line.
pub(super) fn bridged(mut points: Vec<TracePoint>, cut: &[bool]) -> (Vec<TracePoint>, Vec<usize>) {
    let n = points.len();
    let Some(first) = (0..n).find(|&i| !cut[i] && cut[(i + n - 1) % n]) else { return (points, Vec::new()) };
    let (mut out, mut corners) = (Vec::with_capacity(n), Vec::new());
    let mut i = 0;
    while i < n {
        let k = (first + i) % n;
        if !cut[k] {
            out.push(points[k]);
            i += 1;
            continue;
        }
        let run = (i..n).take_while(|&j| cut[(first + j) % n]).count();
        let (last, next) = ((first + i + n - 1) % n, (first + i + run) % n);
        let before = longest_arm(&points, cut, last, n - 1);
        let after = longest_arm(&points, cut, next, 1);
        i += run;
        let (Some(mut a), Some(mut b)) = (before, after) else {
            out.extend((i - run..i).map(|j| points[(first + j) % n]));
            continue;
        };
        // A line that turned a corner just before the gap: the arm lies beyond the corner, and the stub between
        // the corner and the gap belongs to the arm on the other side.
        let reach = CARRY * points[last].at.distance(points[next].at) + 5.0;
        let vertex = meet(&a, &b, reach).map(|(u, _)| a.at(u));
        let stub = |end: usize, step: usize, own: &Arm| -> Vec<TracePoint> {
            let Some(v) = vertex.filter(|_| !own.ends_on()) else { return Vec::new() };
            let walk: Vec<TracePoint> = (0..STUB_MOST).map(|j| points[(end + j * step) % n]).collect();
            let corner = (0..STUB_MOST)
                .min_by(|&p, &q| walk[p].at.distance_squared(v).total_cmp(&walk[q].at.distance_squared(v)));
            walk[..corner.unwrap_or(0)].to_vec()
        };
        let (stub_a, stub_b) = (stub(last, n - 1, &a), stub(next, 1, &b));
        let (mut spare_a, mut spare_b) = (stub_a.len(), stub_b.len());
        if spare_a < out.len() && spare_b < out.len() {
            (a, b) = (a.with(&stub_b), b.with(&stub_a));
        } else {
            (spare_a, spare_b) = (0, 0);
        }
        // A line that ran a little past the corner, into the strap's mouth, ends at it.
        if let Some((u, v)) = meet(&a, &b, CARRY * a.origin.distance(b.origin) + 5.0) {
            (spare_a, spare_b) = (spare_a.max(past(u)), spare_b.max(past(v)));
        }
        out.truncate(out.len().saturating_sub(spare_a).max(1));
        // Next to the gap the strap's edge pulls at the line: the arm is known better.
        if stub_a.is_empty() {
            for p in out.iter_mut().rev().take(STRAP_CLEAR) {
                p.sigma_mm = p.sigma_mm.hypot(a.off_mm(p.at));
            }
        }
        if stub_b.is_empty() {
            for j in 0..STRAP_CLEAR {
                let p = &mut points[(first + i + j) % n];
                p.sigma_mm = p.sigma_mm.hypot(b.off_mm(p.at));
            }
        }
        i += spare_b;
        // What is spared of the last gap's far side is where the ring was begun.
        let begun = i.saturating_sub(n).min(out.len());
        out.drain(..begun);
        for c in &mut corners {
            *c -= begun;
        }
        join(&a, &b, &mut out, &mut corners);
    }
    (out, corners)
}

/// The longest arm that runs without a corner, the line next to the gap left out.
fn longest_arm(points: &[TracePoint], cut: &[bool], end: usize, step: usize) -> Option<Arm> {
    /// An arm that strays more than this from its parabola has a corner in it, millimetres.
    const STRAIGHT_MM: f64 = 0.35;
    let of = |length| arm(points, cut, end, step, (STRAP_CLEAR_MM, length), Bend::Stiff);
    let least = [ARM_MM, 0.6 * ARM_MM, 0.4 * ARM_MM]
        .into_iter()
        .find_map(|length| of(length).filter(|a| a.rms_mm < STRAIGHT_MM))?;
    // A longer one tells the way across better, where it is straight.
    let alike = |a: &Arm| {
        a.c[2].abs() < 0.5 / STRAIGHT_RADIUS_MM
            && a.plain_rms_mm() < STRAIGHT_MM
            && a.rms_mm < LONGER_PART * least.rms_mm + LONGER_MM
    };
    Some(LONGER.into_iter().find_map(|times| of(times * ARM_MM).filter(alike)).unwrap_or(least))
}

/// Lengths of longer arms, longest first.
const LONGER: [f64; 3] = [3.0, 2.2, 1.5];
/// How much farther a longer arm may stray from its parabola, as a part and in millimetres.
const LONGER_PART: f64 = 1.15;
const LONGER_MM: f64 = 0.02;
/// A line with a larger radius is straight, millimetres.
const STRAIGHT_RADIUS_MM: f64 = 4000.0;

/// How readily an arm bends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Bend {
    /// A line unless the places ask for a bend, whose radius is held to be about half a metre: a rounding is not to be followed.
    Stiff,
    /// As the places say: a neck's hollow turns by a right angle within a hand's breadth.
    Free,
}

/// Usual standard deviation of an arm's second coefficient about nought, each millimetre: half a metre's radius.
const USUAL_BEND: f64 = 1e-3;

impl Bend {
    /// Weights of an arm's coefficients at nought, given those found so far. What speaks against a bend that is free falls off as
    /// Cauchy's density does.
    fn prior(self, c: &Vector3<f64>) -> Matrix3<f64> {
        let found = if self == Self::Free { c[2] } else { 0.0 };
        Matrix3::from_diagonal(&Vector3::new(1e-9, 1e-9, (USUAL_BEND * USUAL_BEND + found * found).recip()))
    }
}

/// A line about to enter the gap: v = c0 + c1 u + c2 u² in a frame at its end, u towards the gap.
pub(super) struct Arm {
    origin: Point,
    ahead: Vec2,
    side: Vec2,
    c: Vector3<f64>,
    /// What it swerves by ahead of its end so that it comes out where it was seen again, as a slope.
    swerve: f64,
    /// How far ahead it was seen again, millimetres.
    again: f64,
    /// What it was fitted to.
    members: Vec<TracePoint>,
    sigma_mm: f64,
    /// How far the points stray from it, millimetres.
    pub rms_mm: f64,
}

impl Arm {
    /// A parabola through the members, robustly.
    fn fitted(members: Vec<TracePoint>, origin: Point, ahead: Vec2, bend: Bend) -> Option<Self> {
        let side = Vec2::new(-ahead.y, ahead.x);
        let sigma = |p: &TracePoint| p.sigma_mm.max(0.05);
        let mut weights: Vec<f64> = members.iter().map(|p| sigma(p).powi(-2)).collect();
        let mut c = Vector3::zeros();
        let off = |p: &TracePoint, c: &Vector3<f64>| {
            let d = p.at - origin;
            let u = d.dot(ahead);
            d.dot(side) - c[0] - u * (c[1] + u * c[2])
        };
        for _ in 0..5 {
            let mut a = bend.prior(&c);
            let mut b = Vector3::zeros();
            for (p, w) in members.iter().zip(&weights) {
                let d = p.at - origin;
                let u = d.dot(ahead);
                let row = Vector3::new(1.0, u, u * u);
                a += row * row.transpose() * *w;
                b += row * (*w * d.dot(side));
            }
            c = a.cholesky()?.solve(&b);
            for (p, w) in members.iter().zip(weights.iter_mut()) {
                *w = sigma(p).powi(-2) / (1.0 + (off(p, &c) / sigma(p) / 2.5).powi(2));
            }
        }
        let square: f64 = members.iter().zip(&weights).map(|(p, w)| w * off(p, &c).powi(2)).sum();
        let rms_mm = (square / weights.iter().sum::<f64>()).sqrt();
        Some(Self {
            origin,
            ahead,
            side,
            c,
            swerve: 0.0,
            again: f64::INFINITY,
            members,
            sigma_mm: 0.3,
            rms_mm,
        })
    }

    /// The arm fitted anew to `places`, each weighed by how well it agrees: what is off by `agrees_mm` or more says nothing.
    pub(super) fn grown(self, places: &[TracePoint], agrees_mm: f64, bend: Bend) -> Self {
        const ROUNDS: usize = 8;
        /// Places of a kind are wrong together: no place counts as better than this, millimetres.
        const FLOOR_MM: f64 = 0.1;
        let mut c = self.c;
        for _ in 0..ROUNDS {
            let mut a = bend.prior(&c);
            let mut b = Vector3::zeros();
            for p in places {
                let d = p.at - self.origin;
                let (u, v) = (d.dot(self.ahead), d.dot(self.side));
                let row = Vector3::new(1.0, u, u * u);
                let variance = p.sigma_mm * p.sigma_mm + FLOOR_MM * FLOOR_MM;
                let part = (v - row.dot(&c)).powi(2) / (agrees_mm * agrees_mm + variance);
                let w = (1.0 - part).max(0.0).powi(2) / variance;
                a += row * row.transpose() * w;
                b += row * (w * v);
            }
            let Some(factor) = a.cholesky() else { return self };
            c = factor.solve(&b);
        }
        Self { c, ..self }
    }

    /// The arm with what was seen of it beyond the gap. An arm carried that far strays by tenths of a millimetre: where the
    /// few places there are sure and of one mind, it swerves to them.
    fn with(self, beyond: &[TracePoint]) -> Self {
        /// What lies farther off the arm is not of it, millimetres.
        const OFF_MM: f64 = 2.5;
        /// Standard deviation of a sure place, and how far places of one mind may lie apart from their middle, millimetres.
        const SURE_MM: f64 = 0.25;
        /// Part of the places that must be so.
        const SURE_PART: f64 = 0.8;
        let ahead = |p: &TracePoint| (p.at - self.origin).dot(self.ahead);
        let own: Vec<TracePoint> =
            beyond.iter().copied().filter(|p| self.off_mm(p.at).abs() < OFF_MM && ahead(p) > 1.0).collect();
        if own.is_empty() {
            return self;
        }
        let mut slopes: Vec<f64> = own.iter().map(|p| self.off_mm(p.at) / ahead(p)).collect();
        slopes.sort_by(f64::total_cmp);
        let swerve = slopes[slopes.len() / 2];
        let sure =
            |p: &&TracePoint| p.sigma_mm < SURE_MM && (self.off_mm(p.at) - swerve * ahead(p)).abs() < SURE_MM;
        if own.len() > 1 && own.iter().filter(sure).count() as f64 >= SURE_PART * beyond.len() as f64 {
            let again = own.iter().map(ahead).fold(f64::INFINITY, f64::min);
            return Self { swerve, again, ..self };
        }
        let members = self.members.iter().copied().chain(own).collect();
        Self::fitted(members, self.origin, self.ahead, Bend::Stiff).unwrap_or(self)
    }

    /// How far to the side of it a place lies, millimetres.
    pub(super) fn off_mm(&self, at: Point) -> f64 {
        let d = at - self.origin;
        let u = d.dot(self.ahead);
        d.dot(self.side) - self.c[0] - u * (self.c[1] + u * self.c[2])
    }

    /// How far its places stray from it, every one counted in full, millimetres: round a corner that is far.
    #[expect(clippy::cast_precision_loss, reason = "a few hundred places")]
    fn plain_rms_mm(&self) -> f64 {
        (self.members.iter().map(|p| self.off_mm(p.at).powi(2)).sum::<f64>() / self.members.len() as f64)
            .sqrt()
    }

    /// How far back along the arm a corner may lie: where a stub goes on from it, behind the stub's end.
    fn least(&self) -> f64 {
        if self.ends_on() { -PAST_MM } else { -(STUB_MOST as f64) }
    }

    /// Whether the line itself ends on the arm, not on a stub round a corner.
    fn ends_on(&self) -> bool {
        self.c[0].abs() < STUB_MM
    }

    /// Its direction `u` millimetres ahead, towards the gap.
    pub(super) fn heading(&self, u: f64) -> Vec2 {
        self.ahead + self.side * (self.c[1] + 2.0 * u * self.c[2] + if u > 0.0 { self.swerve } else { 0.0 })
    }

    /// The place of the arm, no farther ahead than `most`, abreast of a point.
    pub(super) fn nearest(&self, to: Point, most: f64) -> Point {
        self.at((to - self.origin).dot(self.ahead).min(most))
    }

    /// The place `u` millimetres ahead.
    pub(super) fn at(&self, u: f64) -> Point {
        self.origin
            + self.ahead * u
            + self.side * (self.c[0] + u * (self.c[1] + u * self.c[2]) + self.swerve * u.max(0.0))
    }
}

/// The arm that ends at index `end`, walking away from the gap by `step` (1 or n - 1), over what lies between two
/// distances from its end.
pub(super) fn arm(
    points: &[TracePoint],
    cut: &[bool],
    end: usize,
    step: usize,
    (clear_mm, length_mm): (f64, f64),
    bend: Bend,
) -> Option<Arm> {
    let n = points.len();
    let origin = points[end].at;
    let (mut members, mut k, mut walked) = (Vec::new(), end, 0.0);
    while walked < length_mm && !cut[k] && members.len() < n {
        if walked >= clear_mm {
            members.push(points[k]);
        }
        let next = (k + step) % n;
        walked += points[k].at.distance(points[next].at);
        k = next;
    }
    let far = members.last()?.at;
    if members.len() < 8 {
        return None;
    }
    let ahead = (origin - far).normalize();
    Arm::fitted(members, origin, ahead, bend)
}

/// How far the line itself may run past the corner that its arms make, millimetres.
const PAST_MM: f64 = 2.0;

/// Places of a line that lie behind a corner `ahead` of its end, a millimetre apart.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few places")]
fn past(ahead: f64) -> usize {
    if (-PAST_MM..0.0).contains(&ahead) { (-ahead).ceil() as usize } else { 0 }
}

/// Standard deviation of a place where an arm was seen again beyond a gap, millimetres.
const AGAIN_SIGMA_MM: f64 = 0.1;

/// Walks from one arm's end to the other's start.
fn join(a: &Arm, b: &Arm, out: &mut Vec<TracePoint>, corners: &mut Vec<usize>) {
    let gap = a.origin.distance(b.origin);
    let reach = CARRY * gap + 5.0;
    let place = |at: Point, sigma_mm: f64| TracePoint { at, sigma_mm, bridged: true };
    let on = |arm: &Arm, t: f64| {
        if t < arm.again - 0.5 {
            return place(arm.at(t), arm.sigma_mm);
        }
        TracePoint { at: arm.at(t), sigma_mm: AGAIN_SIGMA_MM, bridged: false }
    };
    if let Some((u, v)) = meet(a, b, reach) {
        for t in whole_steps(u) {
            out.push(on(a, t));
        }
        corners.push(out.len());
        out.push(place(a.at(u), a.sigma_mm));
        let back: Vec<f64> = whole_steps(v).collect();
        for t in back.into_iter().rev() {
            out.push(on(b, t));
        }
        return;
    }
    // A cubic that leaves along one arm and arrives along the other.
    let (p0, p3) = (a.at(0.0), b.at(0.0));
    let third = gap / 3.0;
    let tangent = |arm: &Arm| (arm.ahead + arm.side * arm.c[1]).normalize();
    let (p1, p2) = (p0 + tangent(a) * third, p3 + tangent(b) * third);
    let curve = kurbo::CubicBez::new(p0, p1, p2, p3);
    for t in whole_steps(gap) {
        out.push(place(kurbo::ParamCurve::eval(&curve, t / gap), 0.5));
    }
}

/// 1, 2, 3 ... millimetres up to just short of `length`.
fn whole_steps(length: f64) -> impl Iterator<Item = f64> {
    (1..).map(f64::from).take_while(move |t| *t < length - 0.3)
}

/// Where the arms meet, as distances ahead along each; `None` when they do not within `reach`.
pub(super) fn meet(a: &Arm, b: &Arm, reach: f64) -> Option<(f64, f64)> {
    // Newton's method from the meeting of the two end tangents.
    let (mut u, mut v) = (0.0, 0.0);
    for _ in 0..30 {
        let off = b.at(v) - a.at(u);
        let da = a.heading(u);
        let db = b.heading(v);
        let det = da.cross(-db);
        if det.abs() < 0.25 * da.hypot() * db.hypot() {
            return None;
        }
        let (du, dv) = (off.cross(-db) / det, da.cross(off) / det);
        u += du;
        v += dv;
        if du.abs() + dv.abs() < 1e-9 {
            let within = |arm: &Arm, u: f64| (arm.least()..reach).contains(&u);
            return (within(a, u) && within(b, v)).then_some((u, v));
        }
        if u.abs() + v.abs() > 4.0 * reach {
            return None;
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_lines_cut_short_meet_in_their_corner() {
        let seen = |x: f64, y: f64| TracePoint { at: Point::new(x, y), sigma_mm: 0.1, bridged: false };
        // Round a square of 200 mm; its corner at (200, 0) is hidden for 20 mm to either side.
        let mut points = Vec::new();
        let mut cut = Vec::new();
        for k in 0..200 {
            points.push(seen(f64::from(k), 0.0));
            cut.push(k > 180);
        }
        for k in 0..200 {
            points.push(seen(200.0, f64::from(k)));
            cut.push(k < 20);
        }
        for k in 0..200 {
            points.push(seen(200.0 - f64::from(k), 200.0));
            cut.push(false);
        }
        for k in 0..200 {
            points.push(seen(0.0, 200.0 - f64::from(k)));
            cut.push(false);
        }
        for (p, cut) in points.iter_mut().zip(&cut) {
            if *cut {
                p.at += Vec2::new(7.0, -7.0);
            }
        }
        let (line, corners) = bridged(points, &cut);
        assert_eq!(corners.len(), 1);
        assert!(line[corners[0]].at.distance(Point::new(200.0, 0.0)) < 1e-6);
        assert!(line.iter().all(|p| p.at.x < 200.0 + 1e-6 && p.at.y > -1e-6));
    }
}
