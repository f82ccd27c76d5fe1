//! The table as a grid of cells, each with its colour and with what speaks for sheet there.

use super::Scene;
use super::backdrop::{Backdrop, Ground};
use super::colour::Colour;
use crate::geometry::{Point, Rect, Vec2};
use rayon::prelude::*;

/// Side of a cell, millimetres: a mask a few millimetres true is enough for what follows.
pub(super) const CELL_MM: f64 = 3.0;
/// How far beyond the pages the grid goes: to learn the floor and to see what runs off the sheets.
const BEYOND_MM: f64 = 60.0;

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

/// Most that one place of a cell may cost as sheet.
const SHEET_COST_MOST: f32 = 12.0;

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
                cell(scene, backdrop, at, near[k])
            })
            .collect();
        Self { origin, across, down, cells }
    }

    /// One grid of what any of the photographs sees, from the first that does.
    pub(super) fn joined(tables: &[Self]) -> Self {
        let first = &tables[0];
        let seen = |k: usize| {
            let cells = tables.iter().map(|t| t.cells[k]);
            cells.clone().find(|c| c.ground != Ground::Unseen).unwrap_or(first.cells[k])
        };
        let cells = (0..first.cells.len()).map(seen).collect();
        Self { origin: first.origin, across: first.across, down: first.down, cells }
    }

    /// The cell that a place lies in.
    pub(super) fn cell_of(&self, at: Point) -> Option<usize> {
        cell_at(self.origin, self.across, self.cells.len(), at)
    }

    /// Table place of a cell's centre.
    #[expect(clippy::cast_precision_loss, reason = "a few hundred cells")]
    pub(super) fn place_of(&self, k: usize) -> Point {
        self.place((k % self.across) as f64, (k / self.across) as f64)
    }

    /// Table place of grid coordinates.
    pub(super) fn place(&self, x: f64, y: f64) -> Point {
        self.origin + Vec2::new(x, y) * CELL_MM
    }
}

/// The cell of a grid of `count` cells in which a place lies.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked to be positive")]
pub(super) fn cell_at(origin: Point, across: usize, count: usize, at: Point) -> Option<usize> {
    let d = (at - origin) / CELL_MM;
    let (x, y) = (d.x + 0.5, d.y + 0.5);
    (x >= 0.0 && y >= 0.0 && (x as usize) < across)
        .then(|| y as usize * across + x as usize)
        .filter(|k| *k < count)
}

/// One cell: the mean of four places half a cell apart, each judged by itself, so that print finer than a
/// cell does not pass for grey cloth.
fn cell(scene: &Scene<'_>, backdrop: &Backdrop, at: Point, to_corner_mm: f32) -> Cell {
    const Q: f64 = CELL_MM / 4.0;
    let mut out = Cell { colour: [0.0; 3], ground: Ground::Unseen, sheet_cost: 0.0, to_corner_mm };
    for (dx, dy) in [(-Q, -Q), (Q, -Q), (-Q, Q), (Q, Q)] {
        let place = at + Vec2::new(dx, dy);
        let seen = scene.camera.pixel_from_table(place, 0.0).and_then(|p| scene.photo.colour(p.x, p.y));
        let Some(c) = seen else {
            return Cell { ground: Ground::Unseen, sheet_cost: f32::INFINITY, ..out };
        };
        #[expect(clippy::cast_possible_truncation, reason = "single precision is enough")]
        let c: Colour = c.map(|v| v as f32);
        for (s, v) in out.colour.iter_mut().zip(c) {
            *s += v / 4.0;
        }
        out.sheet_cost += backdrop.cost(place, c).min(SHEET_COST_MOST) / 4.0;
    }
    out.ground = backdrop.ground(at);
    out
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
