//! The garment's own shade on the sheet beside it.
//!
//! A garment is a wall of its thickness, and the light on the sheet at its foot has two parts. Of the even
//! light from all sides the wall hides ½ (1 - X / √(X² + t²)) at the distance X (the form factor of a long wall seen
//! from the ground at its foot: H. C. Hottel and A. F. Sarofim, "Radiative Transfer", 1967, the crossed strings of
//! section 2-5). The main light it hides up to t · (c · n), where n is the wall's outward normal and c the way that
//! the top of a post of unit height is thrown; a lamp or window of some width makes the border soft in proportion to t.
//! Light is the same all over the table, so one c, one softness and one share of even light hold for the whole
//! outline; they are learned from the photograph where white paper lies beside the garment.

use super::Scene;
use super::backdrop::Backdrop;
use super::path::Station;
use crate::geometry::Vec2;
use crate::photo::linear_from_srgb;
use rayon::prelude::*;

/// Thinner garments are taken to be this thick: they never lie quite flat, millimetres.
const THICKNESS_LEAST_MM: f64 = 0.02;
/// Places beside the garment at which its shade is read, millimetres from the silhouette.
const READ_MM: std::ops::Range<f64> = 0.6..9.0;
/// Distance between them, millimetres.
const READ_STEP_MM: f64 = 0.6;
/// White paper is white through a blur of this much, millimetres.
const READ_BLUR_MM: f64 = 0.4;
/// Where no shade falls any more, millimetres; there the light is taken as full.
const FULL_FROM_MM: f64 = 7.0;
/// Whiter than this the sheet is white.
const WHITE_LEAST: f32 = 0.98;
/// Fewest readings to learn from.
const READINGS_LEAST: usize = 24;
/// More are not needed.
const READINGS_MOST: usize = 160;
/// Turns of learning the light and placing the edge.
const TURNS: usize = 3;
/// What a low light and an unusual softness cost, in mean squares of the fit: the readings of thin cloth hardly
/// tell of either, and then the usual is to stand.
const UNLIKELY: f64 = 2e-5;
/// Every so manieth reading is asked where about the best lies.
const COARSE_EVERY: usize = 3;
/// Usual softness.
const SOFT_USUAL: f64 = 0.4;
/// Places of a reading.
const PLACES_MOST: usize = 16;
/// The share of even light is between these: rooms and skies send some, and lamps some.
const EVEN: (f64, f64) = (0.3, 0.9);
/// A reading that differs by more than this counts no further.
const STRAY: f64 = 0.15;

/// How light is hidden beside the garment.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Shade {
    /// Height of the wall, millimetres.
    thickness_mm: f64,
    /// Part of the light that comes from all sides.
    even: f64,
    /// The way the top of a post of height 1 is thrown.
    thrown: Vec2,
    /// Half width of the shadow's border for a post of height 1.
    soft: f64,
}

/// One place beside the garment: the gain seen there.
struct Reading {
    normal: Vec2,
    /// Distance from the wall, millimetres.
    from_wall_mm: Vec<f64>,
    /// Light, as a part of the full.
    gain: Vec<f64>,
}

impl Shade {
    /// A shade in which nothing but the wall's nearness counts.
    pub(super) fn plain(thickness_mm: f64) -> Self {
        Self { thickness_mm: thickness_mm.max(THICKNESS_LEAST_MM), even: 0.4, thrown: Vec2::ZERO, soft: 0.5 }
    }

    /// Light at this distance from a wall that faces this way, as a part of the full.
    pub(super) fn gain(&self, from_wall_mm: f64, normal: Vec2) -> f64 {
        let x = from_wall_mm.max(0.0) / self.thickness_mm;
        self.even * even(x) + (1.0 - self.even) * self.direct(x, normal)
    }

    /// Light on a surface that leans outward from facing up by `lean` radians, as a part of what a level one gets;
    /// `ground` is the part of the light that the sheet below sends back.
    pub(super) fn on_surface(&self, lean: f64, normal: Vec2, ground: f64) -> f64 {
        let (sin, cos) = lean.sin_cos();
        let sky = 0.5 * (1.0 + cos) + 0.5 * (1.0 - cos) * ground;
        self.even * sky + (1.0 - self.even) * (cos - self.thrown.dot(normal) * sin).max(0.0)
    }

