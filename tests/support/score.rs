//! How far a traced outline lies from the truth: both moved together by the best turn and shift (no scale), then
//! distances measured both ways along the two lines.
//!
//! The measure is that of `../shared/photos/score.py` (Python, SciPy, Shapely), written anew; recorded values of that
//! program are checked in `tests/whole_way.rs`.

use nalgebra::{Matrix3, Vector3};
use onfold::geometry::{Affine, Point, Vec2};
use std::collections::HashMap;

/// Spacing of the points along both lines when distances are measured, millimetres.
const STEP_MM: f64 = 0.25;
/// Spacing while the lines are moved together.
const ALIGN_STEP_MM: f64 = 3.0;
/// Turns tried first, degrees apart.
const TRIED_DEG: u32 = 5;
/// Side of the cells that points are sorted into, millimetres.
const CELL_MM: f64 = 8.0;

/// The comparison, millimetres.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Score {
    pub(crate) rms_mm: f64,
    pub(crate) p95_mm: f64,
    pub(crate) worst_mm: f64,
    pub(crate) height_error_mm: f64,
    pub(crate) width_error_mm: f64,
    pub(crate) area_error_percent: f64,
    /// Truth's frame from the traced frame.
    pub(crate) truth_from_traced: Affine,
}

/// Compares two closed outlines.
pub(crate) fn score(truth: &[Point], traced: &[Point]) -> Score {
    let moved_by = align(truth, traced);
    let moved: Vec<Point> = traced.iter().map(|p| moved_by * *p).collect();
    let (a, b) = (Outline::new(truth, STEP_MM), Outline::new(&moved, STEP_MM));
    let mut distances = Vec::new();
    for (from, to) in [(&a, &b), (&b, &a)] {
        for k in 0..from.points.len() {
            distances.push((to.nearest(from.points[k]).0, from.weight(k)));
        }
    }
    distances.sort_by(|x, y| x.0.total_cmp(&y.0));
    let whole: f64 = distances.iter().map(|d| d.1).sum();
    let mut passed = 0.0;
    let p95 = distances.iter().find(|(_, w)| {
        passed += w;
        passed >= 0.95 * whole
    });
    let bounds =
        |ring: &[Point]| ring.iter().fold(kurbo::Rect::from_points(ring[0], ring[0]), |r, p| r.union_pt(*p));
    let (t, m) = (bounds(truth), bounds(&moved));
    Score {
        rms_mm: (distances.iter().map(|(d, w)| d * d * w).sum::<f64>() / whole).sqrt(),
        p95_mm: p95.map_or(0.0, |d| d.0),
        worst_mm: distances.last().map_or(0.0, |d| d.0),
        height_error_mm: m.height() - t.height(),
        width_error_mm: m.width() - t.width(),
        area_error_percent: 100.0 * (area(&moved).abs() / area(truth).abs() - 1.0),
        truth_from_traced: moved_by,
    }
}

/// Signed area by the shoelace sum, mm².
pub(crate) fn area(ring: &[Point]) -> f64 {
    (0..ring.len()).map(|i| ring[i].to_vec2().cross(ring[(i + 1) % ring.len()].to_vec2()) / 2.0).sum()
}

fn centroid(ring: &[Point]) -> Vec2 {
    let mut sum = Vec2::ZERO;
    for i in 0..ring.len() {
        let (a, b) = (ring[i].to_vec2(), ring[(i + 1) % ring.len()].to_vec2());
        sum += a.cross(b) * (a + b);
    }
    sum / (6.0 * area(ring))
}

