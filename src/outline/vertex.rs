//! Where a corner lies, and whether it is one after all.
//!
//! The arms are told by the line some way off, where nothing of the corner itself is left. Then what lies nearer has its
//! say, as far as it agrees with them (a redescending weight, Tukey's biweight: P. J. Huber, "Robust Statistics", 1981,
//! section 4.8): a floor's strip beside the corner or a strap's foot does not. Where a run of what lies nearer keeps
//! inside the arms, the corner is a rounding.

use super::bridge::{self, Arm, Bend};
use super::smooth::{TURN_LEAST_DEG, turn_deg};
use crate::geometry::{Point, TracePoint, Vec2};

/// Places between a corner and where its arms begin.
const GAP: usize = 3;
/// The line left out and taken from there, millimetres: the arm that most of its places agree with is taken, for a longer one
/// tells more and a shorter one follows a tighter curve.
const STIFF_FARS_MM: [(f64, f64); 3] = [(6.0, 36.0), (4.0, 28.0), (2.0, 22.0)];
/// The same of arms that bend as the places say.
const FREE_FARS_MM: [(f64, f64); 4] = [(6.0, 36.0), (4.0, 28.0), (2.0, 22.0), (1.0, 13.0)];
/// An arm is trusted with which at least this part of what its places say agrees: a strip of floor beside a corner draws a few of
/// them off, and those are in doubt.
const TRUSTED_PART: f64 = 0.9;
const LONGEST_MM: f64 = STIFF_FARS_MM[0].1;
/// Places of a kind are wrong together: none says more than one of this standard deviation, millimetres.
const FLOOR_MM: f64 = 0.1;
/// A place agrees that is no farther off, millimetres, at its best.
const ALIKE_MM: f64 = 0.25;
/// What lies farther off an arm than this has no say, millimetres.
const AGREES_MM: f64 = 0.5;
/// How far ahead of their ends arms may meet, millimetres.
const REACH_MM: f64 = 2.0 * GAP as f64 + 4.0;
/// Places on either side of a corner that are asked whether it is rounded.
const ASKED: usize = 13;
/// Less sure places are not asked, millimetres.
const SURE_MM: f64 = 0.3;
/// How far inside its arm a place of a rounding lies at the least: millimetres, and standard deviations, its own and those
/// usual beside it.
const INSIDE_MM: f64 = 0.4;
const INSIDE_SIGMAS: f64 = 3.0;
/// Places in a row inside their arms that make a rounding: on both sides together, or on one side alone. At true corners
/// there are none on one side and five at the most on the other, where cloth and sheet are alike.
const ROUNDED_BOTH: usize = 4;
const ROUNDED_ALONE: usize = 6;

/// A corner looked at closely.
pub(super) struct Vertex {
    /// Where its arms meet.
    pub at: Point,
    /// Whether the line there is a rounding.
    pub rounded: bool,
}

impl Vertex {
    /// Looks at place `i` of a closed line, a place a millimetre, found along normals of the corner's own arms; `None` where
    /// there are no arms that meet.
    pub(super) fn at(points: &[TracePoint], i: usize) -> Option<Self> {
        let n = points.len();
        let clear = vec![false; n];
        let near = |p: &TracePoint| p.at.distance(points[i].at);
        let weight = |p: &TracePoint| (p.sigma_mm * p.sigma_mm + FLOOR_MM * FLOOR_MM).recip();
        // The best of some arms, and the part of what its places say that agrees with it.
        let arm = |step: usize, fars: &[(f64, f64)], bend: Bend| {
            let walk: Vec<TracePoint> =
                (1..n / 4).map(|k| points[(i + k * step) % n]).take_while(|p| near(p) < LONGEST_MM).collect();
            let arms = fars.iter().filter_map(|&far| {
                let all: Vec<TracePoint> = walk.iter().copied().filter(|p| near(p) < far.1).collect();
                let arm = bridge::arm(points, &clear, (i + GAP * step) % n, step, far, bend)?;
                let arm = arm.grown(&all, AGREES_MM, bend);
                let agree = |p: &&TracePoint| arm.off_mm(p.at).abs() < ALIKE_MM.hypot(p.sigma_mm);
                let count = all.iter().filter(agree).count() as f64 / all.len().max(1) as f64;
                let sum: f64 = all.iter().filter(agree).map(weight).sum();
                let whole: f64 = all.iter().map(weight).sum();
                Some((count, sum / whole.max(1e-9), arm))
            });
            arms.reduce(|best, arm| if arm.0 > best.0 + 1e-9 { arm } else { best })
        };
        let (before, after) =
            (arm(n - 1, &STIFF_FARS_MM, Bend::Stiff)?, arm(1, &STIFF_FARS_MM, Bend::Stiff)?);
        // An arm that more than a few places speak against runs into the corner in a hollow. (It would follow a rounding too: whether this
        // is one is asked of arms that do not.)
        let free = |step: usize, stiff: &(f64, f64, Arm)| {
            (stiff.1 < TRUSTED_PART).then(|| arm(step, &FREE_FARS_MM, Bend::Free)).flatten()
        };
        let (free_before, free_after) = (free(n - 1, &before), free(1, &after));
        let a = free_before.as_ref().map_or(&before.2, |f| &f.2);
        let b = free_after.as_ref().map_or(&after.2, |f| &f.2);
        let at = a.at(bridge::meet(a, b, REACH_MM)?.0);
        let (a, b) = (before.2, after.2);
        let Some((u, v)) = bridge::meet(&a, &b, REACH_MM) else { return Some(Self { at, rounded: false }) };
        // Inside is where the turn goes.
        let turn = a.heading(u).cross(-b.heading(v)).signum();
        let run = |arm: &Arm, step: usize, end: f64, inside: f64| {
            let asked = (1..=ASKED).map(|k| points[(i + k * step) % n]).filter(|p| p.sigma_mm <= SURE_MM);
            let usual = usual_sigma_mm(points, i, step);
            let (mut run, mut longest) = (0, 0);
            for p in asked {
                let heading = arm.heading(end);
                let off = (p.at - arm.nearest(p.at, end)).dot(Vec2::new(-heading.y, heading.x)) * inside;
                run = if off > INSIDE_MM.max(INSIDE_SIGMAS * p.sigma_mm.max(usual)) { run + 1 } else { 0 };
                longest = longest.max(run);
            }
            longest
        };
        let (before, after) = (run(&a, n - 1, u, turn), run(&b, 1, v, -turn));
        let sharp = turn_deg(&a, u, &b, v) >= TURN_LEAST_DEG;
        let inside = before.min(after) > 0 && before + after >= ROUNDED_BOTH;
        let rounded = sharp && (inside || before.max(after) >= ROUNDED_ALONE);
        Some(Self { at, rounded })
    }
}

