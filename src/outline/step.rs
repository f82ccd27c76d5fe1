//! One profile across the edge and the step fitted to it.

use super::backdrop::smooth_step;
use super::chroma::ChromaSteps;
use super::colour;
use super::edge::{along, unknown_cost};
use super::edge_light::{self, BySample, Edge};
use super::path::Station;
use super::step_costs::Steps;
use super::views::View;
use crate::geometry::{Point, Vec2};
use crate::photo::{Photo, light_of_one_byte, linear_from_srgb};
use nalgebra::{Matrix3, Vector3};

/// Distance between samples of a profile, millimetres (a third of a pixel).
pub(super) const FINE_MM: f64 = 0.15;
/// Samples on either side of the station.
pub(super) const HALF: usize = 22;
/// Places on either side of the station where the step may be.
pub(super) const PLACES: usize = 12;
/// An edge counts as blurred by this much at the least and at the most, pixels: a camera that sharpens makes its edges steeper, and its colour is
/// no finer, nor are its pixels' faults less alike.
const SOFT_PX: (f64, f64) = (0.75, 1.0);
/// How well the width of the blur is known at one place, as a part of it: it differs over the picture.
const BLUR_SIGMA: f64 = 0.1;
/// A place of a profile is read so far to both sides of its normal, pixels: the two hardly share noise.
const BESIDE_PX: f64 = 0.7;
/// How well the light on the sheet is known, as a part of it.
const LIGHT_SIGMA: f64 = 0.1;
/// How well the depth of the garment's own shade is known, as a part of it.
const SHADE_SIGMA: f64 = 0.3;
/// Part of the contrast of cloth and sheet that lens and sharpening may leave wrong next to the step and far from it, and
/// how many standard deviations of the blur away it has fallen to 1/e.
const CONTRAST_NEAR: f64 = 0.1;
const CONTRAST_FAR: f64 = 0.03;
const CONTRAST_REACH: f64 = 2.0;
/// By how much the light of a single corner must fit better than the light between corners, in log likelihood.
const OWN_LIGHT_GAIN: f64 = 16.0;
/// Most that a place may say against a light, in squared standard deviations.
const LIGHT_MOST: f64 = 16.0;
/// Fewer samples do not tell a floor's luma.
const FLOOR_LEAST: usize = 8;
/// Samples next to the station that are not asked about the light: the step may be there.
const CLEAR_OF_STEP: usize = 6;
/// Depth inside the step over which the cloth is one level, millimetres: less than where a row of stitches runs.
const NEAR_MM: f64 = 0.8;
/// Most that a place of it may cost, in squared standard deviations.
const NEAR_MOST: f64 = 30.0;
/// Most by which a sample of cloth and one of sheet are taken to differ in cost, squared standard deviations.
const LEAN_MOST: f64 = 6.0;
/// Standard deviations of the blur within which the step itself is judged.
const BLURRED: f64 = 1.5;
/// Most that a place inside may cost for not being of the cloth's tints, in squared standard deviations: a
/// stitch or a stain is not held against the edge beyond it.
const CLOTH_MOST: f64 = 16.0;
/// What a place inside costs at the least: a fitting sheet is a little more likely than cloth, whose tints are many and wide. Paper
/// has one tint, and where it lies on white paper neither is to be more likely for fitting better than it must: a place outside costs
/// as much then.
pub(super) const CLOTH_LEAST: f64 = 1.5;
/// A shadow leaves at least this part of the light.
const SHADOW_DEEPEST: f64 = 0.2;
/// What a place in an unforeseen shadow costs, squared standard deviations.
const SHADOW_COST: f64 = 5.0;
/// Blur of chroma over that of luma: cameras halve its resolution.
const CHROMA_BLUR: f64 = 1.8;
/// Part of the contrast that a place on an ink edge may be off: the map's blur is not the lens's.
const EDGE_PART: f64 = 0.12;
/// What a place beside a gap may be wrong by beyond what it shows, standard deviation in millimetres: a strip of floor a few pixels
/// wide has no colour of its own, and how far a page reaches is known to a millimetre.
const GAP_MM: f64 = 0.15;
/// Noise of a grey level with cloth's grain, and what paper's light may be off from place to place, grey levels.
pub(super) const GRAIN: f64 = 4.0;