/// The turn and shift that bring `traced` nearest to `truth`, both ways counted alike.
fn align(truth: &[Point], traced: &[Point]) -> Affine {
    let target = Outline::new(truth, 1.0);
    let own = Outline::new(traced, 1.0);
    let (truth_points, traced_points) = (resample(truth, ALIGN_STEP_MM), resample(traced, ALIGN_STEP_MM));
    let (home, begin) = (centroid(truth), centroid(traced));
    let about = |turn: f64, shift: Vec2| {
        Affine::translate(home + shift) * Affine::rotate(turn) * Affine::translate(-begin)
    };
    let cost = |map: Affine, every: usize| -> f64 {
        traced_points.iter().step_by(every).map(|p| target.nearest(map * *p).0.min(200.0).powi(2)).sum()
    };
    let mut tries: Vec<(f64, f64)> = (0..360 / TRIED_DEG)
        .map(|k| f64::from(k * TRIED_DEG).to_radians())
        .map(|turn| (cost(about(turn, Vec2::ZERO), 8), turn))
        .collect();
    tries.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut best: Option<(f64, Affine)> = None;
    for &(_, first_turn) in tries.iter().take(3) {
        let (mut turn, mut shift) = (first_turn, Vec2::ZERO);
        for _ in 0..60 {
            let map = about(turn, shift);
            let back = map.inverse();
            let mut normal = Matrix3::zeros();
            let mut right = Vector3::zeros();
            // `at` lies on the moved line, `out` is its offset from the other line.
            let mut add = |at: Point, out: Vec2, weight: f64| {
                let length = out.hypot();
                if length < 1e-12 {
                    return;
                }
                let n = out / length;
                let arm = at.to_vec2() - home - shift;
                let row = Vector3::new(n.dot(Vec2::new(-arm.y, arm.x)), n.x, n.y);
                normal += weight * row * row.transpose();
                right += weight * length * row;
            };
            #[expect(clippy::cast_precision_loss, reason = "a few hundred points")]
            for p in &traced_points {
                let at = map * *p;
                add(at, at - target.nearest(at).1, 1.0 / traced_points.len() as f64);
            }
            #[expect(clippy::cast_precision_loss, reason = "a few hundred points")]
            for p in &truth_points {
                let foot = map * own.nearest(back * *p).1;
                add(foot, foot - *p, 1.0 / truth_points.len() as f64);
            }
            let Some(step) = normal.cholesky().map(|c| c.solve(&right)) else { break };
            turn -= step[0];
            shift -= Vec2::new(step[1], step[2]);
            if step.norm() < 1e-9 {
                break;
            }
        }
        let map = about(turn, shift);
        let cost = cost(map, 1);
        if best.is_none_or(|(c, _)| cost < c) {
            best = Some((cost, map));
        }
    }
    best.expect("three were tried").1
}

/// A closed line as dense points, sorted into cells.
struct Outline {
    points: Vec<Point>,
    cells: HashMap<(i64, i64), Vec<u32>>,
}

impl Outline {
    fn new(ring: &[Point], step_mm: f64) -> Self {
        let points = resample(ring, step_mm);
        let mut cells: HashMap<(i64, i64), Vec<u32>> = HashMap::new();
        for (k, p) in points.iter().enumerate() {
            cells.entry(cell(*p)).or_default().push(u32::try_from(k).expect("few points"));
        }
        Self { points, cells }
    }

    /// Half the lengths of the two chords at a point.
    fn weight(&self, k: usize) -> f64 {
        let n = self.points.len();
        let (before, after) = (self.points[(k + n - 1) % n], self.points[(k + 1) % n]);
        f64::midpoint(before.distance(self.points[k]), after.distance(self.points[k]))
    }

    /// Distance to the line and its foot.
    fn nearest(&self, at: Point) -> (f64, Point) {
        let centre = cell(at);
        let (mut best, mut best_d) = (0, f64::MAX);
        let mut rings = 0_i64;
        // Cells in growing squares, until nothing nearer can lie outside them.
        loop {
            for i in -rings..=rings {
                for j in -rings..=rings {
                    if i64::max(i.abs(), j.abs()) != rings {
                        continue;
                    }
                    for &k in
                        self.cells.get(&(centre.0 + i, centre.1 + j)).map(Vec::as_slice).unwrap_or_default()
                    {
                        let d = self.points[k as usize].distance_squared(at);
                        if d < best_d {
                            (best, best_d) = (k as usize, d);
                        }
                    }
                }
            }
            #[expect(clippy::cast_precision_loss, reason = "a few cells")]
            let clear = rings as f64 * CELL_MM;
            if best_d.sqrt() <= clear {
                break;
            }
            if rings > 40 {
                // Far off: look at every point once.
                for (k, p) in self.points.iter().enumerate() {
                    if p.distance_squared(at) < best_d {
                        (best, best_d) = (k, p.distance_squared(at));
                    }
                }
                break;
            }
            rings += 1;
        }
        let n = self.points.len();
        let feet = [(best + n - 1) % n, best].map(|k| {
            let (a, b) = (self.points[k], self.points[(k + 1) % n]);
            let along = b - a;
            let t = ((at - a).dot(along) / along.hypot2().max(1e-18)).clamp(0.0, 1.0);
            a + t * along
        });
        let d = feet.map(|f| f.distance(at));
        if d[0] < d[1] { (d[0], feet[0]) } else { (d[1], feet[1]) }
    }
}

#[expect(clippy::cast_possible_truncation, reason = "metres at most")]
fn cell(p: Point) -> (i64, i64) {
    ((p.x / CELL_MM).floor() as i64, (p.y / CELL_MM).floor() as i64)
}

/// Points no further apart than `step_mm`, every corner kept.
fn resample(ring: &[Point], step_mm: f64) -> Vec<Point> {
    let mut out = Vec::new();
    for i in 0..ring.len() {
        let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
        let steps = (a.distance(b) / step_mm).ceil().max(1.0);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "metres at most")]
        out.extend((0..steps as u32).map(|k| a.lerp(b, f64::from(k) / steps)));
    }
    out
}
