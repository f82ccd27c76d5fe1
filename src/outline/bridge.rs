//! Stretches where no edge is to be seen, because a strap crosses it: the lines on both sides are carried
//! on until they meet in a corner, or are joined by a smooth curve where they do not.

use crate::geometry::{Point, TracePoint, Vec2};
use nalgebra::{Matrix3, Vector3};

/// Length of line on either side that tells how it goes on, millimetres.
const ARM_MM: f64 = 35.0;
/// Line left out next to the gap, where the strap's edge still pulls, millimetres.
const CLEAR_MM: f64 = 2.0;
/// How far an arm may be carried beyond the gap's own width.
const CARRY: f64 = 1.5;

/// The closed line with its cut stretches bridged; places and corners of the new line.
pub(super) fn bridged(points: Vec<TracePoint>, cut: &[bool]) -> (Vec<TracePoint>, Vec<usize>) {
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
        let before = arm(&points, cut, (first + i + n - 1) % n, n - 1, ARM_MM);
        let after = arm(&points, cut, (first + i + run) % n, 1, ARM_MM);
        match (before, after) {
            (Some(a), Some(b)) => join(&a, &b, &mut out, &mut corners),
            _ => out.extend((i..i + run).map(|j| points[(first + j) % n])),
        }
        i += run;
    }
    (out, corners)
}

/// A line about to enter the gap: v = c0 + c1 u + c2 u² in a frame at its end, u towards the gap.
pub(super) struct Arm {
    origin: Point,
    ahead: Vec2,
    side: Vec2,
    c: Vector3<f64>,
    sigma_mm: f64,
    /// How far the points stray from it, millimetres.
    pub rms_mm: f64,
}

impl Arm {
    /// Its direction `u` millimetres ahead, towards the gap.
    pub(super) fn heading(&self, u: f64) -> Vec2 {
        self.ahead + self.side * (self.c[1] + 2.0 * u * self.c[2])
    }

    /// The place `u` millimetres ahead.
    pub(super) fn at(&self, u: f64) -> Point {
        self.origin + self.ahead * u + self.side * (self.c[0] + u * (self.c[1] + u * self.c[2]))
    }
}

/// The arm that ends at index `end`, walking away from the gap by `step` (1 or n - 1).
pub(super) fn arm(
    points: &[TracePoint],
    cut: &[bool],
    end: usize,
    step: usize,
    length_mm: f64,
) -> Option<Arm> {
    let n = points.len();
    let origin = points[end].at;
    let (mut members, mut k, mut walked) = (Vec::new(), end, 0.0);
    while walked < length_mm && !cut[k] && members.len() < n {
        if walked >= CLEAR_MM {
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
    let side = Vec2::new(-ahead.y, ahead.x);
    let mut weights: Vec<f64> = members.iter().map(|p| p.sigma_mm.max(0.05).powi(-2)).collect();
    let mut c = Vector3::zeros();
    for _ in 0..5 {
        // A line unless the points ask for a bend: the bend's prior is a radius of about half a metre.
        let mut a = Matrix3::from_diagonal(&Vector3::new(1e-9, 1e-9, 1e6));
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
            let d = p.at - origin;
            let u = d.dot(ahead);
            let r = (d.dot(side) - c[0] - u * (c[1] + u * c[2])) / p.sigma_mm.max(0.05);
            *w = p.sigma_mm.max(0.05).powi(-2) / (1.0 + (r / 2.5).powi(2));
        }
    }
    let (mut square, mut total) = (0.0, 0.0);
    for (p, w) in members.iter().zip(&weights) {
        let d = p.at - origin;
        let u = d.dot(ahead);
        square += w * (d.dot(side) - c[0] - u * (c[1] + u * c[2])).powi(2);
        total += w;
    }
    Some(Arm { origin, ahead, side, c, sigma_mm: 0.3, rms_mm: (square / total).sqrt() })
}

/// Walks from one arm's end to the other's start.
fn join(a: &Arm, b: &Arm, out: &mut Vec<TracePoint>, corners: &mut Vec<usize>) {
    let gap = a.origin.distance(b.origin);
    let reach = CARRY * gap + 5.0;
    let place = |at: Point, sigma_mm: f64| TracePoint { at, sigma_mm, bridged: true };
    if let Some((u, v)) = meet(a, b, reach) {
        for t in whole_steps(u) {
            out.push(place(a.at(t), a.sigma_mm));
        }
        corners.push(out.len());
        out.push(place(a.at(u), a.sigma_mm));
        let back: Vec<f64> = whole_steps(v).collect();
        for t in back.into_iter().rev() {
            out.push(place(b.at(t), b.sigma_mm));
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
            return ((-1.0..reach).contains(&u) && (-1.0..reach).contains(&v))
                .then_some((u.max(0.0), v.max(0.0)));
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