/// Number of places where the step may be.
const COUNT: usize = 2 * PLACES + 1;
/// A number for every place, the outermost first.
type ByPlace = [f64; COUNT];

/// What a normal shows in the photograph.
#[derive(Clone, Copy)]
pub(super) struct Profile {
    /// Linear luma.
    luma: [f64; 2 * HALF + 1],
    /// 1 / variance of it as cloth.
    own: [f64; 2 * HALF + 1],
    /// Variance of it as sheet; none where no sheet lies.
    spread2: [Option<f64>; 2 * HALF + 1],
    /// Square of its contrast with the cloth as sheet.
    contrast2: [f64; 2 * HALF + 1],
    /// Chroma.
    chroma: [[f64; 2]; 2 * HALF + 1],
    /// Cost as cloth, squared standard deviations.
    cloth: [f64; 2 * HALF + 1],
    /// Cost as what lies there when no known sheet does, squared standard deviations.
    unknown: [Option<f64>; 2 * HALF + 1],
    /// Linear luma that the backdrop should have.
    expected: [f64; 2 * HALF + 1],
    /// Chroma that it should have.
    expected_chroma: [[f64; 2]; 2 * HALF + 1],
    /// Whether sheets lie all along the outer side.
    on_sheets: bool,
    /// Part of the light that the garment itself hides, by samples outward from the step.
    hidden: [f64; HALF + PLACES],
    /// The same as the blurred picture shows it, by samples from the step's farthest place: parts of a whole sheet's light.
    shaded: BySample,
    /// Light of the garment as the blurred picture shows it, by samples from the step's farthest place: parts of its face's.
    lit: BySample,
    /// Width of the edge that is lit otherwise than the face, millimetres.
    wall_mm: f64,
    /// Part of a sample that lies outside the step, by samples from it.
    rise: BySample,
    /// What lens and sharpening may leave wrong of the contrast, squared, by samples from the step.
    ringing2: BySample,
    /// What an unsure width of the blur leaves wrong of the contrast, squared, by samples from the step.
    blur_off2: BySample,
    /// Part of a sample's chroma that lies outside the step.
    chroma_rise: BySample,
    /// How far it is counted as blurred, millimetres.
    soft_mm: f64,
    /// What a place outside costs at the least, squared standard deviations.
    sheet_least: f64,
}

/// Light at a place of a profile, read a little to both sides of it; `beside` is a unit along the edge.
pub(super) fn light_across(photo: &Photo, at: Point, beside: Vec2) -> Option<f64> {
    let light = |p: Point| photo.light(p.x, p.y);
    Some(0.5 * (light(at - BESIDE_PX * beside)? + light(at + BESIDE_PX * beside)?))
}

