//! The two halves of an outline along each other: which place of the left belongs to which of the right.
//!
//! Enters a ring in the half's frame (fold on x = 0, y down). Leaves its two sides as runs of close points from the
//! fold's top to its bottom, both at x ≥ 0, with their corners, and the pairing of places: equal parts of the way
//! between corners that belong together, then slid along the line until the join of each pair lies across it,
//! evenly over a few centimetres.

use super::FoldError;
use crate::geometry::{PathSeg, Point, Ring, Vec2};
use kurbo::{ParamCurve, ParamCurveArclen};

/// Spacing of the points, mm: the chord of an arc of 10 mm radius departs by 0.003 mm.
pub(super) const STEP_MM: f64 = 0.5;
/// Corners of the two sides belong together if they lie within this, mm: more than wear moves them.
const CORNER_PAIR_MM: f64 = 20.0;
/// Pairs are slid alike over this much of the line to either side, mm.
const SLIDE_HALF_MM: f64 = 25.0;
/// Rounds of sliding.
const SLIDE_ROUNDS: usize = 6;

/// Points along a curve with the way to each.
#[derive(Debug, Clone)]
pub(super) struct Run {
    pub(super) points: Vec<Point>,
    /// Indices of points that are corners.
    pub(super) corners: Vec<usize>,
    way: Vec<f64>,
}

impl Run {
    pub(super) fn new(points: Vec<Point>, corners: Vec<usize>) -> Self {
        let mut way = Vec::with_capacity(points.len());
        let mut total = 0.0;
        for (k, p) in points.iter().enumerate() {
            if k > 0 {
                total += p.distance(points[k - 1]);
            }
            way.push(total);
        }
        Self { points, corners, way }
    }

    pub(super) fn length(&self) -> f64 {
        self.way[self.way.len() - 1]
    }

    /// The place at a way from the start.
    pub(super) fn at(&self, way: f64) -> Point {
        let k = self.way.partition_point(|&w| w <= way).clamp(1, self.way.len() - 1);
        let (a, b) = (self.way[k - 1], self.way[k]);
        self.points[k - 1].lerp(self.points[k], ((way - a) / (b - a).max(1e-12)).clamp(0.0, 1.0))
    }

    /// The direction at point `k`, over a millimetre.
    pub(super) fn heading(&self, k: usize) -> Vec2 {
        let d = self.points[(k + 1).min(self.points.len() - 1)] - self.points[k.saturating_sub(1)];
        d / d.hypot().max(1e-12)
    }

    /// The same at the other side of the fold, the same way round.
    fn mirrored(mut self) -> Self {
        let n = self.points.len();
        self.points.reverse();
        for p in &mut self.points {
            p.x = -p.x;
        }
        let corners = self.corners.iter().rev().map(|&c| n - 1 - c).collect();
        Self::new(self.points, corners)
    }
}

/// Points along a ring with its corners, clockwise.
pub(super) fn sample(ring: &Ring, corners: &[usize]) -> Run {
    let mut points = Vec::new();
    let mut marks = Vec::new();
    for (index, segment) in ring.segments().iter().enumerate() {
        if corners.contains(&index) {
            marks.push(points.len());
        }
        let length = segment.arclen(1e-3);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a positive count")]
        let n = (length / STEP_MM).ceil().max(1.0) as usize;
        for k in 0..n {
            points.push(match segment {
                PathSeg::Line(l) => l.eval(k as f64 / n as f64),
                s => s.eval(s.inv_arclen(length * k as f64 / n as f64, 1e-3)),
            });
        }
    }
    let mut run = Run::new(points, marks);
    if ring.area_mm2() < 0.0 {
        let n = run.points.len();
        run.points.reverse();
        let corners = run.corners.iter().rev().map(|&c| n - 1 - c).collect();
        run = Run::new(run.points, corners);
    }
    run
}

