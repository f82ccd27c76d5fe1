//! Where pieces begin and end: the fewest that the limits allow, straight runs first.
//!
//! A part of a run that one piece explains is explained by one piece too, so the furthest reach from each
//! place is found with two pointers, and the cheapest chain by dynamic programming over places (after
//! Plass & Stone 1983, doi:10.1145/800059.801153).

use super::joined::CORNER_BLUR_MM;
use super::piece::{self, Limit};
use super::samples::{Block, Samples};
use crate::geometry::{CubicBez, Vec2};

/// Most means over one piece: enough to see a cubic's error, few enough to be quick.
const BLOCKS: usize = 40;
/// Places are at most this far apart, mm, ...
const PLACE_MM: f64 = 15.0;
/// ... and the line turns at most this much between two, radians.
const PLACE_RAD: f64 = 0.2;
/// Cost of a cubic. A line costs 1 when short and half when long: two lines and an arc beat two cubics.
const CUBIC_COST: f64 = 1.9;
/// From this length a line costs half, mm.
const LONG_LINE_MM: f64 = 100.0;
/// From this length a line costs still less by `VERY_LONG_GAIN`, mm: no worn edge is so straight by chance.
const VERY_LONG_LINE_MM: f64 = 400.0;
const VERY_LONG_GAIN: f64 = 0.6;
/// A line's direction agrees with the points' at its ends within this and three deviations, radians.
const LINE_SLACK_RAD: f64 = 0.06;
/// The points' direction is taken over at least this much either side, mm.
const HEADING_MM: f64 = 4.0;
/// Shortest line, mm.
const SHORT_LINE_MM: f64 = 10.0;
/// Cost of a piece stretched to its limit, so that joints fall where there is room.
const STRETCH_COST: f64 = 0.1;

/// Places looked at beyond one that fails: noise alone fails a piece now and then.
const LOOK: usize = 2;

/// Line or cubic.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    Line,
    Cubic,
}

/// A run of points for one piece: from index `from` to `to`, which the next begins with.
#[derive(Debug, Clone, Copy)]
pub(super) struct Run {
    pub(super) kind: Kind,
    pub(super) from: usize,
    pub(super) to: usize,
    /// The cubic that explains it, for a start.
    pub(super) curve: Option<CubicBez>,
}

/// Splits the whole ring at the given corner indices and between them.
pub(super) fn split(samples: &Samples, corners: &[usize], limit: Limit) -> Vec<Run> {
    let n = samples.len();
    let mut runs = Vec::new();
    if corners.is_empty() {
        let places = places(samples, 0, n);
        runs = closed(samples, &places, limit);
    } else {
        for (k, &from) in corners.iter().enumerate() {
            let to = if k + 1 < corners.len() { corners[k + 1] } else { corners[0] + n };
            runs.extend(between(samples, from, to, limit));
        }
    }
    for run in runs.iter_mut().filter(|r| r.kind == Kind::Cubic && r.curve.is_none()) {
        run.curve = Some(curve(samples, run.from, run.to, limit).0);
    }
    runs
}

/// Splits what lies between two corners.
pub(super) fn between(samples: &Samples, from: usize, to: usize, limit: Limit) -> Vec<Run> {
    let places = places(samples, from, to);
    let last = places.len() - 1;
    let reach = Reach::new(samples, &places, last, true, limit);
    let whole = vec![Run { kind: Kind::Cubic, from, to, curve: None }];
    let mut runs = reach.chain(samples, &places, 0, last, None).map_or(whole, |(_, chain)| chain);
    let trim = samples.count(CORNER_BLUR_MM);
    for run in runs.iter_mut().filter(|r| r.kind == Kind::Cubic) {
        let (a, b) = trimmed(
            run.from,
            run.to,
            if run.from == from { trim } else { 0 },
            if run.to == to { trim } else { 0 },
        );
        run.curve = Some(curve(samples, a, b, limit).0);
    }
    runs
}

/// A run without its first and last points, if enough are left.
fn trimmed(from: usize, to: usize, first: usize, last: usize) -> (usize, usize) {
    if from + first + last + 4 < to { (from + first, to - last) } else { (from, to) }
}

/// The best cubic over a run, and whether it holds.
fn curve(samples: &Samples, from: usize, to: usize, limit: Limit) -> (CubicBez, bool) {
    let mut blocks = Vec::with_capacity(BLOCKS);
    samples.blocks(from, to, count(samples, from, to, limit), &mut blocks);
    if blocks.len() < 4 {
        let (p, q) = (samples.place(from), samples.place(to));
        return (CubicBez::new(p, p.lerp(q, 1.0 / 3.0), p.lerp(q, 2.0 / 3.0), q), true);
    }
    let (c, off) = piece::cubic(&blocks, limit);
    (c, piece::is_cubic(&c, &blocks, &off, limit))
}