impl Profile {
    #[expect(clippy::cast_precision_loss, reason = "a few samples")]
    pub(super) fn read(view: &View<'_>, edge: &Edge<'_>, s: &Station) -> Option<Self> {
        let View { scene, backdrop, .. } = view;
        let ends = [-1.0, 1.0].map(|d| scene.camera.pixel_from_table(along(s, d), 0.0));
        let px_per_mm = ends[0]?.distance(ends[1]?) / 2.0;
        // Along the edge, in pixels.
        let sides = [-1.0, 1.0].map(|d| scene.camera.pixel_from_table(s.at + d * s.normal.turn_90(), 0.0));
        let beside = (sides[1]? - sides[0]?).normalize();
        let blur_mm = view.blur_px / px_per_mm;
        let soft_mm = view.blur_px.clamp(SOFT_PX.0, SOFT_PX.1) / px_per_mm;
        let rise = |blur: f64| {
            std::array::from_fn(|k| smooth_step((k as f64 - (HALF + PLACES) as f64) * FINE_MM / blur))
        };
        let mut out = Self {
            luma: [0.0; 2 * HALF + 1],
            own: [0.0; 2 * HALF + 1],
            spread2: [None; 2 * HALF + 1],
            contrast2: [0.0; 2 * HALF + 1],
            chroma: [[0.0; 2]; 2 * HALF + 1],
            cloth: [0.0; 2 * HALF + 1],
            unknown: [None; 2 * HALF + 1],
            expected: [0.0; 2 * HALF + 1],
            expected_chroma: [[0.0; 2]; 2 * HALF + 1],
            on_sheets: false,
            hidden: edge.hidden(s),
            shaded: [0.0; 2 * (HALF + PLACES) + 1],
            lit: [0.0; 2 * (HALF + PLACES) + 1],
            wall_mm: 0.0,
            rise: rise(blur_mm),
            ringing2: std::array::from_fn(|k| {
                ringing2((k as f64 - (HALF + PLACES) as f64) * FINE_MM / soft_mm)
            }),
            blur_off2: std::array::from_fn(|k| {
                blur_off2((k as f64 - (HALF + PLACES) as f64) * FINE_MM / blur_mm)
            }),
            chroma_rise: rise(CHROMA_BLUR * soft_mm),
            soft_mm,
            sheet_least: view.sheet_least,
        };
        let mut sheets: Vec<Vec<f64>> = Vec::with_capacity(2 * HALF + 1);
        for k in 0..=2 * HALF {
            let at = along(s, (k as f64 - HALF as f64) * FINE_MM);
            let p = scene.camera.pixel_from_table(at, 0.0)?;
            let [y, cb, cr] = scene.photo.colour(p.x, p.y)?;
            out.luma[k] = light_across(scene.photo, p, beside)?;
            // Noise is even in grey levels: in light it grows with the curve's slope.
            out.own[k] = 1.0 / (GRAIN * light_of_one_byte(y).max(2e-4)).powi(2);
            sheets.push(backdrop.white(at, out.soft_mm).map(|w| f64::from(w.0)).collect());
            out.chroma[k] = [cb, cr];
            #[expect(clippy::cast_possible_truncation, reason = "single precision is enough")]
            let colour = [y, cb, cr].map(|v| v as f32);
            let tinted = |cost: f32, most: f64| (2.0 * f64::from(cost)).clamp(CLOTH_LEAST, most);
            out.cloth[k] = tinted(colour::cost(&view.cloth, colour), CLOTH_MOST);
            if sheets[k].is_empty() {
                // It may lie in a shadow.
                out.unknown[k] = Some(tinted(unknown_cost(backdrop, &view.floor, at, colour), SHADOW_COST));
            }
        }
        let beside = &sheets[HALF..];
        let white = beside.iter().flatten().sum::<f64>() > 0.5 * beside.iter().flatten().count() as f64;
        let (lit, wall_mm) = edge.lit(s, white);
        out.wall_mm = wall_mm;
        (out.shaded, out.lit) = edge_light::blurred(&out.hidden, &lit, &out.rise, 5.0 * blur_mm);
        out.on_sheets = beside.iter().all(|s| !s.is_empty());
        let inside =
            out.luma[HALF - 2 * PLACES / 3..HALF - PLACES / 3].iter().sum::<f64>() / (PLACES / 3) as f64;
        let floor = out.floor(&sheets);
        // At a shadow's edge the light may be that of either side: the one that fits is taken.
        let mut best = f64::INFINITY;
        for (i, levels) in backdrop.levels(s.at).iter().enumerate() {
            let (white, black) =
                (linear_from_srgb(f64::from(levels.white[0])), linear_from_srgb(f64::from(levels.black[0])));
            let (mut expected, mut chroma) = (out.expected, out.expected_chroma);
            let (mut spread2, mut contrast2) = (out.spread2, out.contrast2);
            for k in 0..=2 * HALF {
                // Where several sheets overlap, the one that fits best here lies on top.
                let fits = |w: f64| (black + w * (white - black) - out.luma[k]).abs();
                let whites = &sheets[k];
                let w = whites.iter().copied().min_by(|a, b| fits(*a).total_cmp(&fits(*b))).unwrap_or(1.0);
                expected[k] = black + w * (white - black);
                chroma[k] = [1, 2].map(|c| {
                    let (white, black) = (f64::from(levels.white[c]), f64::from(levels.black[c]));
                    black + w * (white - black)
                });
                let edge = EDGE_PART * (white - black) * 4.0 * w * (1.0 - w);
                let grain2 = (backdrop.grain(w) / GRAIN).powi(2) / out.own[k];
                spread2[k] = (!whites.is_empty()).then_some(grain2 + edge * edge);
                if let (true, Some((mean, variance))) = (whites.is_empty(), floor) {
                    (expected[k], spread2[k]) = (mean, Some(variance + 1.0 / out.own[k]));
                }
                contrast2[k] = (inside - expected[k]).powi(2);
            }
            let cost: f64 = (HALF + CLEAR_OF_STEP..=2 * HALF)
                .map(|k| {
                    let seen = expected[k] * (1.0 - out.hidden[k - HALF]);
                    let far2 = CONTRAST_FAR * CONTRAST_FAR * contrast2[k];
                    spread2[k].map_or(0.0, |v| ((seen - out.luma[k]).powi(2) / (v + far2)).min(LIGHT_MOST))
                })
                .sum::<f64>()
                * (FINE_MM / (2.0 * out.soft_mm));
            if cost < best - if i == 0 { 0.0 } else { OWN_LIGHT_GAIN } {
                best = cost;
                out.expected = expected;
                out.expected_chroma = chroma;
                (out.spread2, out.contrast2) = (spread2, contrast2);
            }
        }
        Some(out)
    }

