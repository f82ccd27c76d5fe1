//! Ways from one arm to the other: a corner, its roundings, the one found; what the picture says of the areas between them.

use super::super::bridge::Arm;
use super::super::path::Station;
use super::Picture;
use crate::geometry::{CubicBez, Point, Rect, Vec2};
use kurbo::{Line, ParamCurve, ParamCurveNearest};

/// Where roundings begin before the corner, millimetres.
const SETBACKS_MM: [f64; 10] = [4.0, 6.0, 8.0, 11.0, 14.0, 18.0, 23.0, 29.0, 36.0, 45.0];
/// A rounding begins no farther than this before the doubtful stretch: there the line is seen, millimetres.
const BEFORE_MM: f64 = 2.0;
/// Control points of a rounding, as a part of the way to the corner: a circle's at a right angle.
const ROUND: f64 = 0.5523;
/// Distance between the places where the picture is asked, millimetres.
const ASKED_MM: f64 = 0.7;
/// Evidence that does not count, log likelihood.
const UNSURE: f64 = 1.0;
/// Nearer than this to the arms the picture is blurred, millimetres.
const BLUR_MM: f64 = 0.45;

/// Where a rounding may begin before a corner so far ahead.
pub(super) fn setbacks(ahead_mm: f64) -> Vec<f64> {
    SETBACKS_MM.into_iter().filter(|s| *s <= ahead_mm + BEFORE_MM).collect()
}

/// Places next to a corner whose normals reach round it.
const CORNER_BLURS: usize = 3;

/// Stations along a way, a millimetre apart, the corner and what is blurred by it left out.
pub(super) fn across(way: &Way) -> Vec<Station> {
    let path = &way.path;
    (1..path.len().saturating_sub(1))
        .filter(|&i| way.corner.is_none_or(|c| i.abs_diff(c) > CORNER_BLURS))
        .map(|i| station(path[i - 1], path[i], path[i + 1]))
        .collect()
}

/// A station on a line that is clockwise as seen, between its neighbours.
pub(super) fn station(before: Point, at: Point, after: Point) -> Station {
    let chord = after - before;
    let normal = Vec2::new(chord.y, -chord.x) / chord.hypot().max(1e-9);
    Station { at, normal, after: 0, behind_corner: false }
}

/// One way from the one arm to the other.
pub(super) struct Way {
    pub path: Vec<Point>,
    /// Which place of it is a corner.
    pub corner: Option<usize>,
    /// What it must have for itself.
    pub cost: f64,
}

/// Places along an arm, a millimetre apart, from one distance ahead up to another, left out itself.
pub(super) fn walk(arm: &Arm, from: f64, to: f64) -> Vec<Point> {
    (0..).map(|k| from + f64::from(k)).take_while(|t| *t < to - 0.3).map(|t| arm.at(t)).collect()
}

/// A rounding that begins `s` before the corner at `u` of one arm and ends `t` after that at `v` of the other.
pub(super) fn rounding((a, u, s): (&Arm, f64, f64), (b, v, t): (&Arm, f64, f64)) -> Vec<Point> {
    let (p, q, vertex) = (a.at(u - s), b.at(v - t), a.at(u));
    let curve = CubicBez::new(p, p.lerp(vertex, ROUND), q.lerp(vertex, ROUND), q);
    let mut path = walk(a, 0.0, u - s);
    path.extend(sampled(&curve, s + t));
    path.extend(walk(b, 0.0, v - t).into_iter().rev());
    path
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few dozen places")]
fn sampled(curve: &CubicBez, length_mm: f64) -> Vec<Point> {
    let count = length_mm.ceil().max(2.0) as u32;
    (0..=count).map(|k| curve.eval(f64::from(k) / f64::from(count))).collect()
}

/// What the picture says of a way, log likelihood times square millimetres.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub(super) struct Told {
    /// For it, against the chord.
    pub worth: f64,
    /// For and against, where it and the way found differ.
    pub disputed: f64,
}

/// What the picture says of each way. The first is the one found, the second the corner's, along which the picture is
/// blurred.
pub(super) fn weighed(ways: &[Way], picture: &impl Picture) -> Vec<Told> {
    let mut out = vec![Told::default(); ways.len()];
    let places = ways.iter().flat_map(|w| &w.path);
    let Some(bounds) = places.map(|p| Rect::from_points(*p, *p)).reduce(|a, b| a.union(b)) else {
        return out;
    };
    let (first, last) = (ways[1].path[0], ways[1].path[ways[1].path.len() - 1]);
    let blurred = |at: Point| {
        ways[1].path.windows(2).any(|ends| {
            let nearest = Line::new(ends[0], ends[1]).nearest(at, 1e-6);
            nearest.distance_sq < BLUR_MM * BLUR_MM
        })
    };
    let area = ASKED_MM * ASKED_MM;
    let mut y = bounds.y0 + ASKED_MM / 2.0;
    while y < bounds.y1 {
        let mut x = bounds.x0 + ASKED_MM / 2.0;
        while x < bounds.x1 {
            let at = Point::new(x, y);
            x += ASKED_MM;
            let turns: Vec<i32> = ways.iter().map(|w| winding(&w.path, first, last, at)).collect();
            let alike = turns.iter().all(|t| *t == turns[0]);
            if alike || blurred(at) {
                continue;
            }
            let told = f64::from(picture.cloth(at));
            let told = told.signum() * (told.abs() - UNSURE).max(0.0) * area;
            for (out, turn) in out.iter_mut().zip(&turns) {
                out.worth += told * f64::from(*turn);
                out.disputed += if *turn == turns[0] { 0.0 } else { told.abs() };
            }
        }
        y += ASKED_MM;
    }
    out
}

/// How often the ring of a path and the chord back from its end runs round a place, clockwise as seen counted as one: what
/// the path has beyond the chord is the garment's.
fn winding(path: &[Point], from: Point, to: Point, at: Point) -> i32 {
    let ends = [from, to];
    let ring = ends[..1].iter().chain(path).chain(&ends[1..]);
    let mut turns = 0;
    let mut last: Option<Point> = None;
    let mut side = |p: Point, q: Point| {
        let right = |e: Vec2| e.cross(at - p) > 0.0;
        if p.y <= at.y && q.y > at.y && !right(q - p) {
            turns -= 1;
        } else if p.y > at.y && q.y <= at.y && right(q - p) {
            turns += 1;
        }
    };
    for &p in ring {
        if let Some(l) = last {
            side(l, p);
        }
        last = Some(p);
    }
    side(to, from);
    // With y down, counted so, a ring that is clockwise as seen counts one.
    turns
}
