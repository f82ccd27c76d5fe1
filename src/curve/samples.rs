//! The trace made ready for fitting: strays marked, noise measured, sums kept for quick means.
//!
//! Enters a trace, millimetres. Leaves its points in order with a standard deviation that agrees with the
//! scatter seen. Strays are told as Hampel (1974, "The influence curve and its role in robust estimation",
//! JASA 69) told them: too far from a median of predictions by the neighbours. Noise is what is left of the
//! points beside a running parabola (Savitzky & Golay 1964, doi:10.1021/ac60214a047).

use super::CurveError;
use crate::geometry::{Point, Trace, Vec2};

/// Fewest points that make an outline: two a quarter turn.
const FEWEST_POINTS: usize = 8;
/// Half length of the running parabola that noise is measured against, mm: longer than the noise is
/// correlated (several mm), shorter than a garment's curves. Raising it counts bends as noise.
const NOISE_HALF_MM: f64 = 25.0;
/// Errors are taken to go together over at most this length, mm ...
const REACH_MOST_MM: f64 = 15.0;
/// ... while their correlation is above this.
const REACH_LEAST: f64 = 0.1;
/// Scatter is compared over this much either side, mm, ...
const CALM_HALF_MM: f64 = 12.0;
/// ... and is noise alone where its power is below this many times the usual.
const CALM_POWER: f64 = 2.0;
/// Longest run of points taken into one mean when a piece is judged, mm.
const BLOCK_MOST_MM: f64 = 10.0;
/// Least standard deviation, mm: below it arithmetic, not scatter, is measured.
const SIGMA_FLOOR_MM: f64 = 0.003;
/// From stated to seen noise at most this factor either way.
const SCALE_LIMIT: f64 = 20.0;
/// A stray is further from every prediction than this many standard deviations of it ...
const STRAY_SIGMAS: f64 = 6.0;
/// ... and than this, mm. Lowering it takes rough cloth for strays.
const STRAY_LEAST_MM: f64 = 0.35;
/// Median absolute deviation of a normal distribution of standard deviation 1.
const NORMAL_MAD: f64 = 0.6745;

/// A mean of neighbouring points.
#[derive(Debug, Clone, Copy)]
pub(super) struct Block {
    /// Where, mm.
    pub(super) at: Point,
    /// Standard deviation of it, mm.
    pub(super) sd: f64,
}

/// A trace ready for fitting. Indices run on past the end round the ring, up to twice its length.
#[derive(Debug)]
pub(super) struct Samples {
    /// Places, mm.
    pub(super) at: Vec<Point>,
    /// Standard deviations across the line as the scatter shows them, mm.
    pub(super) sigma: Vec<f64>,
    /// Left out.
    pub(super) stray: Vec<bool>,
    /// Mean spacing, mm.
    pub(super) step_mm: f64,
    /// How many neighbouring points have one independent error between them.
    pub(super) reach: f64,
    /// The tracer's hints.
    pub(super) hints: Vec<usize>,
    /// The middle one of the standard deviations, mm.
    typical: f64,
    sums: Vec<[f64; 3]>,
}

impl Samples {
    pub(super) fn new(trace: &Trace) -> Result<Self, CurveError> {
        for (index, p) in trace.points.iter().enumerate() {
            if !(p.at.is_finite() && p.sigma_mm.is_finite() && p.sigma_mm >= 0.0) {
                return Err(CurveError::NotFinite { index });
            }
        }
        let mut at: Vec<Point> = Vec::with_capacity(trace.points.len());
        let mut sigma = Vec::with_capacity(trace.points.len());
        let mut hints = Vec::new();
        for (index, p) in trace.points.iter().enumerate() {
            if at.last().is_none_or(|&q| q.distance(p.at) > 1e-6) {
                at.push(p.at);
                sigma.push(p.sigma_mm.max(SIGMA_FLOOR_MM));
            }
            if trace.corners.binary_search(&index).is_ok() && !at.is_empty() {
                hints.push(at.len() - 1);
            }
        }
        while at.len() > 1 && at[0].distance(at[at.len() - 1]) < 1e-6 {
            at.pop();
            sigma.pop();
        }
        let n = at.len();
        if n < FEWEST_POINTS {
            return Err(CurveError::TooFew { points: n, needed: FEWEST_POINTS });
        }
        hints.retain(|&i| i < n);
        let mut samples = Self {
            stray: vec![false; n],
            step_mm: smooth_length(&at, &sigma) / n as f64,
            reach: 1.0,
            hints,
            typical: 0.0,
            sums: Vec::new(),
            at,
            sigma,
        };
        samples.mark_strays();
        samples.measure_noise();
        samples.sum();
        Ok(samples)
    }

