//! The sheets as the camera should see them.

use super::colour::{self, Colour, Tint, distance2, mix};
use super::region::CellMask;
use super::step::GRAIN;
use super::{PlacedSheet, Scene};
use crate::camera::{Camera, Relief};
use crate::geometry::{Affine, Point, Rect, Vec2};
use crate::sheet::Scale;
use crate::sheet::layout::{self, Ink};
use rayon::prelude::*;

/// Colours of unprinted and of fully inked paper at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Levels {
    /// Paper.
    pub white: Colour,
    /// Ink.
    pub black: Colour,
}

impl Levels {
    /// Colour of paper that is white for this part of an area.
    pub(super) fn at(&self, white: f32) -> Colour {
        mix(self.black, self.white, white)
    }
}

/// Spread of paper and ink in light that is only known nearby, grey levels.
const INK_SPREAD: f32 = 12.0;
/// What it costs a colour to be a mixture of paper and ink, as a code's cells are.
const MIXED_COST: f32 = 2.0;

/// What it costs a colour beyond that to be of a sheet that was not recognised.
const UNPLACED_COST: f32 = 0.5;

/// Cost of a colour as paper, ink or what a blur makes of both, wherever the print's lines may run.
pub(super) fn inks(levels: &[Levels], colour: Colour) -> f32 {
    let cost = |level: &Levels| {
        let contrast: Colour = std::array::from_fn(|k| level.white[k] - level.black[k]);
        let along: f32 = (0..3).map(|k| (colour[k] - level.black[k]) * contrast[k]).sum();
        let white = (along / contrast.iter().map(|v| v * v).sum::<f32>().max(1.0)).clamp(0.0, 1.0);
        let tint = Tint { mean: level.at(white), spread: INK_SPREAD, share: 1.0 };
        colour::cost(&[tint], colour) + MIXED_COST * 4.0 * white * (1.0 - white)
    };
    levels.first().map_or(f32::INFINITY, cost)
}

/// What a cell lies on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Ground {
    /// The photograph does not show it.
    Unseen,
    /// A sheet's print.
    Print,
    /// A sheet's white margin.
    Margin,
    /// The floor, or a sheet that was not recognised.
    Floor,
}

/// Nominal millimetres from the board to the rim of the maps: farther than any page reaches.
const RIM: usize = 30;
/// Side of a map's cell, nominal millimetres: every border of the print lies on a lattice of this pitch.
const CELL: usize = 2;
const MAP_WIDTH: usize = (180 + 2 * RIM) / CELL;
const MAP_HEIGHT: usize = (240 + 2 * RIM) / CELL;
/// Blur of the print where nothing better is known, standard deviation in millimetres.
const BLUR_MM: f64 = 0.4;
/// Spread of sheet colours about their prediction, grey levels: noise, paper, and light between corners.
const SPREAD: f32 = 7.0;
/// Part of the contrast that a place on an ink edge may be off, for a place a third of a millimetre wrong.
const EDGE_SPREAD: f32 = 0.2;

/// A shadow leaves at least this part of a grey level: what is darker is rather cloth.
const SHADOW_DEEPEST: f32 = 0.55;
/// What it costs a place to lie in the lightest of shadows: more than to be of a fitting cloth.
const SHADED_COST: f32 = 0.6;
/// What it costs beyond that to lie in the dark: at half the light as much as to be of an unknown cloth.
const DEEPER_COST: f32 = 4.0;

/// One sheet's print as a map of its lattice.
struct Sheet {
    placed: PlacedSheet,
    nominal_from_table: Affine,
    /// The table area that its page may cover.
    bounds: Rect,
    /// 1 white, 0 ink.
    map: Vec<f32>,
}

/// All sheets, and the light on them.
pub(super) struct Backdrop {
    sheets: Vec<Sheet>,
    camera: Camera,
    light: Light,
    /// Grain of the ink, grey levels.
    ink_grain: f64,
    /// Table places of the visible corners.
    pub corners: Vec<Point>,
    /// Where a sheet that was not recognised lies on those that were.
    pub unplaced: Option<CellMask>,
}

impl Backdrop {
    pub(super) fn new(scene: &Scene<'_>) -> Self {
        let sheets = scene.sheets.par_iter().map(|s| Sheet::new(*s, scene.scale)).collect();
        let mut backdrop = Self {
            sheets,
            camera: *scene.camera,
            light: Light::default(),
            ink_grain: ink_grain(scene),
            corners: Vec::with_capacity(scene.corners.len()),
            unplaced: None,
        };
        let samples: Vec<Sample> = scene.corners.iter().filter_map(|c| sample(scene, c)).collect();
        backdrop.corners = samples.iter().map(|s| s.at).collect();
        backdrop.light = Light::new(honest(samples));
        backdrop
    }