fn count(samples: &Samples, from: usize, to: usize, limit: Limit) -> usize {
    ((to - from) / samples.block_points(limit.depart_mm)).clamp(10, BLOCKS)
}

/// Points either side over which the points' direction is good to a quarter of the slack.
pub(super) fn heading_points(samples: &Samples) -> usize {
    let wanted = (1.5 * samples.reach).cbrt()
        * (samples.typical_sigma() / (samples.step_mm * 0.25 * LINE_SLACK_RAD)).powf(2.0 / 3.0);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a count")]
    let n = wanted.clamp(samples.count(HEADING_MM) as f64, samples.count(6.0 * HEADING_MM) as f64).round()
        as usize;
    n.min(samples.len() / 8).max(1)
}

/// The points' direction at index `i`: the slope of the parabola over `half` points either side.
pub(super) fn heading(samples: &Samples, i: usize, half: usize) -> Vec2 {
    let n = samples.len();
    (1..=half).fold(Vec2::ZERO, |sum, k| sum + (samples.place(i + k) - samples.place(i + n - k)) * k as f64)
}

/// Places where pieces may join: closer where the line turns.
fn places(samples: &Samples, from: usize, to: usize) -> Vec<usize> {
    let w = samples.count(4.0).min((to - from) / 4).max(1);
    let mean = |i: usize| samples.mean(i, i + w).map_or(samples.place(i), |b| b.at);
    let heading = |i: usize| mean(i + w) - mean(i);
    // Turn over two lengths w at every w-th place, looked at from up to 15 mm either side.
    let n = samples.len();
    let cells = (to - from) / w;
    let rate: Vec<f64> = (0..=cells)
        .map(|k| {
            let i = from + k * w;
            let (a, b): (Vec2, Vec2) = (heading((i + n - 2 * w) % n), heading(i % n));
            let gap = 2.0 * w as f64 * samples.step_mm;
            (a.cross(b).atan2(a.dot(b)).abs() / gap).min(0.5)
        })
        .collect();
    let around = (samples.count(PLACE_MM) / w).max(1);
    let mut out = vec![from];
    let mut filled = 0.0;
    for i in from + 1..to {
        let k = (i - from) / w;
        let turn = rate[k.saturating_sub(around)..(k + around + 1).min(rate.len())]
            .iter()
            .copied()
            .fold(0.0, f64::max);
        filled += samples.step_mm * (1.0 / PLACE_MM).max(turn / PLACE_RAD).min(1.0 / 2.0);
        if filled >= 1.0 && to - i > 2 {
            out.push(i);
            filled = 0.0;
        }
    }
    out.push(to);
    out
}

/// How far one piece reaches from each place.
struct Reach {
    line: Vec<usize>,
    cubic: Vec<usize>,
    /// The points' own direction at each place; `None` at a corner, where a piece may leave as it likes.
    heading: Vec<Option<Vec2>>,
    /// By how much a line's direction may differ from it, radians.
    slack: f64,
}

impl Reach {
    fn new(samples: &Samples, places: &[usize], last: usize, corners: bool, limit: Limit) -> Self {
        let mut blocks = Vec::with_capacity(BLOCKS);
        let mut line = Vec::with_capacity(places.len());
        let mut cubic = Vec::with_capacity(places.len());
        let (mut l, mut c) = (1, 1);
        // Beside a corner the picture rounds: those points are no evidence.
        let trim = if corners { samples.count(CORNER_BLUR_MM) } else { 0 };
        let span = |i: usize, j: usize| {
            trimmed(places[i], places[j], if i == 0 { trim } else { 0 }, if j == last { trim } else { 0 })
        };
        for i in 0..last {
            l = l.max(i + 1);
            let straight = |j: usize, blocks: &mut Vec<Block>| {
                let (a, b) = span(i, j);
                samples.blocks(a, b, count(samples, a, b, limit), blocks);
                piece::is_line(blocks, limit)
            };
            while let Some(j) = (l + 1..=last.min(l + LOOK)).find(|&j| straight(j, &mut blocks)) {
                l = j;
            }
            c = c.max(l);
            let smooth = |j: usize| {
                let (a, b) = span(i, j);
                curve(samples, a, b, limit).1
            };
            while let Some(j) = (c + 1..=last.min(c + LOOK)).find(|&j| smooth(j)) {
                c = j;
            }
            line.push(l);
            cubic.push(c);
        }
        let half = heading_points(samples);
        let heading = (0..=last)
            .map(|k| (!corners || (k > 0 && k < last)).then(|| heading(samples, places[k], half)))
            .collect();
        // Slope of a parabola in its middle: variance 3 σ² / (2 m³ h²) for m points either side.
        let sigma = samples.typical_sigma();
        let noise = (1.5 * samples.reach / (half as f64).powi(3)).sqrt() * sigma / samples.step_mm;
        Self { line, cubic, heading, slack: LINE_SLACK_RAD + 3.0 * noise }
    }

