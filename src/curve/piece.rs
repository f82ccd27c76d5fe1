//! One line or one cubic through a run of means, by least squares of the distances across it.
//!
//! The cubic is found by Gauss-Newton over its control points, its parameter at each place being the foot
//! of the perpendicular (Plass & Stone 1983, "Curve-fitting with piecewise parametric cubics",
//! doi:10.1145/800059.801153; Schneider 1990, "An algorithm for automatically fitting digitized curves",
//! Graphics Gems).

use super::samples::Block;
use crate::geometry::{CubicBez, Point, Vec2};
use kurbo::{ParamCurve, ParamCurveDeriv};
use nalgebra::{SMatrix, SVector};

/// Standard deviations of a mean that noise alone may reach. Raising it hides bends in the noise.
const NOISE_SIGMAS: f64 = 3.7;
/// Rounds of Gauss-Newton; it settles in three to five.
const ROUNDS: usize = 10;
/// Pull of the inner control points to where they began, as a deviation of this part of the length.
const HOLD: f64 = 0.2;

/// What a run may depart.
#[derive(Debug, Clone, Copy)]
pub(super) struct Limit {
    /// Departure allowed beyond noise, mm.
    pub(super) depart_mm: f64,
}

impl Limit {
    /// By how much one mean may lie off, mm.
    pub(super) fn of(self, sd: f64) -> f64 {
        self.depart_mm + NOISE_SIGMAS * sd
    }

    /// Whether means with these distances are explained: none too far, and not all far together.
    pub(super) fn holds(self, blocks: &[Block], off: impl Fn(usize) -> f64) -> bool {
        let mut sum = 0.0;
        for (k, b) in blocks.iter().enumerate() {
            let d = off(k);
            if d.abs() > self.of(b.sd) {
                return false;
            }
            sum += d * d / (b.sd * b.sd + 0.25 * self.depart_mm * self.depart_mm);
        }
        let n = blocks.len() as f64;
        sum <= n + 3.0 * (2.0 * n).sqrt()
    }
}

/// A point and direction of the best line through the means.
pub(super) fn line(blocks: &[Block]) -> (Point, Vec2) {
    let (mut w, mut x, mut y) = (0.0, 0.0, 0.0);
    for b in blocks {
        let k = b.sd.powi(-2);
        w += k;
        x += k * b.at.x;
        y += k * b.at.y;
    }
    let centre = Point::new(x / w, y / w);
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for b in blocks {
        let (k, d) = (b.sd.powi(-2), b.at - centre);
        xx += k * d.x * d.x;
        xy += k * d.x * d.y;
        yy += k * d.y * d.y;
    }
    let u = Vec2::from_angle(0.5 * (2.0 * xy).atan2(xx - yy));
    let chord = blocks[blocks.len() - 1].at - blocks[0].at;
    (centre, if u.dot(chord) < 0.0 { -u } else { u })
}

/// Whether one line explains the means.
pub(super) fn is_line(blocks: &[Block], limit: Limit) -> bool {
    let (centre, u) = line(blocks);
    limit.holds(blocks, |k| u.cross(blocks[k].at - centre))
}

/// The cubic polynomial in the parameters `t` nearest to the means, as a Bézier.
fn polynomial(blocks: &[Block], t: &[f64]) -> CubicBez {
    let mut m = SMatrix::<f64, 4, 4>::zeros();
    let mut g = SMatrix::<f64, 4, 2>::zeros();
    for (b, &s) in blocks.iter().zip(t) {
        let o = 1.0 - s;
        let row = SVector::<f64, 4>::new(o * o * o, 3.0 * o * o * s, 3.0 * o * s * s, s * s * s);
        let w = b.sd.powi(-2);
        m += w * row * row.transpose();
        g += w * row * SMatrix::<f64, 1, 2>::new(b.at.x, b.at.y);
    }
    let (first, last) = (blocks[0].at, blocks[blocks.len() - 1].at);
    m.cholesky().map_or_else(
        || CubicBez::new(first, first.lerp(last, 1.0 / 3.0), first.lerp(last, 2.0 / 3.0), last),
        |chol| {
            let p = chol.solve(&g);
            let at = |k: usize| Point::new(p[(k, 0)], p[(k, 1)]);
            CubicBez::new(at(0), at(1), at(2), at(3))
        },
    )
}

/// The best cubic through the means, and the signed distance of each from it.
pub(super) fn cubic(blocks: &[Block], limit: Limit) -> (CubicBez, Vec<f64>) {
    let n = blocks.len();
    let mut t = Vec::with_capacity(n);
    let mut run = 0.0;
    for k in 0..n {
        if k > 0 {
            run += blocks[k].at.distance(blocks[k - 1].at);
        }
        t.push(run);
    }
    for v in &mut t {
        *v /= run.max(1e-9);
    }
    let start = polynomial(blocks, &t);
    let mut c = start;
    let mut off = vec![0.0; n];
    let mut damping = 1e-4;
    let mut best: Option<Best> = None;
    for round in 0..ROUNDS {
        let steps = if round == 0 { 3 } else { 2 };
        let (m, g, cost, worst) = normal(&c, blocks, limit, &mut t, &mut off, steps);
        let settled = match &best {
            Some(b) if cost > b.cost => {
                damping *= 10.0;
                false
            }
            before => {
                damping *= 0.2;
                let settled = before
                    .as_ref()
                    .is_some_and(|b| cost > 0.98 * b.cost || (worst < 0.5 && cost > 0.8 * b.cost));
                best = Some(Best { c, m, g, cost, worst, off: off.clone(), t: t.clone() });
                settled
            }
        };
        let Some(b) = &best else { break };
        let hopeless = round >= 4 && b.worst > 6.0;
        if settled || hopeless || round + 1 == ROUNDS {
            break;
        }
        let Some(step) = solve(&b.m, &b.g, &b.c, &start, run, damping) else { break };
        let d = |j: usize| Vec2::new(step[2 * j], step[2 * j + 1]);
        c = CubicBez::new(b.c.p0 + d(0), b.c.p1 + d(1), b.c.p2 + d(2), b.c.p3 + d(3));
        t.clone_from(&b.t);
    }
    best.map_or((start, off), |b| (b.c, b.off))
}