    /// Part of the main light at `x` thicknesses from the wall.
    fn direct(&self, x: f64, normal: Vec2) -> f64 {
        1.0 / (1.0 + (-1.702 * (x - self.thrown.dot(normal)) / self.soft).exp())
    }

    /// Learns the light from white paper beside the garment, and with it where the garment's edge lies there: each
    /// tells of the other, so they take turns. `silhouette_mm` tells how far the silhouette stands off the wall,
    /// `step_mm` how far from a station the step lies under a given shade.
    pub(super) fn learn(
        scene: &Scene<'_>,
        backdrop: &Backdrop,
        stations: &[Station],
        thickness_mm: f64,
        silhouette_mm: impl Fn(&Station) -> f64 + Sync,
        step_mm: impl Fn(&Self, &Station) -> Option<f64> + Sync,
    ) -> Self {
        let mut shade = Self::plain(thickness_mm);
        let mut white: Vec<Station> = stations
            .par_iter()
            .filter(|s| read(scene, backdrop, s, silhouette_mm(s)).is_some())
            .copied()
            .collect();
        if white.len() < READINGS_LEAST {
            return shade;
        }
        let nth = white.len().div_ceil(READINGS_MOST);
        white = white.into_iter().step_by(nth).collect();
        for _ in 0..TURNS {
            let readings: Vec<Reading> = white
                .par_iter()
                .filter_map(|s| {
                    let moved = Station { at: s.at + s.normal * step_mm(&shade, s)?, ..*s };
                    read(scene, backdrop, &moved, silhouette_mm(s))
                })
                .collect();
            if readings.len() < READINGS_LEAST {
                break;
            }
            shade = shade.fitted(&readings);
        }
        shade
    }

    /// The best of a coarse grid of directions, heights and sizes of the light, made finer step by step.
    fn fitted(self, readings: &[Reading]) -> Self {
        let readings: Vec<Beside> = readings.iter().map(|r| Beside::of(r, self.thickness_mm)).collect();
        // A few tell where about the best lies.
        let few: Vec<Beside> = readings.iter().step_by(COARSE_EVERY).cloned().collect();
        // The first of the best: what is tried at once comes in the order given.
        let best_of = |best: (f64, Self), tried: Vec<(Vec2, f64)>, readings: &[Beside]| {
            let fits: Vec<(f64, Self)> = tried
                .into_par_iter()
                .map(|(thrown, soft)| {
                    let (even, fit) = Self { thrown, soft, ..self }.with_best_even(readings);
                    let unlikely = UNLIKELY * (thrown.hypot2() + (soft / SOFT_USUAL).ln().powi(2));
                    (fit + unlikely, Self { even, thrown, soft, ..self })
                })
                .collect();
            fits.into_iter().fold(best, |best, tried| if tried.0 < best.0 { tried } else { best })
        };
        let lengths = [0.4, 0.8, 1.4, 2.2];
        let ways = (0..12).map(|turn| Vec2::from_angle(f64::from(turn) * std::f64::consts::TAU / 12.0));
        let coarse: Vec<Vec2> = std::iter::once(Vec2::ZERO)
            .chain(lengths.into_iter().flat_map(|length| ways.clone().map(move |way| way * length)))
            .collect();
        let all =
            [0.3, 0.6, 1.2].into_iter().flat_map(|soft| coarse.iter().map(move |&thrown| (thrown, soft)));
        let (_, about) = best_of((f64::INFINITY, self), all.collect(), &few);
        let mut best = best_of((f64::INFINITY, self), vec![(about.thrown, about.soft)], &readings);
        for step in [0.3, 0.15, 0.08] {
            for _ in 0..6 {
                let (before, from) = best;
                let moved = [(step, 0.0), (-step, 0.0), (0.0, step), (0.0, -step)]
                    .map(|(dx, dy)| (from.thrown + Vec2::new(dx, dy), from.soft));
                let wider = [1.0 + step, 1.0 / (1.0 + step)]
                    .map(|factor| (from.thrown, (from.soft * factor).clamp(0.1, 3.0)));
                best = best_of(best, moved.into_iter().chain(wider).collect(), &readings);
                if best.0 >= before {
                    break;
                }
            }
        }
        best.1
    }

