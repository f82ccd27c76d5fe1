//! A run of refined places settled: points a millimetre apart with outliers and blots of junctions left out, and the
//! places where two runs meet in a corner.

use super::graph::Spot;
use crate::geometry::{Point, TracePoint, Vec2};

/// Spacing of the points that leave, millimetres.
const STEP_MM: f64 = 1.0;
/// Places within this along the line decide a point, millimetres; where few are seen, within the second.
const REACH_MM: [f64; 3] = [3.0, 8.0, 25.0];
/// So many places decide a point.
const LEAST: usize = 6;
/// Places this many median deviations off have no say.
const OUTLIER: f64 = 4.0;
/// A corner is not looked for farther from the node than this, millimetres.
const CORNER_MM: f64 = 5.0;
/// The arm that leads to a corner, millimetres.
const ARM_MM: f64 = 12.0;

/// Places of one smooth run, with the distance of each along it.
pub(super) struct Run {
    along: Vec<f64>,
    spots: Vec<(Spot, bool)>,
}

/// y = a + b x + c x² over a frame.
struct Arc {
    from: Point,
    way: Vec2,
    k: [f64; 3],
}

impl Run {
    /// `blots` are places (junctions, corners) near which, within `blot_mm`, the line's sides are not its own.
    pub(super) fn new(mut spots: Vec<(Spot, bool)>, blots: &[Point], blot_mm: f64) -> Self {
        for (spot, _) in &mut spots {
            if blots.iter().any(|b| b.distance(spot.at) < blot_mm) {
                spot.seen = false;
            }
        }
        let mut along = vec![0.0];
        for w in spots.windows(2) {
            along.push(along[along.len() - 1] + w[0].0.at.distance(w[1].0.at));
        }
        Self { along, spots }
    }

    pub(super) fn length_mm(&self) -> f64 {
        self.along[self.along.len() - 1]
    }

    /// The place at a distance along.
    fn at(&self, s: f64) -> (Point, bool) {
        let k = self.along.partition_point(|a| *a < s).clamp(1, self.along.len() - 1);
        let (a, b) = (self.along[k - 1], self.along[k]);
        let t = ((s - a) / (b - a).max(1e-12)).clamp(0.0, 1.0);
        (self.spots[k - 1].0.at.lerp(self.spots[k].0.at, t), self.spots[k].1)
    }

    /// A parabola through the seen places between two distances, outliers left out.
    fn arc(&self, from_mm: f64, to_mm: f64) -> Option<Arc> {
        let (a, b) = (self.at(from_mm.max(0.0)).0, self.at(to_mm.min(self.length_mm())).0);
        let way = b - a;
        if way.hypot() < 1e-6 {
            return None;
        }
        let way = way.normalize();
        let from = a.midpoint(b);
        let first = self.along.partition_point(|s| *s < from_mm);
        let last = self.along.partition_point(|s| *s <= to_mm);
        let mut points: Vec<(f64, f64)> = self.spots[first..last]
            .iter()
            .filter(|(s, _)| s.seen)
            .map(|(s, _)| ((s.at - from).dot(way), way.cross(s.at - from)))
            .collect();
        if points.len() < LEAST {
            return None;
        }
        let mut k = parabola(&points)?;
        for _ in 0..2 {
            let off = |p: &(f64, f64)| (p.1 - k[0] - k[1] * p.0 - k[2] * p.0 * p.0).abs();
            let mut all: Vec<f64> = points.iter().map(off).collect();
            all.sort_by(f64::total_cmp);
            let most = (OUTLIER * all[all.len() / 2]).max(0.05);
            let kept: Vec<(f64, f64)> = points.iter().copied().filter(|p| off(p) <= most).collect();
            if kept.len() < LEAST {
                break;
            }
            points = kept;
            k = parabola(&points)?;
        }
        Some(Arc { from, way, k })
    }

    /// Points a millimetre apart; the run's own ends left out when `ends` says so.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a positive count")]
    pub(super) fn points(&self, ends: [bool; 2]) -> Vec<TracePoint> {
        let length = self.length_mm();
        let n = (length / STEP_MM).round().max(2.0) as usize;
        let step = length / n as f64;
        (usize::from(!ends[0])..n + usize::from(ends[1]))
            .map(|i| {
                let s = i as f64 * step;
                let (rough, bridged) = self.at(s);
                // Near the ends the window leans inwards, so that as many places decide.
                let arc = REACH_MM.iter().find_map(|reach| {
                    let middle = s.clamp(0.6 * reach, (length - 0.6 * reach).max(0.6 * reach));
                    self.arc(middle - reach, middle + reach)
                });
                match arc {
                    Some(arc) => {
                        let k = self.along.partition_point(|a| *a < s).min(self.spots.len() - 1);
                        let near = self.spots[k].0;
                        let sigma_mm = if near.seen { near.sigma_mm } else { 0.1 };
                        TracePoint { at: arc.on(rough), sigma_mm: sigma_mm.max(0.02), bridged }
                    }
                    None => TracePoint { at: rough, sigma_mm: 0.3, bridged },
                }
            })
            .collect()
    }

    /// The arm at the end of the run (`last`) or at its beginning.
    fn arm(&self, last: bool) -> Option<Arc> {
        let length = self.length_mm();
        [ARM_MM, 2.0 * ARM_MM].into_iter().find_map(|reach| {
            let (from, to) = if last { (length - reach, length) } else { (0.0, reach) };
            self.arc(from.max(0.0), to.min(length))
        })
    }
}

impl Arc {
    /// The place of the arc beside a point.
    fn on(&self, p: Point) -> Point {
        let x = (p - self.from).dot(self.way);
        let y = self.k[0] + self.k[1] * x + self.k[2] * x * x;
        self.from + self.way * x + Vec2::new(-self.way.y, self.way.x) * y
    }

    /// The arc's way beside a point.
    fn heading(&self, p: Point) -> Vec2 {
        let x = (p - self.from).dot(self.way);
        self.way + Vec2::new(-self.way.y, self.way.x) * (self.k[1] + 2.0 * self.k[2] * x)
    }
}

/// Where the end of one run and the beginning of the next meet; `near` where they do not.
pub(super) fn corner(before: &Run, after: &Run, near: Point) -> Point {
    let (Some(a), Some(b)) = (before.arm(true), after.arm(false)) else { return near };
    let mut at = near;
    for _ in 0..8 {
        let (p, u, q, v) = (a.on(at), a.heading(at), b.on(at), b.heading(at));
        let cross = u.cross(v);
        if cross.abs() < 0.05 * u.hypot() * v.hypot() {
            return near;
        }
        at = p + u * ((q - p).cross(v) / cross);
        if at.distance(near) > CORNER_MM {
            return near;
        }
    }
    at
}

fn parabola(points: &[(f64, f64)]) -> Option<[f64; 3]> {
    let mut m = nalgebra::Matrix3::zeros();
    let mut r = nalgebra::Vector3::zeros();
    let scale = points.iter().map(|p| p.0.abs()).fold(1e-9, f64::max);
    for (x, y) in points {
        let row = nalgebra::Vector3::new(1.0, x / scale, (x / scale).powi(2));
        m += row * row.transpose();
        r += row * *y;
    }
    let k = m.cholesky()?.solve(&r);
    Some([k[0], k[1] / scale, k[2] / scale / scale])
}
