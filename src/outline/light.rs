//! What the visible corners tell: the light on the sheets, and the grain of the ink.

use super::backdrop::Levels;
use super::colour::Colour;
use super::step::GRAIN;
use super::{PlacedSheet, Scene, VisibleCorner};
use crate::geometry::{Point, Rect, Vec2};
use crate::sheet::layout;
use rayon::prelude::*;

/// The light at one visible corner.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sample {
    pub at: Point,
    pub levels: Levels,
}

/// Distance from a corner at which its squares' colours are read, along the diagonal, millimetres per axis:
/// past the blur of the edges, before what may cover the neighbouring corner.
const READ_AT: f64 = 3.0;
/// Least grey difference of paper and ink for a corner to tell the light.
const CONTRAST_LEAST: f32 = 15.0;

/// What one corner shows; `None` where its squares are not seen, or hardly differ.
pub(super) fn sample(scene: &Scene<'_>, corner: &VisibleCorner) -> Option<Sample> {
    let PlacedSheet { place, relief, .. } = scene.sheets.iter().find(|s| s.number == corner.sheet)?;
    let (column, row) = corner.node;
    let node = Point::new(f64::from(column) * layout::SQUARE_MM, f64::from(row) * layout::SQUARE_MM);
    let on_board = |d: Vec2| scene.scale.true_from_nominal(node + d);
    let read = |d: Vec2| -> Option<Colour> {
        let at = on_board(d);
        let p = scene.camera.pixel_from_table(place.table_from_board(at), relief.height_at(at))?;
        let c = scene.photo.colour(p.x, p.y)?;
        #[expect(clippy::cast_possible_truncation, reason = "single precision is enough")]
        let c = c.map(|v| v as f32);
        Some(c)
    };
    let sign = black_side(corner.node);
    let darks = [read(Vec2::new(sign * READ_AT, READ_AT))?, read(Vec2::new(-sign * READ_AT, -READ_AT))?];
    // White without a tag stands in the odd rows: the row below this node is `row`, the one above row - 1.
    let down = if row % 2 == 1 { 1.0 } else { -1.0 };
    let white = read(Vec2::new(-sign * down * READ_AT, down * READ_AT))?;
    let black = if darks[0][0] < darks[1][0] { darks[0] } else { darks[1] };
    (white[0] - black[0] > CONTRAST_LEAST)
        .then(|| Sample { at: place.table_from_board(on_board(Vec2::ZERO)), levels: Levels { white, black } })
}

/// Side of the part of a black square whose grain is read, from `READ_AT` on, millimetres.
const GRAIN_PART: f64 = 5.0;
/// Places read along each side of it.
const GRAIN_PLACES: u32 = 5;

/// Grain of the ink about the visible corners, grey levels: the middle one of their standard deviations, for cloth may
/// cover some.
pub(super) fn ink_grain(scene: &Scene<'_>) -> f64 {
    let of_square = |placed: &PlacedSheet, node: Point, side: Vec2| -> Option<f64> {
        let PlacedSheet { place, relief, .. } = placed;
        let (mut sum, mut square, mut count) = (0.0, 0.0, 0.0);
        for k in 0..GRAIN_PLACES * GRAIN_PLACES {
            let off = |k: u32| READ_AT + GRAIN_PART * f64::from(k) / f64::from(GRAIN_PLACES - 1);
            let d = Vec2::new(side.x * off(k % GRAIN_PLACES), side.y * off(k / GRAIN_PLACES));
            let at = scene.scale.true_from_nominal(node + d);
            let p = scene.camera.pixel_from_table(place.table_from_board(at), relief.height_at(at))?;
            let y = scene.photo.colour(p.x, p.y)?[0];
            (sum, square, count) = (sum + y, square + y * y, count + 1.0);
        }
        Some(((square - sum * sum / count) / (count - 1.0)).max(0.0).sqrt())
    };
    let mut grains: Vec<f64> = scene
        .corners
        .par_iter()
        .filter_map(|c| Some((c, scene.sheets.iter().find(|s| s.number == c.sheet)?)))
        .flat_map_iter(|(corner, placed)| {
            let (column, row) = corner.node;
            let node = Point::new(f64::from(column), f64::from(row)).to_vec2() * layout::SQUARE_MM;
            let sign = black_side(corner.node);
            [Vec2::new(sign, 1.0), Vec2::new(-sign, -1.0)].map(|s| of_square(placed, node.to_point(), s))
        })
        .flatten()
        .collect();
    grains.sort_by(f64::total_cmp);
    grains.get(grains.len() / 2).copied().unwrap_or(GRAIN).max(GRAIN)
}

