//! Round spots that stand out from the cloth about them.

use super::Scene;
use super::colour::{Colour, distance2};
use super::region::{CellMask, label};
use crate::geometry::{Point, Vec2};
use rayon::prelude::*;

/// A spot, millimetres in the plane of the cloth's face.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spot {
    pub centre: Point,
    pub radius: f64,
}

/// Side of a cell, millimetres.
const CELL_MM: f64 = 0.75;
/// Cells in a row that are projected at once.
const STRETCH: usize = 8;
/// Cells of a block whose cloth is described by one colour and its spread.
const BLOCK: usize = 16;
/// Blocks to either side that it is learned from.
const AROUND: usize = 2;
/// Every so manieth cell of them, across and down, is read.
const EVERY: usize = 6;
/// A cell stands out from this many spreads on.
const SPREADS: f32 = 5.0;
/// Least distance of its colour, and least spread.
const DISTANCE_LEAST: f32 = 20.0;
const SPREAD_LEAST: f32 = 4.0;
/// Least width of a spot, cells.
const CELLS_LEAST: f64 = 3.0;
/// Area against that of the ellipse with its moments.
const FULL: (f64, f64) = (0.85, 1.15);
/// Longer to shorter axis at the most: a raised ring seen from the side is drawn out along the lean.
const LONG_MOST: f64 = 1.6;

/// The spots up to `most_mm` wide on the cloth.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few thousand cells")]
#[expect(clippy::cast_precision_loss, reason = "a few thousand cells")]
pub(super) fn find(scene: &Scene<'_>, cloth: &CellMask, face_mm: f64, most_mm: f64) -> Vec<Spot> {
    let Some(bounds) = cloth.bounds() else { return Vec::new() };
    let (across, down) = ((bounds.width() / CELL_MM) as usize + 1, (bounds.height() / CELL_MM) as usize + 1);
    let place = |x: f64, y: f64| bounds.origin() + Vec2::new(x, y) * CELL_MM;
    let mut colours: Vec<Option<Colour>> = vec![None; across * down];
    colours.par_chunks_mut(across).enumerate().for_each(|(y, row)| {
        for (stretch, colours) in row.chunks_mut(STRETCH).enumerate() {
            let x = |k: usize| (stretch * STRETCH + k) as f64;
            let inside: Vec<bool> =
                (0..colours.len()).map(|k| cloth.contains(place(x(k), y as f64))).collect();
            if !inside.contains(&true) {
                continue;
            }
            // The way across a few cells is straight in the photograph to a few hundredths of a pixel.
            let ends = [0, STRETCH].map(|k| scene.camera.pixel_from_table(place(x(k), y as f64), face_mm));
            let [Some(from), Some(to)] = ends else { continue };
            for (k, colour) in colours.iter_mut().enumerate().filter(|c| inside[c.0]) {
                let p = from.lerp(to, k as f64 / STRETCH as f64);
                *colour = scene.photo.colour(p.x, p.y).map(|c| c.map(|v| v as f32));
            }
        }
    });
    let blocks = across.div_ceil(BLOCK);
    let usual: Vec<Option<(Colour, f32)>> = (0..blocks * down.div_ceil(BLOCK))
        .into_par_iter()
        .map(|b| {
            let (bx, by) = (b % blocks, b / blocks);
            let range = |b: usize, most: usize| {
                (b.saturating_sub(AROUND) * BLOCK)..((b + AROUND + 1) * BLOCK).min(most)
            };
            let mut seen: Vec<Colour> = range(by, down)
                .step_by(EVERY)
                .flat_map(|y| range(bx, across).step_by(EVERY).map(move |x| y * across + x))
                .filter_map(|k| colours[k])
                .collect();
            let middle = median(&mut seen)?;
            let mut off: Vec<f32> = seen.iter().map(|c| distance2(*c, middle)).collect();
            let half = off.len() / 2;
            let spread = off.select_nth_unstable_by(half, f32::total_cmp).1.sqrt();
            Some((middle, spread.max(SPREAD_LEAST)))
        })
        .collect();
    let odd: Vec<bool> = (0..across * down)
        .into_par_iter()
        .map(|k| {
            let block = usual[(k / across / BLOCK) * blocks + (k % across) / BLOCK];
            colours[k].zip(block).is_some_and(|(c, (middle, spread))| {
                distance2(c, middle).sqrt() > (SPREADS * spread).max(DISTANCE_LEAST)
            })
        })
        .collect();
    let labels = label(&odd, across);
    let count = labels.iter().copied().max().unwrap_or(0) as usize + 1;
    let mut cells: Vec<Vec<usize>> = vec![Vec::new(); count];
    for (k, l) in labels.iter().enumerate() {
        if *l > 0 {
            cells[*l as usize].push(k);
        }
    }
    let most = most_mm / CELL_MM;
    cells
        .iter()
        .filter_map(|cells| round(cells, across, most))
        .map(|(x, y, r)| Spot { centre: place(x, y), radius: r * CELL_MM })
        .collect()
}

/// Middle and mean radius of a set of cells, if it is round once filled.
#[expect(clippy::cast_precision_loss, reason = "a few thousand cells")]
fn round(cells: &[usize], across: usize, most: f64) -> Option<(f64, f64, f64)> {
    let (xs, ys) = (|k: &usize| k % across, |k: &usize| k / across);
    let (x0, x1) = (cells.iter().map(xs).min()?, cells.iter().map(xs).max()?);
    let (y0, y1) = (cells.iter().map(ys).min()?, cells.iter().map(ys).max()?);
    let (w, h) = (x1 - x0 + 3, y1 - y0 + 3);
    if w.min(h) as f64 - 2.0 < CELLS_LEAST || w.max(h) as f64 - 2.0 > most {
        return None;
    }
    let mut mask = vec![false; w * h];
    for k in cells {
        mask[(ys(k) - y0 + 1) * w + xs(k) - x0 + 1] = true;
    }
    let mask = super::contour::filled(&mask, w);
    let inside: Vec<(f64, f64)> =
        (0..w * h).filter(|&k| mask[k]).map(|k| ((k % w) as f64, (k / w) as f64)).collect();
    let n = inside.len() as f64;
    let (mx, my) = (inside.iter().map(|p| p.0).sum::<f64>() / n, inside.iter().map(|p| p.1).sum::<f64>() / n);
    // A cell's own extent adds a twelfth.
    let (mut xx, mut xy, mut yy) = (n / 12.0, 0.0, n / 12.0);
    for (x, y) in &inside {
        xx += (x - mx) * (x - mx);
        xy += (x - mx) * (y - my);
        yy += (y - my) * (y - my);
    }
    let (half, apart) = ((xx + yy) / 2.0 / n, ((xx - yy) / 2.0 / n).hypot(xy / n));
    let (long, short) = ((half + apart).sqrt(), (half - apart).max(0.0).sqrt());
    let full = n / (4.0 * std::f64::consts::PI * long * short);
    (long < LONG_MOST * short && full > FULL.0 && full < FULL.1)
        .then(|| (mx + x0 as f64 - 1.0, my + y0 as f64 - 1.0, (n / std::f64::consts::PI).sqrt()))
}

/// The median of each channel.
pub(super) fn median(colours: &mut [Colour]) -> Option<Colour> {
    if colours.is_empty() {
        return None;
    }
    let middle = colours.len() / 2;
    Some(std::array::from_fn(|k| colours.select_nth_unstable_by(middle, |a, b| a[k].total_cmp(&b[k])).1[k]))
}