    /// What lies at a table place if no cloth does. Where only one kind of page reaches it may be floor.
    pub(super) fn ground(&self, at: Point) -> Ground {
        let mut ground = Ground::Floor;
        for sheet in &self.sheets {
            let Some(p) = self.nominal(sheet, at) else { continue };
            if layout::PRINTED.contains(p) {
                return Ground::Print;
            }
            if page(layout::Paper::A4).contains(p) && page(layout::Paper::Letter).contains(p) {
                ground = Ground::Margin;
            }
        }
        ground
    }

    /// Least cost (negative log likelihood) of a colour under any sheet there and any light near there;
    /// infinite where no page reaches.
    pub(super) fn cost(&self, at: Point, colour: Colour) -> f32 {
        let mut cost = f32::INFINITY;
        for (white, _) in self.white(at, BLUR_MM) {
            let edge = 4.0 * white * (1.0 - white);
            for level in self.levels(at) {
                let contrast = level.white[0] - level.black[0];
                let spread2 = SPREAD * SPREAD + (EDGE_SPREAD * contrast * edge).powi(2);
                let d = distance2(level.at(white), colour) / (2.0 * spread2);
                cost = cost.min(d + 0.5 * (spread2 / (SPREAD * SPREAD)).ln());
            }
        }
        cost
    }

    /// Least cost of a colour as a sheet in a shadow: its print darkened, with its own chroma; infinite where no page
    /// reaches or the colour is lighter than the print.
    pub(super) fn shaded_cost(&self, at: Point, colour: Colour) -> f32 {
        let mut cost = f32::INFINITY;
        for (white, _) in self.white(at, BLUR_MM) {
            for level in self.levels(at) {
                let lit = level.at(white);
                let part = colour[0] / lit[0].max(1.0);
                if (SHADOW_DEEPEST..1.0).contains(&part) {
                    let chroma = |k: usize| 128.0 + (lit[k] - 128.0) * part;
                    let d = distance2([colour[0], chroma(1), chroma(2)], colour) / (2.0 * SPREAD * SPREAD);
                    cost = cost.min(d + SHADED_COST + DEEPER_COST * (1.0 - part));
                }
            }
        }
        cost
    }

    /// Cost of a colour as print of a sheet whose place is not known.
    pub(super) fn unplaced_cost(&self, at: Point, colour: Colour) -> f32 {
        // Against the usual spread of a sheet's colours, as the other costs of sheets are.
        inks(self.levels(at), colour) - colour::width_cost(INK_SPREAD) + UNPLACED_COST
    }

    /// How white each sheet looks at a table place through a blur of this standard deviation, 0 to 1; with it, true
    /// in the printed area, false on the margin.
    pub(super) fn white(&self, at: Point, blur_mm: f64) -> impl Iterator<Item = (f32, bool)> + '_ {
        self.sheets.iter().filter_map(move |s| s.white(self.nominal(s, at)?, blur_mm))
    }

    /// The place of a sheet that is seen at a place of the table's plane: a lifted one is seen farther from the
    /// camera's foot than it lies. `None` beyond the sheet's own part.
    fn nominal(&self, sheet: &Sheet, at: Point) -> Option<Point> {
        if !sheet.bounds.contains(at) || self.unplaced.as_ref().is_some_and(|u| u.contains(at)) {
            return None;
        }
        let PlacedSheet { place, relief, own, .. } = &sheet.placed;
        let mut on_table = at;
        if *relief != Relief::FLAT {
            let lean = self.camera.lean(at);
            for _ in 0..2 {
                on_table = at - lean * relief.height_at(place.board_from_table(on_table));
            }
        }
        let nominal = sheet.nominal_from_table * on_table;
        own.contains(nominal).then_some(nominal)
    }

    /// The light at a table place: interpolated first, then as at the nearest corners.
    pub(super) fn levels(&self, at: Point) -> &[Levels] {
        self.light.at(at)
    }

    /// Noise of a grey level with the print's grain where the sheet is white for this part, grey levels: ink is grainier
    /// than paper.
    pub(super) fn grain(&self, white: f64) -> f64 {
        (GRAIN * GRAIN * white + self.ink_grain * self.ink_grain * (1.0 - white)).sqrt()
    }

    /// The table area that the pages may cover.
    pub(super) fn bounds(&self) -> Rect {
        self.sheets.iter().map(|s| s.bounds).reduce(|a, b| a.union(b)).unwrap_or(Rect::ZERO)
    }
}