/// The right side and the mirrored left side of a clockwise ring of points across x = 0, each from the uppermost
/// crossing to the lowest.
pub(super) fn sides(ring: &Run) -> Result<[Run; 2], FoldError> {
    let n = ring.points.len();
    let mut crossings: Vec<(usize, Point)> = Vec::new();
    for k in 0..n {
        let (a, b) = (ring.points[k], ring.points[(k + 1) % n]);
        if (a.x < 0.0) != (b.x < 0.0) {
            let mut at = a.lerp(b, a.x / (a.x - b.x));
            at.x = 0.0;
            crossings.push((k, at));
        }
    }
    if crossings.len() != 2 {
        return Err(FoldError::Crossings { count: crossings.len() });
    }
    if crossings[0].1.y > crossings[1].1.y {
        crossings.swap(0, 1);
    }
    let [top, bottom] = [crossings[0], crossings[1]];
    let part = |from: (usize, Point), to: (usize, Point)| {
        let mut points = vec![from.1];
        let mut corners = Vec::new();
        let mut k = (from.0 + 1) % n;
        loop {
            // A corner of the ring on the fold itself is the run's end.
            let at = ring.points[k];
            if at.distance(points[points.len() - 1]) > 1e-6 {
                if ring.corners.binary_search(&k).is_ok() && at.x.abs() > STEP_MM {
                    corners.push(points.len());
                }
                points.push(at);
            }
            if k == to.0 {
                break;
            }
            k = (k + 1) % n;
        }
        points.push(to.1);
        Run::new(points, corners)
    };
    Ok([part(top, bottom), part(bottom, top).mirrored()])
}

/// Left and right together.
#[derive(Debug)]
pub(super) struct Pairing {
    pub(super) right: Run,
    /// For each point of `right`, its partner on the mirrored left.
    pub(super) partner: Vec<Point>,
    /// Corners that only one side has, where they are.
    pub(super) lone_corners: Vec<Point>,
    /// Indices of points of `right` that are corners of both sides.
    pub(super) corners: Vec<usize>,
}

/// Pairs the mirrored left with the right.
pub(super) fn pair(right: Run, left: &Run) -> Pairing {
    let mut anchors = vec![(0, 0)];
    let mut lone_corners: Vec<Point> = Vec::new();
    let mut taken = vec![false; left.corners.len()];
    for &r in &right.corners {
        let after = anchors[anchors.len() - 1].1;
        let found = left
            .corners
            .iter()
            .enumerate()
            .filter(|&(i, &l)| {
                !taken[i] && l > after && left.points[l].distance(right.points[r]) < CORNER_PAIR_MM
            })
            .min_by(|a, b| {
                left.points[*a.1]
                    .distance(right.points[r])
                    .total_cmp(&left.points[*b.1].distance(right.points[r]))
            });
        if let Some((i, &l)) = found {
            taken[i] = true;
            anchors.push((r, l));
        } else {
            lone_corners.push(right.points[r]);
        }
    }
    lone_corners.extend(left.corners.iter().zip(&taken).filter(|(_, t)| !**t).map(|(&l, _)| left.points[l]));
    let corners = anchors[1..].iter().map(|a| a.0).collect();
    anchors.push((right.points.len() - 1, left.points.len() - 1));
    let mut partner = vec![Point::ZERO; right.points.len()];
    for ends in anchors.windows(2) {
        slide(&right, left, ends[0], ends[1], &mut partner);
    }
    Pairing { right, partner, lone_corners, corners }
}

/// Pairs one stretch between anchors.
fn slide(right: &Run, left: &Run, from: (usize, usize), to: (usize, usize), partner: &mut [Point]) {
    let (r0, r1) = (right.way[from.0], right.way[to.0]);
    let (l0, l1) = (left.way[from.1], left.way[to.1]);
    let count = to.0 - from.0 + 1;
    let part: Vec<f64> = (from.0..=to.0).map(|k| (right.way[k] - r0) / (r1 - r0).max(1e-12)).collect();
    let mut way: Vec<f64> = part.iter().map(|p| l0 + p * (l1 - l0)).collect();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a small count")]
    let half = (SLIDE_HALF_MM / STEP_MM) as usize;
    for _ in 0..SLIDE_ROUNDS {
        // How far each partner lies back along the line.
        let mut sums = vec![0.0];
        for (i, k) in (from.0..=to.0).enumerate() {
            let back = (right.points[k] - left.at(way[i])).dot(right.heading(k));
            sums.push(sums[i] + back.clamp(-SLIDE_HALF_MM, SLIDE_HALF_MM));
        }
        for i in 0..count {
            // A window that shrinks towards the anchors keeps them.
            let h = half.min(i).min(count - 1 - i);
            let mean = (sums[i + h + 1] - sums[i - h]) / (2 * h + 1) as f64;
            let taper = h as f64 / half as f64;
            way[i] = (way[i] + taper * mean).clamp(l0, l1);
        }
        for i in 1..count {
            way[i] = way[i].max(way[i - 1]);
        }
    }
    for (i, k) in (from.0..=to.0).enumerate() {
        partner[k] = left.at(way[i]);
    }
    partner[from.0] = left.points[from.1];
    partner[to.0] = left.points[to.1];
}