/// The middle standard deviation of the places that a walk from place `i` passes, millimetres.
fn usual_sigma_mm(points: &[TracePoint], i: usize, step: usize) -> f64 {
    let n = points.len();
    let mut sigmas: Vec<f64> = (1..=2 * ASKED).map(|k| points[(i + k * step) % n].sigma_mm).collect();
    sigmas.sort_by(f64::total_cmp);
    sigmas[sigmas.len() / 2]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A square of 100 mm whose corner at (100, 0), place 100, is rounded with this radius, as arms' normals see it.
    fn square(radius: f64, move_place: impl Fn(usize, &mut TracePoint)) -> Vec<TracePoint> {
        let mut points: Vec<TracePoint> = (0..400)
            .map(|k| {
                let t = (k % 100) as f64;
                // The rounding's depth below the side, at a distance from the corner.
                let depth =
                    |s: f64| radius - (radius * radius - (radius - s).max(0.0).powi(2)).max(0.0).sqrt();
                let (x, y) = match k / 100 {
                    0 => (t, depth(100.0 - t)),
                    1 => (100.0 - depth(t), t),
                    2 => (100.0 - t, 100.0),
                    _ => (0.0, 100.0 - t),
                };
                TracePoint { at: Point::new(x, y), sigma_mm: 0.06, bridged: false }
            })
            .collect();
        for (k, p) in points.iter_mut().enumerate() {
            move_place(k, p);
        }
        points
    }

    #[test]
    fn a_corner_lies_where_its_arms_meet_whatever_lies_beside_it() {
        let plain = Vertex::at(&square(0.0, |_, _| {}), 100).expect("arms");
        assert!(plain.at.distance(Point::new(100.0, 0.0)) < 1e-6 && !plain.rounded);
        // A strip of floor beside one arm draws the line out.
        let drawn = square(0.0, |k, p| {
            if (101..107).contains(&k) {
                p.at.x += 1.4 - 0.2 * (k as f64 - 101.0);
                // Beside a gap between sheets a place is in doubt.
                p.sigma_mm = 0.2;
            }
        });
        let drawn = Vertex::at(&drawn, 100).expect("arms");
        assert!(drawn.at.distance(Point::new(100.0, 0.0)) < 0.25 && !drawn.rounded, "{}", drawn.at);
    }

    #[test]
    fn a_hollow_that_runs_into_a_corner_is_followed_to_it() {
        // From place 100 on the side is a quarter of a circle that leaves the corner at a right angle, as a neck's does.
        let radius = 30.0;
        let hollow = square(0.0, |k, p| {
            if (100..147).contains(&k) {
                let turn = (k - 100) as f64 / radius;
                p.at = Point::new(100.0 + radius * (1.0 - turn.cos()), radius * turn.sin());
            }
        });
        let vertex = Vertex::at(&hollow, 100).expect("arms");
        assert!(vertex.at.distance(Point::new(100.0, 0.0)) < 0.3 && !vertex.rounded, "{}", vertex.at);
    }

    #[test]
    fn a_rounding_shows_itself_inside_the_arms() {
        for radius in [10.0, 14.0] {
            assert!(Vertex::at(&square(radius, |_, _| {}), 100).is_some_and(|v| v.rounded), "{radius} mm");
        }
        assert!(Vertex::at(&square(2.0, |_, _| {}), 100).is_some_and(|v| !v.rounded), "a worn tip");
    }
}
