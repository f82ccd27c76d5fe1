//! The table as a grid of cells, each with its colour and with what speaks for sheet there.

use super::Scene;
use super::backdrop::Backdrop;
use super::colour::{Colour, distance2};
use crate::geometry::{Point, Rect, Vec2};
use rayon::prelude::*;

/// Side of a cell, millimetres: a mask a few millimetres true is enough for what follows.
pub(super) const CELL_MM: f64 = 3.0;
/// How far beyond the pages the grid goes: to learn the floor and to see what runs off the sheets.
const BEYOND_MM: f64 = 60.0;

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

/// One cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Cell {
    pub colour: Colour,
    pub ground: Ground,
    /// Cost of the colour if the sheet shows here; infinite on the floor.
    pub sheet_cost: f32,
    /// Distance to the nearest visible corner, millimetres.
    pub to_corner_mm: f32,
}

/// The grid.
pub(super) struct Table {
    /// Table place of the first cell's centre.
    pub origin: Point,
    pub across: usize,
    pub down: usize,
    pub cells: Vec<Cell>,
}

/// Spread of sheet colours about their prediction, grey levels: noise, paper, and light between corners.
const SHEET_SPREAD: f32 = 7.0;
/// Part of the contrast that a cell on an ink edge may be off, for a place a millimetre wrong.
const EDGE_SPREAD: f32 = 0.22;

impl Table {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few hundred cells")]
    #[expect(clippy::cast_precision_loss, reason = "a few hundred cells")]
    pub(super) fn new(scene: &Scene<'_>, backdrop: &Backdrop) -> Self {
        let bounds: Rect = backdrop.bounds().inflate(BEYOND_MM, BEYOND_MM);
        let across = (bounds.width() / CELL_MM).ceil() as usize;
        let down = (bounds.height() / CELL_MM).ceil() as usize;
        let origin = bounds.origin() + Vec2::new(CELL_MM / 2.0, CELL_MM / 2.0);
        let near = corner_distances(&backdrop.corners, origin, across, down);
        let cells = (0..across * down)
            .into_par_iter()
            .map(|k| {
                let at = origin + Vec2::new((k % across) as f64, (k / across) as f64) * CELL_MM;
                let Some(colour) = mean_colour(scene, at) else {
                    return Cell {
                        colour: [0.0; 3],
                        ground: Ground::Unseen,
                        sheet_cost: f32::INFINITY,
                        to_corner_mm: near[k],
                    };
                };
                let (ground, sheet_cost) = judge(backdrop, at, colour);
                Cell { colour, ground, sheet_cost, to_corner_mm: near[k] }
            })
            .collect();
        Self { origin, across, down, cells }
    }

    /// Table place of grid coordinates.
    pub(super) fn place(&self, x: f64, y: f64) -> Point {
        self.origin + Vec2::new(x, y) * CELL_MM
    }
}

/// Mean colour over a cell: four places half a cell apart, each bilinear in the photograph.
fn mean_colour(scene: &Scene<'_>, at: Point) -> Option<Colour> {
    const Q: f64 = CELL_MM / 4.0;
    let mut sum = [0f32; 3];
    for (dx, dy) in [(-Q, -Q), (Q, -Q), (-Q, Q), (Q, Q)] {
        let p = scene.camera.pixel_from_table(at + Vec2::new(dx, dy), 0.0)?;
        let c = scene.photo.colour(p.x, p.y)?;
        for (s, v) in sum.iter_mut().zip(c) {
            #[expect(clippy::cast_possible_truncation, reason = "single precision is enough")]
            {
                *s += v as f32 / 4.0;
            }
        }
    }
    Some(sum)
}

/// What a cell lies on, and the least cost of its colour under any sheet there and any light near there.
fn judge(backdrop: &Backdrop, at: Point, colour: Colour) -> (Ground, f32) {
    let levels = backdrop.levels(at);
    let (mut ground, mut cost) = (Ground::Floor, f32::INFINITY);
    for printed in backdrop.printed(at) {
        let here = if printed.printed { Ground::Print } else { Ground::Margin };
        if ground != Ground::Print && !(printed.doubtful && ground == Ground::Floor) {
            ground = here;
        }
        for level in levels {
            let contrast = level.white[0] - level.black[0];
            let spread = (SHEET_SPREAD.powi(2) + (EDGE_SPREAD * contrast * printed.edge).powi(2)).sqrt();
            let d = distance2(level.at(printed.white), colour) / (2.0 * spread * spread);
            cost = cost.min(d + (spread / SHEET_SPREAD).ln());
        }
    }
    (ground, cost)
}

/// Distance of every cell to the nearest corner, by imageproc's exact Euclidean transform on the grid.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the grid")]
fn corner_distances(corners: &[Point], origin: Point, across: usize, down: usize) -> Vec<f32> {
    let mut marks = image::GrayImage::new(across as u32, down as u32);
    for c in corners {
        let d = (*c - origin) / CELL_MM;
        let (x, y) = (d.x.round(), d.y.round());
        if x >= 0.0 && y >= 0.0 && (x as usize) < across && (y as usize) < down {
            marks.put_pixel(x as u32, y as u32, image::Luma([255]));
        }
    }
    imageproc::distance_transform::euclidean_squared_distance_transform(&marks)
        .pixels()
        .map(|p| (p.0[0].sqrt() * CELL_MM) as f32)
        .collect()
}