/// Which way across the black square below a node lies. Black squares lie down-right and up-left of nodes with an even sum,
/// else the other two.
fn black_side((column, row): (i32, i32)) -> f64 {
    if (column + row) % 2 == 0 { 1.0 } else { -1.0 }
}

/// How much lighter than usual the ink may look against its paper before cloth is suspected on it.
const INK_RATIO_OFF: f32 = 0.08;
/// How far the ink's chroma may be from what is usual beside its paper's, grey levels.
const INK_CHROMA_OFF: f32 = 9.0;

/// Samples without those that read cloth for ink or paper: ink on paper keeps its ratio in any light, and its chroma
/// beside the paper's in light of one colour, be it the lamp's or the camera's doing.
pub(super) fn honest(samples: Vec<Sample>) -> Vec<Sample> {
    if samples.is_empty() {
        return samples;
    }
    let ratio = |s: &Sample| s.levels.black[0] / s.levels.white[0];
    let chroma = |s: &Sample, k: usize| s.levels.black[k] - s.levels.white[k];
    let usual = |of: &dyn Fn(&Sample) -> f32| {
        let mut all: Vec<f32> = samples.iter().map(of).collect();
        all.sort_by(f32::total_cmp);
        all[all.len() / 2]
    };
    let usual_ratio = usual(&ratio);
    let usual_chroma = [1, 2].map(|k| usual(&|s| chroma(s, k)));
    let kept: Vec<bool> = samples
        .iter()
        .map(|s| {
            (ratio(s) - usual_ratio).abs() < INK_RATIO_OFF
                && (0..2).all(|k| (chroma(s, k + 1) - usual_chroma[k]).abs() < INK_CHROMA_OFF)
        })
        .collect();
    samples.into_iter().zip(kept).filter_map(|(s, kept)| kept.then_some(s)).collect()
}

/// Samples sorted into square bins, to find those near a place.
struct Bins {
    origin: Point,
    across: usize,
    bins: Vec<Vec<usize>>,
}

/// Side of a bin, millimetres: three squares.
const BIN_MM: f64 = 60.0;

impl Bins {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few hundred bins")]
    fn new(samples: &[Sample]) -> Self {
        let first = samples.first().map_or(Point::ZERO, |s| s.at);
        let bounds = samples.iter().fold(Rect::from_points(first, first), |b, s| b.union_pt(s.at));
        let count = |length: f64| (length / BIN_MM) as usize + 1;
        let (across, down) = (count(bounds.width()), count(bounds.height()));
        let mut bins = vec![Vec::new(); across * down];
        for (i, s) in samples.iter().enumerate() {
            let d = (s.at - bounds.origin()) / BIN_MM;
            bins[d.y as usize * across + d.x as usize].push(i);
        }
        Self { origin: bounds.origin(), across, bins }
    }