    /// Cost of a step at each place: least squares over the cloth's level, the sheet's light and its contact shadow.
    ///
    /// Outside the step the sheet is known, and every departure counts in full; just inside it the cloth is a level, and
    /// what departs from it counts up to a limit; farther in anything may be (stitches, hems).
    ///
    /// All places at once, the outermost first: sample `k` then lies `k + j` samples from the farthest step for place `j`, and
    /// what depends on that lies side by side.
    pub(super) fn steps(&self) -> Steps {
        let near = self.first_from(-(self.wall_mm + self.soft_mm).max(NEAR_MM));
        let judged = (self.wall_mm + 0.5 * self.soft_mm).max(BLURRED * self.soft_mm);
        let judged = self.first_from(-judged).max(near);
        let outside = self.first_from(BLURRED * self.soft_mm);
        let (fits, weights, chroma) = self.fits(near);
        let each = self.each();
        let mut costs: ByPlace = [0.0; COUNT];
        for k in 0..=2 * HALF {
            let (expected, luma) = (self.expected[k], self.luma[k]);
            let [to_judged, to_outside] = [judged, outside].map(|f| f.saturating_sub(k).min(costs.len()));
            for cost in &mut costs[..to_judged] {
                *cost += self.cloth[k];
            }
            let squared = |j: usize| {
                let f = k + j;
                let seen = self.lit[f] * fits[0][j]
                    + expected * (self.rise[f] * fits[1][j] - self.shaded[f] * fits[2][j]);
                weights[k][j] * (seen - luma).powi(2)
            };
            for j in to_judged..to_outside {
                costs[j] += squared(j).min(NEAR_MOST);
            }
            let from = to_judged.max(to_outside);
            if let Some(unknown) = self.unknown[k] {
                costs[from..].iter_mut().for_each(|cost| *cost += unknown);
            } else {
                let most = self.excused(k);
                for j in from..costs.len() {
                    costs[j] += squared(j).min(most).max(self.sheet_least);
                }
            }
        }
        let lean = each
            * self.lean(outside, |k, f, j| {
                let seen = self.lit[f] * fits[0][j]
                    + self.expected[k] * (self.rise[f] * fits[1][j] - self.shaded[f] * fits[2][j]);
                weights[k][j] * (seen - self.luma[k]).powi(2)
            });
        let costs = (0..costs.len()).rev().map(|j| {
            let light =
                ((fits[1][j] - 1.0) / LIGHT_SIGMA).powi(2) + ((fits[2][j] - 1.0) / SHADE_SIGMA).powi(2);
            #[expect(clippy::cast_possible_truncation, reason = "single precision is enough")]
            let cost = (0.5 * (light + each * (costs[j] + chroma.cost(j, self.on_sheets)))) as f32;
            cost
        });
        Steps { costs: costs.collect(), lean, doubt_mm: if self.beside_gap() { GAP_MM } else { 0.0 } }
    }