    /// The share of even light that fits best, and the cost left: mean of squares, bounded.
    fn with_best_even(&self, readings: &[Beside]) -> (f64, f64) {
        // What is seen is (D + a (E - D)) / (D' + a (E' - D')), D the main light, E the even light, ' where both
        // are full: a linear question for the share a.
        let full_at = 0.5 * (FULL_FROM_MM + READ_MM.end) / self.thickness_mm;
        let full_even = even(full_at);
        let mut rows: Vec<(f64, f64)> = Vec::with_capacity(readings.len() * PLACES_MOST);
        let (mut cross, mut square) = (0.0, 1e-9);
        for r in readings {
            let full_direct = self.direct(full_at, r.normal);
            for &(x, g, even) in &r.places {
                let direct = self.direct(x, r.normal);
                let row = (direct - g * full_direct, (even - direct) - g * (full_even - full_direct));
                let bounded = 1.0 / (1.0 + (row.0 / STRAY).powi(4));
                cross += bounded * row.0 * row.1;
                square += bounded * row.1 * row.1;
                rows.push(row);
            }
        }
        let share = (-cross / square).clamp(EVEN.0, EVEN.1);
        let sum: f64 = rows.iter().map(|(a, b)| (a + share * b).powi(2).min(STRAY * STRAY)).sum();
        (share, sum / rows.len().max(1) as f64)
    }
}

/// A reading as the fit asks it.
#[derive(Clone)]
struct Beside {
    normal: Vec2,
    /// Distance from the wall in its heights, the gain seen there, and the part of even light left there.
    places: Vec<(f64, f64, f64)>,
}

impl Beside {
    fn of(reading: &Reading, thickness_mm: f64) -> Self {
        let heights = reading.from_wall_mm.iter().map(|x| x.max(0.0) / thickness_mm);
        let places = heights.zip(&reading.gain).map(|(x, g)| (x, *g, even(x))).collect();
        Self { normal: reading.normal, places }
    }
}

/// Part of the even light that a long wall leaves at `x` of its heights.
fn even(x: f64) -> f64 {
    0.5 * (1.0 + x / (x * x + 1.0).sqrt())
}

/// What the paper beside a station shows, if it is white.
#[expect(clippy::cast_precision_loss, reason = "a few places")]
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few places")]
fn read(scene: &Scene<'_>, backdrop: &Backdrop, s: &Station, silhouette_mm: f64) -> Option<Reading> {
    let count = ((READ_MM.end - READ_MM.start) / READ_STEP_MM) as usize;
    let (mut from_wall_mm, mut light) = (Vec::with_capacity(count), Vec::with_capacity(count));
    let (mut full, mut fulls) = (0.0, 0.0);
    for k in (0..count).rev() {
        let x = READ_MM.start + READ_STEP_MM * k as f64;
        let at = s.at + s.normal * x;
        let mut whites = backdrop.white(at, READ_BLUR_MM);
        let white = whites.next().is_some_and(|w| w.0 > WHITE_LEAST && w.1) && whites.next().is_none();
        if !white {
            return None;
        }
        let p = scene.camera.pixel_from_table(at, 0.0)?;
        let luma = linear_from_srgb(scene.photo.colour(p.x, p.y)?[0]);
        if x >= FULL_FROM_MM {
            full += luma;
            fulls += 1.0;
        }
        from_wall_mm.push(x + silhouette_mm);
        light.push(luma);
    }
    let full = full / fulls;
    Some(Reading { normal: s.normal, from_wall_mm, gain: light.into_iter().map(|l| l / full).collect() })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_light_is_learned_from_what_it_leaves() {
        let truth = Shade { thickness_mm: 2.0, even: 0.3, thrown: Vec2::new(-0.7, 0.9), soft: 0.5 };
        let readings: Vec<Reading> = (0..60)
            .map(|k| {
                let normal = Vec2::from_angle(f64::from(k) * 0.1047);
                let from_wall_mm: Vec<f64> = (0..21).map(|j| 0.6 + 0.4 * f64::from(j)).collect();
                let full = truth.gain(8.0, normal);
                let gain = from_wall_mm.iter().map(|x| truth.gain(*x, normal) / full).collect();
                Reading { normal, from_wall_mm, gain }
            })
            .collect();
        let found = Shade::plain(2.0).fitted(&readings);
        for k in 0..12 {
            let normal = Vec2::from_angle(f64::from(k) * 0.52);
            for x in [0.3, 0.8, 1.5, 3.0] {
                let (a, b) = (found.gain(x, normal), truth.gain(x, normal));
                assert!((a - b).abs() < 0.05, "{a} {b}");
            }
        }
    }
}