    /// Leaves out all points from `from` on: they have served to tell noise and strays at the seam.
    pub(super) fn silence(&mut self, from: usize) {
        for s in &mut self.stray[from..] {
            *s = true;
        }
        self.sum();
    }

    /// Number of points.
    pub(super) fn len(&self) -> usize {
        self.at.len()
    }

    /// The place at an index that may run on past the end.
    pub(super) fn place(&self, i: usize) -> Point {
        self.at[i % self.at.len()]
    }

    /// How many points lie along a length.
    pub(super) fn count(&self, mm: f64) -> usize {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a positive count")]
        let n = (mm / self.step_mm).round().max(1.0) as usize;
        n
    }

    /// The mean of the points from `from` up to, not including, `to`; `None` if all are strays.
    pub(super) fn mean(&self, from: usize, to: usize) -> Option<Block> {
        let (a, b) = (self.sums[from], self.sums[to]);
        let weight = b[0] - a[0];
        if weight <= 0.0 {
            return None;
        }
        let shared = self.reach.min((to - from) as f64);
        Some(Block {
            at: Point::new((b[1] - a[1]) / weight, (b[2] - a[2]) / weight),
            sd: (shared / weight).sqrt(),
        })
    }

    /// `count` means of equal runs of points from `from` up to, not including, `to`.
    pub(super) fn blocks(&self, from: usize, to: usize, count: usize, out: &mut Vec<Block>) {
        out.clear();
        let count = count.min(to - from);
        for k in 0..count {
            let a = from + k * (to - from) / count;
            let b = from + (k + 1) * (to - from) / count;
            out.extend(self.mean(a, b));
        }
    }

    /// The middle one of the standard deviations, mm.
    pub(super) fn typical_sigma(&self) -> f64 {
        self.typical
    }

    /// Points in a mean whose standard deviation is half of `mm`, not more than 10 mm of them.
    pub(super) fn block_points(&self, mm: f64) -> usize {
        let wanted = self.reach * (self.typical / (0.5 * mm)).powi(2);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a count")]
        let n = wanted.clamp(1.0, self.count(BLOCK_MOST_MM) as f64).round() as usize;
        n
    }

    fn mark_strays(&mut self) {
        let n = self.at.len();
        if n < 24 {
            return;
        }
        let p = |i: usize, k: isize| -> Vec2 {
            let j = (i as isize + k).rem_euclid(n as isize);
            #[expect(clippy::cast_sign_loss, reason = "the remainder is not negative")]
            let j = j as usize;
            self.at[j].to_vec2()
        };
        let median = |mut v: [Vec2; 4]| -> Vec2 {
            v.sort_unstable_by(|a, b| a.x.total_cmp(&b.x));
            let x = 0.5 * (v[1].x + v[2].x);
            v.sort_unstable_by(|a, b| a.y.total_cmp(&b.y));
            Vec2::new(x, 0.5 * (v[1].y + v[2].y))
        };
        let limit = |i: usize| (STRAY_SIGMAS * self.sigma[i]).max(STRAY_LEAST_MM);
        let mut stray = vec![false; n];
        for (i, mark) in stray.iter_mut().enumerate() {
            let here = p(i, 0);
            let off = |v: Vec2| (v - here).hypot();
            // Between neighbours, cubic; and straight on from either side, for a place at a corner.
            if off((p(i, -1) + p(i, 1)) * 0.5) < limit(i) {
                continue;
            }
            let between = median(
                [2, 3, 4, 5].map(|k| (4.0 * (p(i, k) + p(i, -k)) - (p(i, 2 * k) + p(i, -2 * k))) / 6.0),
            );
            let before = median([2, 3, 4, 5].map(|k| 2.0 * p(i, -k) - p(i, -2 * k)));
            let after = median([2, 3, 4, 5].map(|k| 2.0 * p(i, k) - p(i, 2 * k)));
            // Only what lies across the line counts: along it spacing is free.
            let across = |v: Vec2, along: Vec2| {
                let d = v - here;
                (d.cross(along) / along.hypot().max(1e-9)).abs()
            };
            let miss = across(between, p(i, 3) - p(i, -3))
                .min(across(before, p(i, -2) - p(i, -8)))
                .min(across(after, p(i, 8) - p(i, 2)));
            *mark = miss > limit(i);
        }
        // A corner is not a stray: more than a few in a row are the line itself.
        let most = self.count(4.0).max(3);
        let mut run = 0;
        for i in 0..2 * n {
            if stray[i % n] {
                run += 1;
            } else {
                if run > most {
                    for k in 1..=run.min(n) {
                        stray[(i + n - k % n) % n] = false;
                    }
                }
                run = 0;
            }
        }
        self.stray = stray;
    }