    /// By how much a sample costs more inside than one outside, where each is what it is taken for, half squared standard deviations: by so
    /// much every step is cheaper a sample farther in, wherever the edge is. `outside` is how many samples from the farthest place of the
    /// step what lies outside begins, and `squared` tells what sample `k`, `f` samples from it, costs there.
    fn lean(&self, outside: usize, squared: impl Fn(usize, usize, usize) -> f64) -> f64 {
        let middle = |mut costs: Vec<f64>| {
            costs.sort_by(f64::total_cmp);
            costs.get(costs.len() / 2).copied()
        };
        // A stitch or a stain is not what the cloth costs.
        let inside = middle(self.cloth[..HALF - PLACES].to_vec());
        // Seen from the station itself.
        let beyond = (outside.saturating_sub(PLACES)..=2 * HALF).filter(|&k| self.unknown[k].is_none());
        let out = middle(beyond.map(|k| squared(k, k + PLACES, PLACES).max(self.sheet_least)).collect());
        inside.zip(out).map_or(0.0, |(inside, out)| 0.5 * (inside - out).clamp(-LEAN_MOST, LEAN_MOST))
    }

    /// The cloth's level, the sheet's light and the depth of its shade that fit best for every place, over the samples from `near`
    /// on; with the weights of the samples and the same of their chroma.
    fn fits(&self, near: usize) -> ([ByPlace; 3], [ByPlace; 2 * HALF + 1], ChromaSteps<COUNT>) {
        let still = self.rise.map(|r| 1.0 - r);
        let doubted: BySample = std::array::from_fn(|f| self.rise[f] * self.ringing2[f] + self.blur_off2[f]);
        let mut weights = [[0.0; COUNT]; 2 * HALF + 1];
        let mut chroma = ChromaSteps::new();
        let mixed = self.beside_gap();
        // The normal equations: three times three, of which six differ, and the right side.
        let mut sums = [[0.0; COUNT]; 9];
        for k in 0..=2 * HALF {
            let from = near.saturating_sub(k).min(COUNT);
            let (expected, luma, own) = (self.expected[k], self.luma[k], 1.0 / self.own[k]);
            let here = k + from..k + COUNT;
            let (rise, still) = (&self.rise[here.clone()], &still[here.clone()]);
            let (lit, shaded) = (&self.lit[here.clone()], &self.shaded[here.clone()]);
            let weights = &mut weights[k][from..];
            if let Some(sheet) = self.spread2[k] {
                let doubted = &doubted[here.clone()];
                for j in 0..weights.len() {
                    weights[j] = 1.0 / (rise[j] * sheet + still[j] * own + doubted[j] * self.contrast2[k]);
                }
            } else {
                for j in 0..weights.len() {
                    weights[j] = still[j] / own;
                }
            }
            let [a, b, c, d, e, f, p, q, r] = &mut sums;
            for j in 0..weights.len() {
                let (w, to) = (weights[j], from + j);
                let row = [lit[j], rise[j] * expected, -shaded[j] * expected];
                let weighted = row.map(|v| w * v);
                a[to] += weighted[0] * row[0];
                b[to] += weighted[0] * row[1];
                c[to] += weighted[0] * row[2];
                d[to] += weighted[1] * row[1];
                e[to] += weighted[1] * row[2];
                f[to] += weighted[2] * row[2];
                p[to] += weighted[0] * luma;
                q[to] += weighted[1] * luma;
                r[to] += weighted[2] * luma;
            }
            let (rise, seen, expected) = (&self.chroma_rise[here], self.chroma[k], self.expected_chroma[k]);
            if mixed && self.unknown[k].is_some() {
                chroma.add_off_sheets(from, rise, seen, expected);
            } else {
                chroma.add(from, rise, seen, expected);
            }
        }
        let each = self.each();
        let (light, dark) = (1.0 / (LIGHT_SIGMA * LIGHT_SIGMA), 1.0 / (SHADE_SIGMA * SHADE_SIGMA));
        let mut fits = [0.0, 1.0, 1.0].map(|usual| [usual; COUNT]);
        for j in 0..COUNT {
            let [a, b, c, d, e, f, p, q, r] = sums.each_ref().map(|s| each * s[j]);
            let normal = Matrix3::new(a, b, c, b, d + light, e, c, e, f + dark);
            if let Some(factor) = normal.cholesky() {
                let fit = factor.solve(&Vector3::new(p, q + light, r + dark));
                (fits[0][j], fits[1][j], fits[2][j]) = (fit[0], fit[1], fit[2]);
            }
        }
        (fits, weights, chroma)
    }

