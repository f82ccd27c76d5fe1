//! The sheets as the camera should see them.

use super::colour::{self, Colour, Tint, distance2, mix};
use super::light::{Light, Sample, honest, ink_grain, sample};
use super::region::CellMask;
use super::step::GRAIN;
use super::{PlacedSheet, Scene};
use crate::camera::{Camera, Relief};
use crate::geometry::{Affine, Point, Rect};
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
        let tint = Tint::new(level.at(white), INK_SPREAD, 1.0);
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
        let samples: Vec<Sample> = scene.corners.par_iter().filter_map(|c| sample(scene, c)).collect();
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
                // The width costs something at the least, and its logarithm time.
                if d < cost {
                    cost = cost.min(d + 0.5 * (spread2 / (SPREAD * SPREAD)).ln());
                }
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
            let border = (cells + 0.5).clamp(1.0, (most - 1) as f64) as usize;
            (border, smooth_step((cells - border as f64) * CELL as f64 / blur_mm) as f32)
        };
        let ((i, u), (j, v)) = (near(nominal.x, MAP_WIDTH), near(nominal.y, MAP_HEIGHT));
        let k = j * MAP_WIDTH + i;
        let [a, b, c, d] = [k - MAP_WIDTH - 1, k - MAP_WIDTH, k - 1, k].map(|k| self.map[k]);
        Some(((a + (b - a) * u) * (1.0 - v) + (c + (d - c) * u) * v, layout::PRINTED.contains(nominal)))
    }
}

/// Integral of a unit Gaussian, to 1e-7 (M. Abramowitz and I. A. Stegun, "Handbook of Mathematical Functions", 1964, 7.1.26).
pub(super) fn smooth_step(x: f64) -> f64 {
    const A: [f64; 5] = [0.254_829_592, -0.284_496_736, 1.421_413_741, -1.453_152_027, 1.061_405_429];
    let t = 1.0 / (1.0 + 0.327_591_1 * std::f64::consts::FRAC_1_SQRT_2 * x.abs());
    let tail = 0.5 * A.iter().rev().fold(0.0, |sum, a| (sum + a) * t) * (-0.5 * x * x).exp();
    if x < 0.0 { tail } else { 1.0 - tail }
}

/// The page in the sheet's frame.
fn page(paper: layout::Paper) -> Rect {
    let (w, h) = paper.size_mm();
    let origin = paper.board_origin_mm();
    Rect::new(-origin.x, -origin.y, w - origin.x, h - origin.y)
}
