//! Colours as three numbers, and the few tints that a cloth or a floor is made of.

use rayon::prelude::*;

/// Y, Cb, Cr as sampled, 0 to 255.
pub(super) type Colour = [f32; 3];

/// Chroma counts more than luma: light and shade change the luma of one cloth, hardly its chroma.
const CHROMA_WEIGHT: f32 = 2.0;

/// Square of the distance of two colours, in luma's grey levels.
#[inline]
pub(super) fn distance2(a: Colour, b: Colour) -> f32 {
    let d = |k: usize| a[k] - b[k];
    d(0) * d(0) + CHROMA_WEIGHT * CHROMA_WEIGHT * (d(1) * d(1) + d(2) * d(2))
}

/// A mixture, `t` of the second.
#[inline]
pub(super) fn mix(a: Colour, b: Colour, t: f32) -> Colour {
    std::array::from_fn(|k| a[k] + (b[k] - a[k]) * t)
}

/// A tint with its spread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Tint {
    /// Mean.
    pub mean: Colour,
    /// Standard deviation of the distance to the mean over its members, per axis, grey levels.
    pub spread: f32,
    /// Part of all members.
    pub share: f32,
    /// 1 / (2 spread²).
    steep: f32,
    /// What its width and its rareness cost all its colours.
    width: f32,
}

impl Tint {
    pub(super) fn new(mean: Colour, spread: f32, share: f32) -> Self {
        let rare = (RARE_SHARE / share).ln().max(0.0);
        Self { mean, spread, share, steep: 0.5 / (spread * spread), width: width_cost(spread) + rare }
    }
}

/// A tint of a smaller share of all members is rare, and costs what its share says: a few cells of print that were taken in with
/// the cloth are not to make all print cloth.
const RARE_SHARE: f32 = 0.05;

/// Spread no tint falls under: noise and the unevenness of cloth, grey levels.
const SPREAD_LEAST: f32 = 5.0;
/// Rounds of the k-means; it settles in about ten.
const ROUNDS: usize = 12;

/// Members that are assigned by one thread.
const MEMBERS_AT_ONCE: usize = 2048;

/// Sum of the members nearest to a mean.
#[derive(Clone, Copy, Default)]
struct Sum {
    colour: [f64; 3],
    /// Of the squared distances to the mean.
    off2: f64,
    count: usize,
}

impl Sum {
    fn add(&mut self, c: Colour, off2: f32) {
        for (sum, v) in self.colour.iter_mut().zip(c) {
            *sum += f64::from(v);
        }
        self.off2 += f64::from(off2);
        self.count += 1;
    }

    fn and(self, other: Self) -> Self {
        Self {
            colour: std::array::from_fn(|k| self.colour[k] + other.colour[k]),
            off2: self.off2 + other.off2,
            count: self.count + other.count,
        }
    }
}

/// The `count` tints that describe the members best (k-means, S. Lloyd 1982, doi:10.1109/TIT.1982.1056489,
/// begun at evenly spaced quantiles of luma so that the outcome is always the same).
#[expect(clippy::cast_precision_loss, reason = "counts are small")]
pub(super) fn tints(members: &[Colour], count: usize) -> Vec<Tint> {
    if members.is_empty() {
        return Vec::new();
    }
    let mut sorted: Vec<Colour> = members.to_vec();
    sorted.sort_by(|a, b| a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1])).then(a[2].total_cmp(&b[2])));
    let mut means: Vec<Colour> =
        (0..count).map(|k| sorted[(2 * k + 1) * sorted.len() / (2 * count)]).collect();
    let nearest = |means: &[Colour], c: Colour| {
        let mut best = (f32::INFINITY, 0);
        for (k, m) in means.iter().enumerate() {
            let d = distance2(*m, c);
            if d < best.0 {
                best = (d, k);
            }
        }
        best
    };
    let mut out = Vec::new();
    for round in 0..=ROUNDS {
        // Parts of one size, added up in their order: the same sums on any number of threads.
        let parts: Vec<Vec<Sum>> = sorted
            .par_chunks(MEMBERS_AT_ONCE)
            .map(|members| {
                let mut sums = vec![Sum::default(); means.len()];
                for c in members {
                    let (d, k) = nearest(&means, *c);
                    sums[k].add(*c, d);
                }
                sums
            })
            .collect();
        let sums: Vec<Sum> = (0..means.len())
            .map(|k| parts.iter().fold(Sum::default(), |sum, part| sum.and(part[k])))
            .collect();
        if round == ROUNDS {
            for (m, s) in means.iter().zip(&sums) {
                if s.count > 0 {
                    #[expect(clippy::cast_possible_truncation, reason = "single precision is enough")]
                    let spread = (s.off2 / s.count as f64 / 3.0).sqrt() as f32;
                    out.push(Tint::new(*m, spread.max(SPREAD_LEAST), s.count as f32 / sorted.len() as f32));
                }
            }
        } else {
            for (m, s) in means.iter_mut().zip(&sums) {
                if s.count > 0 {
                    #[expect(clippy::cast_possible_truncation, reason = "single precision is enough")]
                    {
                        *m = s.colour.map(|v| (v / s.count as f64) as f32);
                    }
                }
            }
        }
    }
    out
}

/// Cost that a tint's width puts on all its colours: a Gaussian's normalisation in three dimensions.
pub(super) fn width_cost(spread: f32) -> f32 {
    3.0 * (spread / SPREAD_LEAST).ln()
}

/// Cost (negative log likelihood, up to a constant) of a colour under the best of the tints.
pub(super) fn cost(tints: &[Tint], c: Colour) -> f32 {
    tints.iter().map(|t| distance2(t.mean, c) * t.steep + t.width).fold(f32::INFINITY, f32::min)
}