    /// Whether the edge runs along a gap between two sheets or over a sheet's own edge: floor shows beside it and paper beyond or
    /// the other way round.
    fn beside_gap(&self) -> bool {
        let outer = &self.unknown[HALF..];
        outer.iter().any(Option::is_some) && outer.iter().any(Option::is_none)
    }

    /// Weight of a sample: they stand closer than pixels and are not independent.
    fn each(&self) -> f64 {
        FINE_MM / (self.soft_mm * 2.0)
    }

    /// How many samples from the step's farthest place the first lies that is this far out from it, millimetres.
    #[expect(clippy::cast_precision_loss, reason = "a few samples")]
    fn first_from(&self, out_mm: f64) -> usize {
        let x = |f: usize| (f as f64 - (HALF + PLACES) as f64) * FINE_MM;
        (0..self.rise.len()).find(|&f| x(f) >= out_mm).unwrap_or(self.rise.len())
    }

    /// Mean and variance of the linear luma beyond the step where no known sheet lies; `None` where that is too little.
    #[expect(clippy::cast_precision_loss, reason = "a few samples")]
    fn floor(&self, sheets: &[Vec<f64>]) -> Option<(f64, f64)> {
        let seen: Vec<f64> = (HALF + CLEAR_OF_STEP..=2 * HALF)
            .filter(|&k| sheets[k].is_empty())
            .map(|k| self.luma[k])
            .collect();
        let count = seen.len() as f64;
        let mean = seen.iter().sum::<f64>() / count;
        let variance = seen.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / count;
        (seen.len() >= FLOOR_LEAST).then_some((mean, variance))
    }

    /// Most that a sample outside may cost: what is darker than the sheet should be, but not as dark as nothing, may be the sheet
    /// in a shadow.
    fn excused(&self, k: usize) -> f64 {
        let part = self.luma[k] / self.expected[k];
        if (SHADOW_DEEPEST..1.0).contains(&part) { SHADOW_COST } else { f64::INFINITY }
    }
}

/// What a blur of another width leaves wrong so many standard deviations from a step, square of a part of its contrast: the
/// step's derivative by its width.
fn blur_off2(blurs: f64) -> f64 {
    let density = (-0.5 * blurs * blurs).exp() / std::f64::consts::TAU.sqrt();
    (BLUR_SIGMA * blurs * density).powi(2)
}

/// What lens and sharpening may leave wrong so many standard deviations of the blur from a step, square of a part of its
/// contrast.
fn ringing2(blurs: f64) -> f64 {
    CONTRAST_NEAR.powi(2) * (-(blurs / CONTRAST_REACH).powi(2)).exp() + CONTRAST_FAR.powi(2)
}