    /// Cost of a line for leaving the points' direction at its ends, where the next piece must take it up.
    fn turn_cost(&self, samples: &Samples, places: &[usize], i: usize, j: usize) -> Option<f64> {
        let along = samples.place(places[j]) - samples.place(places[i]);
        let mut cost = 0.0;
        for u in [self.heading[i], self.heading[j]].into_iter().flatten() {
            let turn = along.cross(u).atan2(along.dot(u)).abs();
            if turn > self.slack {
                return None;
            }
            cost += 0.5 * (turn / self.slack).powi(2);
        }
        Some(cost)
    }

    fn cost(&self, samples: &Samples, places: &[usize], kind: Kind, i: usize, j: usize) -> Option<f64> {
        let far = match kind {
            Kind::Line => self.line[i],
            Kind::Cubic => self.cubic[i],
        };
        let length = (places[j] - places[i]) as f64 * samples.step_mm;
        if j > far
            || (kind == Kind::Line && length < SHORT_LINE_MM && places[j] - places[i] < samples.len() / 8)
        {
            return None;
        }
        let stretch = STRETCH_COST * ((j - i) as f64 / (far - i) as f64).powi(4);
        Some(
            match kind {
                Kind::Line => {
                    let straight =
                        ((length - LONG_LINE_MM) / (VERY_LONG_LINE_MM - LONG_LINE_MM)).clamp(0.0, 1.0);
                    1.0 - 0.5 * (length / LONG_LINE_MM).min(1.0) - VERY_LONG_GAIN * straight
                        + self.turn_cost(samples, places, i, j)?
                }
                Kind::Cubic => CUBIC_COST,
            } + stretch,
        )
    }

    /// The cheapest chain of pieces from one place to another; no two lines meet but at the ends. With
    /// `first` the first piece is of that kind and the last is not a line if the first is.
    fn chain(
        &self,
        samples: &Samples,
        places: &[usize],
        from: usize,
        to: usize,
        first: Option<Kind>,
    ) -> Option<(f64, Vec<Run>)> {
        const KINDS: [Kind; 2] = [Kind::Line, Kind::Cubic];
        let width = to - from + 1;
        let mut best = vec![[(f64::INFINITY, 0usize, 0usize); 2]; width];
        for i in from..to {
            for (k, &kind) in KINDS.iter().enumerate() {
                if i == from && first.is_some_and(|f| f != kind) {
                    continue;
                }
                let far = if kind == Kind::Line { self.line[i] } else { self.cubic[i] };
                for j in i + 1..=far.min(to) {
                    let Some(cost) = self.cost(samples, places, kind, i, j) else { continue };
                    for (before, &kind_before) in KINDS.iter().enumerate() {
                        let base = if i == from {
                            if before == 0 { 0.0 } else { continue }
                        } else {
                            best[i - from][before].0
                        };
                        if i > from && kind == Kind::Line && kind_before == Kind::Line {
                            continue;
                        }
                        if base + cost < best[j - from][k].0 {
                            best[j - from][k] = (base + cost, i, before);
                        }
                    }
                }
            }
        }
        let ends = best[width - 1];
        let mut k = usize::from(ends[1].0 < ends[0].0);
        if first == Some(Kind::Line) {
            k = 1;
        }
        let total = ends[k].0;
        if !total.is_finite() {
            return None;
        }
        let mut chain = Vec::new();
        let mut j = to;
        while j > from {
            let (_, i, before) = best[j - from][k];
            chain.push(Run { kind: KINDS[k], from: places[i], to: places[j], curve: None });
            (j, k) = (i, before);
        }
        chain.reverse();
        Some((total, chain))
    }
}

/// The cheapest closed chain, begun at any place within the first piece's reach.
fn closed(samples: &Samples, places: &[usize], limit: Limit) -> Vec<Run> {
    let n = samples.len();
    let count = places.len() - 1;
    let twice: Vec<usize> = (0..=2 * count)
        .map(|k| places[k % count] + if k / count > 0 { n * (k / count) } else { 0 })
        .collect();
    // Sums reach twice round: pieces that would run past are not asked for.
    let last = twice.iter().rposition(|&p| p <= 2 * n).unwrap_or(count);
    let reach = Reach::new(samples, &twice, last, false, limit);
    let mut best: Option<(f64, Vec<Run>)> = None;
    let stride = (reach.cubic[0] / 12).max(1);
    for start in (0..reach.cubic[0].min(count)).step_by(stride) {
        for first in [Kind::Line, Kind::Cubic] {
            if let Some(chain) = reach.chain(samples, &twice, start, start + count, Some(first))
                && best.as_ref().is_none_or(|b| chain.0 < b.0)
            {
                best = Some(chain);
            }
        }
    }
    best.map_or_else(|| vec![Run { kind: Kind::Cubic, from: 0, to: n, curve: None }], |b| b.1)
}