    /// Scales the stated deviations to the scatter seen, and finds how far errors go together.
    fn measure_noise(&mut self) {
        let n = self.at.len();
        let half = self.count(NOISE_HALF_MM).clamp(2, (n / 10).max(2));
        let m = half as f64;
        let norm = (2.0 * m - 1.0) * (2.0 * m + 1.0) * (2.0 * m + 3.0);
        let weight = |j: f64| 3.0 * (3.0 * m * m + 3.0 * m - 1.0 - 5.0 * j * j) / norm;
        let weights: Vec<f64> = (0..=half).map(|j| weight(j as f64)).collect();
        let shrink = (1.0 - weights[0]).sqrt();
        let left: Vec<f64> = (0..n)
            .map(|i| {
                let mut mean = self.at[i].to_vec2() * weights[0];
                let mut along = Vec2::ZERO;
                for (j, w) in weights.iter().enumerate().skip(1) {
                    let (a, b) = (self.at[(i + j) % n].to_vec2(), self.at[(i + n - j) % n].to_vec2());
                    mean += (a + b) * *w;
                    along += (a - b) * j as f64;
                }
                (self.at[i].to_vec2() - mean).cross(along) / along.hypot().max(1e-9) / shrink / self.sigma[i]
            })
            .collect();
        let live = |i: &usize| !self.stray[*i];
        let seen = median_abs((0..n).filter(live).map(|i| left[i]).collect()) / NORMAL_MAD;
        // Integrated autocorrelation, summed while it is clearly positive, where no bend adds to the scatter.
        let wide = self.count(CALM_HALF_MM).min(n / 8).max(1);
        let clip = |r: f64| r.clamp(-4.0 * seen, 4.0 * seen);
        let power: Vec<f64> = (0..n)
            .map(|i| (0..=2 * wide).map(|k| clip(left[(i + n - wide + k) % n]).powi(2)).sum())
            .collect();
        let usual = median_abs(power.clone());
        let calm: Vec<f64> = (0..n)
            .map(|i| if self.stray[i] || power[i] > CALM_POWER * usual { 0.0 } else { clip(left[i]) })
            .collect();
        let lagged = |lag: usize| (0..n).map(|i| calm[i] * calm[(i + lag) % n]).sum::<f64>();
        let own = lagged(0).max(f64::MIN_POSITIVE);
        let most = self.count(REACH_MOST_MM).min(n / 4).max(1);
        let together: f64 = (1..most).map(|lag| lagged(lag) / own).take_while(|&r| r > REACH_LEAST).sum();
        self.reach = (1.0 + 2.0 * together).clamp(1.0, most as f64);
        let scale = seen.clamp(1.0 / SCALE_LIMIT, SCALE_LIMIT);
        for s in &mut self.sigma {
            *s = (*s * scale).max(SIGMA_FLOOR_MM);
        }
        let mut sorted = self.sigma.clone();
        self.typical = *sorted.select_nth_unstable_by(n / 2, f64::total_cmp).1;
    }

    fn sum(&mut self) {
        let n = self.at.len();
        self.sums = Vec::with_capacity(2 * n + 1);
        let mut total = [0.0; 3];
        self.sums.push(total);
        for i in 0..2 * n {
            let i = i % n;
            if !self.stray[i] {
                let w = self.sigma[i].powi(-2);
                total[0] += w;
                total[1] += w * self.at[i].x;
                total[2] += w * self.at[i].y;
            }
            self.sums.push(total);
        }
    }
}

/// Length round, of means over as many points as noise needs to stop adding to it.
fn smooth_length(at: &[Point], sigma: &[f64]) -> f64 {
    let n = at.len();
    let rough: f64 = (0..n).map(|i| at[i].distance(at[(i + 1) % n])).sum();
    let noise = sigma.iter().sum::<f64>() / n as f64;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a count")]
    let stride = (8.0 * noise / (rough / n as f64)).clamp(1.0, (n / 16).max(1) as f64) as usize;
    (0..n).map(|i| at[i].distance(at[(i + stride) % n])).sum::<f64>() / stride as f64
}

fn median_abs(mut v: Vec<f64>) -> f64 {
    if v.is_empty() {
        return 0.0;
    }
    for x in &mut v {
        *x = x.abs();
    }
    let middle = v.len() / 2;
    *v.select_nth_unstable_by(middle, f64::total_cmp).1
}
