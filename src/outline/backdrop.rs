//! The sheets as the camera should see them.

use super::colour::{self, Colour, Tint, distance2, mix};
use super::light::{Light, Sample, honest, ink_grain, sample};
use super::look::Look;
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

/// What sheets are printed on.
const KINDS: [layout::Paper; 2] = [layout::Paper::A4, layout::Paper::Letter];
/// How far a printer may lay the print off the page's middle, millimetres: this near its edge a page may end.
const EDGE_UNSURE_MM: f64 = 0.7;
/// Fewer places where only one kind of page reaches do not tell the kind.
const KIND_LEAST: u32 = 20;
/// Part of these places that shows paper if the sheets are of that kind, at least (the garment may hide some) ...
const SHOWN_PART: f64 = 0.3;
/// ... and if they are of the other, at most, as a part of that.
const HIDDEN_PART: f64 = 0.25;

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
    /// How white a blur's mixtures of ink and paper look.
    look: Look,
    /// Table places of the visible corners.
    pub corners: Vec<Point>,
    /// Where a sheet that was not recognised lies on those that were.
    pub unplaced: Option<CellMask>,
    /// What the sheets may be printed on.
    pages: Vec<Rect>,
}

impl Backdrop {
    pub(super) fn new(scene: &Scene<'_>) -> Self {
        let sheets = scene.sheets.par_iter().map(|s| Sheet::new(*s, scene.scale)).collect();
        let mut backdrop = Self {
            sheets,
            camera: *scene.camera,
            light: Light::default(),
            ink_grain: ink_grain(scene),
            look: Look::default(),
            corners: Vec::with_capacity(scene.corners.len()),
            unplaced: None,
            pages: KINDS.map(|kind| page(kind, scene.scale)).to_vec(),
        };
        let samples: Vec<Sample> = scene.corners.par_iter().filter_map(|c| sample(scene, c)).collect();
        backdrop.corners = samples.iter().map(|s| s.at).collect();
        let samples = honest(samples);
        backdrop.look = Look::new(&samples);
        backdrop.light = Light::new(samples);
        if let Some(kind) = backdrop.kind(scene) {
            backdrop.pages = vec![page(kind, scene.scale).inflate(-EDGE_UNSURE_MM, -EDGE_UNSURE_MM)];
        }
        backdrop
    }

    /// Which page all the sheets are printed on, by what shows where only one kind reaches; `None` where that leaves doubt.
    fn kind(&self, scene: &Scene<'_>) -> Option<layout::Paper> {
        let [a4, letter] = [0, 1].map(|k| {
            let (own, other) = (self.pages[k], self.pages[1 - k]);
            let (mut all, mut white) = (0u32, 0u32);
            for sheet in &self.sheets {
                for p in beyond(own, other) {
                    let at = sheet.placed.place.table_from_board(scene.scale.true_from_nominal(p));
                    let mut others = self.sheets.iter().filter(|s| s.placed.number != sheet.placed.number);
                    let alone = |s: &Sheet| {
                        self.nominal(s, at).is_none_or(|q| self.pages.iter().all(|page| !page.contains(q)))
                    };
                    let seen =
                        || scene.camera.pixel_from_table(at, 0.0).and_then(|p| scene.photo.colour(p.x, p.y));
                    if !sheet.placed.own.contains(p) || !others.all(alone) {
                        continue;
                    }
                    if let (Some(c), Some(levels)) = (seen(), self.levels(at).first()) {
                        let paper = levels.white;
                        #[expect(clippy::cast_possible_truncation, reason = "single precision is enough")]
                        let c: Colour = c.map(|v| v as f32);
                        all += 1;
                        white += u32::from(distance2(paper, c) < (3.0 * SPREAD).powi(2));
                    }
                }
            }
            (all >= KIND_LEAST).then(|| f64::from(white) / f64::from(all))
        });
        let (a4, letter) = (a4?, letter?);
        let clear = |yes: f64, no: f64| yes > SHOWN_PART && no < HIDDEN_PART * yes;
        match (clear(a4, letter), clear(letter, a4)) {
            (true, false) => Some(layout::Paper::A4),
            (false, true) => Some(layout::Paper::Letter),
            _ => None,
        }
    }

    /// What lies at a table place if no cloth does. Where only one kind of page reaches it may be floor.
    pub(super) fn ground(&self, at: Point) -> Ground {
        let mut ground = Ground::Floor;
        for sheet in &self.sheets {
            let Some(p) = self.nominal(sheet, at) else { continue };
            if layout::PRINTED.contains(p) {
                return Ground::Print;
            }
            if self.pages.iter().all(|page| page.contains(p)) {
                ground = Ground::Margin;
            }
        }
        ground
    }