impl Sheet {
    #[expect(clippy::cast_precision_loss, reason = "a few hundred")]
    fn new(placed: PlacedSheet, scale: Scale) -> Self {
        let mut map = vec![1f32; MAP_WIDTH * MAP_HEIGHT];
        for (y, row) in map.chunks_exact_mut(MAP_WIDTH).enumerate() {
            for (x, v) in row.iter_mut().enumerate() {
                let middle = |k: usize| (k as f64 + 0.5) * CELL as f64 - RIM as f64;
                let at = Point::new(middle(x), middle(y));
                if layout::ink_at(at, placed.number) == Some(Ink::Black) {
                    *v = 0.0;
                }
            }
        }
        let table = |x: f64, y: f64| placed.place.table_from_board(scale.true_from_nominal(Point::new(x, y)));
        let corners =
            [(-20.0, -30.0), (200.0, -30.0), (200.0, 270.0), (-20.0, 270.0)].map(|(x, y)| table(x, y));
        let bounds = corners.iter().fold(Rect::from_points(corners[0], corners[1]), |b, p| b.union_pt(*p));
        let nominal_from_table = Affine::scale_non_uniform(1.0 / scale.across, 1.0 / scale.down)
            * Affine::rotate(-placed.place.turn)
            * Affine::translate(-placed.place.origin.to_vec2());
        Self { placed, nominal_from_table, bounds, map }
    }

    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked to lie in the map")]
    #[expect(clippy::cast_precision_loss, reason = "a small constant")]
    fn white(&self, nominal: Point, blur_mm: f64) -> Option<(f32, bool)> {
        if !page(layout::Paper::A4).contains(nominal) && !page(layout::Paper::Letter).contains(nominal) {
            return None;
        }
        // The nearest border of the lattice in each direction, and how much of the blur lies beyond it.
        let near = |v: f64, most: usize| {
            let cells = (v + RIM as f64) / CELL as f64;
            let border = cells.round().clamp(1.0, (most - 1) as f64);
            (border as usize, smooth_step((cells - border) * CELL as f64 / blur_mm) as f32)
        };
        let ((i, u), (j, v)) = (near(nominal.x, MAP_WIDTH), near(nominal.y, MAP_HEIGHT));
        let k = j * MAP_WIDTH + i;
        let [a, b, c, d] = [k - MAP_WIDTH - 1, k - MAP_WIDTH, k - 1, k].map(|k| self.map[k]);
        Some(((a + (b - a) * u) * (1.0 - v) + (c + (d - c) * u) * v, layout::PRINTED.contains(nominal)))
    }
}

/// Integral of a unit Gaussian: 1 / (1 + exp(-1.702 x)) is within 0.01 of it (J. D. Bowling et al., "A logistic
/// approximation to the cumulative normal distribution", 2009).
pub(super) fn smooth_step(x: f64) -> f64 {
    1.0 / (1.0 + (-1.702 * x).exp())
}

/// The page in the sheet's frame.
fn page(paper: layout::Paper) -> Rect {
    let (w, h) = paper.size_mm();
    let origin = paper.board_origin_mm();
    Rect::new(-origin.x, -origin.y, w - origin.x, h - origin.y)
}

/// The light at one visible corner.
#[derive(Debug, Clone, Copy)]
struct Sample {
    at: Point,
    levels: Levels,
}

/// Distance from a corner at which its squares' colours are read, along the diagonal, millimetres per axis:
/// past the blur of the edges, before what may cover the neighbouring corner.
const READ_AT: f64 = 3.0;
/// Least grey difference of paper and ink for a corner to tell the light.
const CONTRAST_LEAST: f32 = 15.0;

fn sample(scene: &Scene<'_>, corner: &super::VisibleCorner) -> Option<Sample> {
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
fn ink_grain(scene: &Scene<'_>) -> f64 {
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
        .iter()
        .filter_map(|c| Some((c, scene.sheets.iter().find(|s| s.number == c.sheet)?)))
        .flat_map(|(corner, placed)| {
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
fn honest(samples: Vec<Sample>) -> Vec<Sample> {
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

/// The light on the table, looked up on a coarse grid.
#[derive(Debug, Default)]
struct Light {
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
    fn new(samples: Vec<Sample>) -> Self {
        let Some(first) = samples.first() else { return Self::default() };
        let bounds = samples
            .iter()
            .fold(Rect::from_points(first.at, first.at), |b, s| b.union_pt(s.at))
            .inflate(LIGHT_MARGIN, LIGHT_MARGIN);
        let across = (bounds.width() / LIGHT_CELL).ceil() as usize + 1;
        let down = (bounds.height() / LIGHT_CELL).ceil() as usize + 1;
        let cells = (0..across * down)
            .into_par_iter()
            .map(|k| {
                let at = bounds.origin()
                    + Vec2::new((k % across) as f64 * LIGHT_CELL, (k / across) as f64 * LIGHT_CELL);
                let mut near: Vec<(f64, usize)> =
                    samples.iter().enumerate().map(|(i, s)| (s.at.distance_squared(at), i)).collect();
                let n = NEIGHBOURS.min(near.len());
                near.select_nth_unstable_by(n - 1, |a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
                near.truncate(n);
                near.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
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
    fn at(&self, p: Point) -> &[Levels] {
        if self.cells.is_empty() {
            return &[];
        }
        let index = |v: f64, n: usize| (v / LIGHT_CELL).round().clamp(0.0, (n - 1) as f64) as usize;
        let i = index(p.x - self.bounds.x0, self.across);
        let j = index(p.y - self.bounds.y0, self.cells.len() / self.across);
        &self.cells[j * self.across + i]
    }
}