    /// The nearest samples, the nearest first, with their squared distances.
    #[expect(clippy::cast_precision_loss, reason = "a few hundred bins")]
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "held to the bins")]
    fn nearest(&self, samples: &[Sample], at: Point) -> Vec<(f64, usize)> {
        let down = self.bins.len() / self.across;
        let d = (at - self.origin) / BIN_MM;
        let mut near: Vec<(f64, usize)> = Vec::new();
        // Whatever lies within so many sides of a bin lies in so many bins about it.
        for reach in 1..=self.across + down {
            let range = |v: f64, most: usize| {
                let from = (v.floor() - reach as f64).clamp(0.0, most as f64) as usize;
                from..(v.floor() + reach as f64 + 1.0).clamp(0.0, most as f64) as usize
            };
            let within = (reach as f64 * BIN_MM).powi(2);
            near.clear();
            for y in range(d.y, down) {
                for x in range(d.x, self.across) {
                    let here = self.bins[y * self.across + x].iter();
                    near.extend(here.map(|&i| (samples[i].at.distance_squared(at), i)));
                }
            }
            let all = near.len() == samples.len();
            if all || near.iter().filter(|n| n.0 <= within).count() >= NEIGHBOURS {
                break;
            }
        }
        let nearer = |a: &(f64, usize), b: &(f64, usize)| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1));
        if near.len() > NEIGHBOURS {
            near.select_nth_unstable_by(NEIGHBOURS - 1, nearer);
            near.truncate(NEIGHBOURS);
        }
        near.sort_by(nearer);
        near
    }
}

/// The light on the table, looked up on a coarse grid.
#[derive(Debug, Default)]
pub(super) struct Light {
    bounds: Rect,
    across: usize,
    cells: Vec<Vec<Levels>>,
}

/// Cell of the light grid, millimetres: half a square.
const LIGHT_CELL: f64 = 10.0;
/// How far round the corners the light is known, millimetres.
const LIGHT_MARGIN: f64 = 150.0;
/// Corners that an interpolated light is made of.
const NEIGHBOURS: usize = 8;
/// Nearest corners whose own light is tried too: at a shadow's edge either may hold.
const OWN: usize = 3;

impl Light {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few hundred cells")]
    #[expect(clippy::cast_precision_loss, reason = "a few hundred cells")]
    pub(super) fn new(samples: Vec<Sample>) -> Self {
        let Some(first) = samples.first() else { return Self::default() };
        let bounds = samples
            .iter()
            .fold(Rect::from_points(first.at, first.at), |b, s| b.union_pt(s.at))
            .inflate(LIGHT_MARGIN, LIGHT_MARGIN);
        let across = (bounds.width() / LIGHT_CELL).ceil() as usize + 1;
        let down = (bounds.height() / LIGHT_CELL).ceil() as usize + 1;
        let bins = Bins::new(&samples);
        let cells = (0..across * down)
            .into_par_iter()
            .map(|k| {
                let at = bounds.origin()
                    + Vec2::new((k % across) as f64 * LIGHT_CELL, (k / across) as f64 * LIGHT_CELL);
                let near = bins.nearest(&samples, at);
                let mut sum = Levels { white: [0.0; 3], black: [0.0; 3] };
                let mut total = 0.0;
                for &(d2, i) in &near {
                    let w = (1.0 / (d2 + 100.0)) as f32;
                    total += w;
                    for c in 0..3 {
                        sum.white[c] += w * samples[i].levels.white[c];
                        sum.black[c] += w * samples[i].levels.black[c];
                    }
                }
                let mut levels =
                    vec![Levels { white: sum.white.map(|v| v / total), black: sum.black.map(|v| v / total) }];
                levels.extend(near.iter().take(OWN).map(|&(_, i)| samples[i].levels));
                levels
            })
            .collect();
        Self { bounds, across, cells }
    }

    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the grid")]
    #[expect(clippy::cast_precision_loss, reason = "a few hundred cells")]
    /// The light at a place: interpolated first, then as at the nearest corners.
    pub(super) fn at(&self, p: Point) -> &[Levels] {
        if self.cells.is_empty() {
            return &[];
        }
        let index = |v: f64, n: usize| (v / LIGHT_CELL + 0.5).clamp(0.0, (n - 1) as f64) as usize;
        let i = index(p.x - self.bounds.x0, self.across);
        let j = index(p.y - self.bounds.y0, self.cells.len() / self.across);
        &self.cells[j * self.across + i]
    }
}