    /// Least cost (negative log likelihood) of a colour under any sheet there and any light near there;
    /// infinite where no page reaches.
    pub(super) fn cost(&self, at: Point, colour: Colour) -> f32 {
        let mut cost = f32::INFINITY;
        for (light, _) in self.white(at, BLUR_MM) {
            let (edge, white) = (4.0 * light * (1.0 - light), self.look.of(light));
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
        for (light, _) in self.white(at, BLUR_MM) {
            let white = self.look.of(light);
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
        self.sheets.iter().filter_map(move |s| {
            let nominal = self.nominal(s, at)?;
            self.pages.iter().any(|page| page.contains(nominal)).then(|| s.white(nominal, blur_mm))
        })
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
            [(-25.0, -36.0), (205.0, -36.0), (205.0, 276.0), (-25.0, 276.0)].map(|(x, y)| table(x, y));
        let bounds = corners.iter().fold(Rect::from_points(corners[0], corners[1]), |b, p| b.union_pt(*p));
        let nominal_from_table = Affine::scale_non_uniform(1.0 / scale.across, 1.0 / scale.down)
            * Affine::rotate(-placed.place.turn)
            * Affine::translate(-placed.place.origin.to_vec2());
        Self { placed, nominal_from_table, bounds, map }
    }

    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked to lie in the map")]
    #[expect(clippy::cast_precision_loss, reason = "a small constant")]
    fn white(&self, nominal: Point, blur_mm: f64) -> (f32, bool) {
        // The nearest border of the lattice in each direction, and how much of the blur lies beyond it.
        let near = |v: f64, most: usize| {
            let cells = (v + RIM as f64) / CELL as f64;
            let border = (cells + 0.5).clamp(1.0, (most - 1) as f64) as usize;
            (border, smooth_step((cells - border as f64) * CELL as f64 / blur_mm) as f32)
        };
        let ((i, u), (j, v)) = (near(nominal.x, MAP_WIDTH), near(nominal.y, MAP_HEIGHT));
        let k = j * MAP_WIDTH + i;
        let [a, b, c, d] = [k - MAP_WIDTH - 1, k - MAP_WIDTH, k - 1, k].map(|k| self.map[k]);
        ((a + (b - a) * u) * (1.0 - v) + (c + (d - c) * u) * v, layout::PRINTED.contains(nominal))
    }
}

/// Integral of a unit Gaussian, to 1e-7 (M. Abramowitz and I. A. Stegun, "Handbook of Mathematical Functions", 1964, 7.1.26).
pub(super) fn smooth_step(x: f64) -> f64 {
    const A: [f64; 5] = [0.254_829_592, -0.284_496_736, 1.421_413_741, -1.453_152_027, 1.061_405_429];
    let t = 1.0 / (1.0 + 0.327_591_1 * std::f64::consts::FRAC_1_SQRT_2 * x.abs());
    let tail = 0.5 * A.iter().rev().fold(0.0, |sum, a| (sum + a) * t) * (-0.5 * x * x).exp();
    if x < 0.0 { tail } else { 1.0 - tail }
}

/// Places along the middles of the strips by which a page reaches beyond another.
fn beyond(page: Rect, other: Rect) -> impl Iterator<Item = Point> {
    const STEP_MM: f64 = 5.0;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "some dozens")]
    let steps = |length: f64| (0..(length / STEP_MM) as u32).map(|k| (f64::from(k) + 0.5) * STEP_MM);
    let upright = [(page.x0, other.x0), (other.x1, page.x1)].map(|(a, b)| (b > a).then_some(0.5 * (a + b)));
    let level = [(page.y0, other.y0), (other.y1, page.y1)].map(|(a, b)| (b > a).then_some(0.5 * (a + b)));
    let (y0, x0) = (page.y0.max(other.y0), page.x0.max(other.x0));
    let (height, width) = (page.y1.min(other.y1) - y0, page.x1.min(other.x1) - x0);
    let sides =
        upright.into_iter().flatten().flat_map(move |x| steps(height).map(move |y| Point::new(x, y0 + y)));
    let ends =
        level.into_iter().flatten().flat_map(move |y| steps(width).map(move |x| Point::new(x0 + x, y)));
    sides.chain(ends)
}

/// The page in the sheet's frame, nominal millimetres: where the print came out smaller, about the page's middle, the paper reaches
/// farther in the print's own millimetres.
fn page(paper: layout::Paper, scale: Scale) -> Rect {
    let (w, h) = paper.size_mm();
    let origin = paper.board_origin_mm();
    let nominal = Rect::new(-origin.x, -origin.y, w - origin.x, h - origin.y);
    Rect::from_center_size(nominal.center(), (w / scale.across, h / scale.down))
}