/// The best cubic so far with its normal equations.
struct Best {
    c: CubicBez,
    m: SMatrix<f64, 8, 8>,
    g: SVector<f64, 8>,
    cost: f64,
    worst: f64,
    off: Vec<f64>,
    t: Vec<f64>,
}

/// Moves the feet by `steps` of Newton; gives the normal equations there (lower half), the sum of squares
/// and the largest distance over its limit.
fn normal(
    c: &CubicBez,
    blocks: &[Block],
    limit: Limit,
    t: &mut [f64],
    off: &mut [f64],
    steps: usize,
) -> (SMatrix<f64, 8, 8>, SVector<f64, 8>, f64, f64) {
    let (d1, d2) = (c.deriv(), c.deriv().deriv());
    let mut m = SMatrix::<f64, 8, 8>::zeros();
    let mut g = SVector::<f64, 8>::zeros();
    let (mut cost, mut worst) = (0.0, 0.0_f64);
    for (k, block) in blocks.iter().enumerate() {
        let p = block.at;
        let mut s = t[k];
        for _ in 0..steps {
            let (e, b1, b2) = (p - c.eval(s), d1.eval(s).to_vec2(), d2.eval(s).to_vec2());
            let slope = (b1.hypot2() - e.dot(b2)).max(0.3 * b1.hypot2()).max(1e-12);
            s = (s + e.dot(b1) / slope).clamp(-0.05, 1.05);
        }
        t[k] = s;
        let b1 = d1.eval(s).to_vec2();
        let normal = Vec2::new(-b1.y, b1.x) / b1.hypot().max(1e-9);
        let r = normal.dot(p - c.eval(s));
        off[k] = r;
        worst = worst.max(r.abs() / limit.of(block.sd));
        let w = (block.sd.powi(2) + 0.01 * limit.depart_mm.powi(2)).recip();
        cost += w * (p - c.eval(s)).hypot2();
        let o = 1.0 - s;
        let b = [o * o * o, 3.0 * o * o * s, 3.0 * o * s * s, s * s * s];
        let mut row = [0.0; 8];
        for j in 0..4 {
            row[2 * j] = b[j] * normal.x;
            row[2 * j + 1] = b[j] * normal.y;
        }
        for i in 0..8 {
            let wi = w * row[i];
            for j in 0..=i {
                m[(i, j)] += wi * row[j];
            }
            g[i] += wi * r;
        }
    }
    (m, g, cost, worst)
}

/// One damped step of the control points.
fn solve(
    m: &SMatrix<f64, 8, 8>,
    g: &SVector<f64, 8>,
    c: &CubicBez,
    start: &CubicBez,
    run: f64,
    damping: f64,
) -> Option<SVector<f64, 8>> {
    let (mut m, mut g) = (*m, *g);
    let mean = (0..8).map(|i| m[(i, i)]).sum::<f64>() / 8.0;
    // The ends move only across the line.
    let pin = 1e4 * mean;
    for (j, d) in [(0, c.p1 - c.p0), (6, c.p3 - c.p2)] {
        let d = d / d.hypot().max(1e-9);
        m[(j, j)] += pin * d.x * d.x;
        m[(j + 1, j)] += pin * d.x * d.y;
        m[(j + 1, j + 1)] += pin * d.y * d.y;
    }
    // Where the points do not tell how long a handle is, it stays as it began.
    let hold = (HOLD * run).powi(-2);
    for (j, d) in [(2, start.p1 - c.p1), (4, start.p2 - c.p2)] {
        m[(j, j)] += hold;
        m[(j + 1, j + 1)] += hold;
        g[j] += hold * d.x;
        g[j + 1] += hold * d.y;
    }
    for i in 0..8 {
        m[(i, i)] += damping * mean;
        for j in 0..i {
            m[(j, i)] = m[(i, j)];
        }
    }
    Some(m.cholesky()?.solve(&g))
}

/// Whether a cubic with these distances is a usable explanation: within the limits and not folded back.
pub(super) fn is_cubic(c: &CubicBez, blocks: &[Block], off: &[f64], limit: Limit) -> bool {
    let length: f64 = blocks.windows(2).map(|w| w[0].at.distance(w[1].at)).sum();
    let handles = (c.p1 - c.p0).hypot().max((c.p3 - c.p2).hypot());
    handles < 1.5 * length && limit.holds(blocks, |k| off[k])
}
