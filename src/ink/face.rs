//! The paper's face seen straight down, as contrast: luma over its local mean, on an even lattice in millimetres.

use crate::geometry::{Point, Rect, Vec2};
use crate::outline::Scene;
use rayon::prelude::*;

/// Pitch of the lattice, millimetres: bounds of one photograph pixel's size on the table.
const PITCH_MM: (f64, f64) = (0.2, 0.5);
/// Cells of the lattice at most: a table of two by one metres at a third of a millimetre.
const CELLS_MOST: f64 = 2.0e7;
/// Nearer than this to the paper's own edge nothing counts as a line, millimetres.
pub(super) const RIM_MM: f64 = 2.5;
/// The local mean is taken over a square of this half side, millimetres: far wider than any line.
const MEAN_MM: f64 = 6.0;

/// The lattice.
pub(super) struct Face {
    pub(super) origin: Point,
    pub(super) pitch_mm: f64,
    pub(super) width: usize,
    pub(super) height: usize,
    /// Luma over its local mean, row by row; 1 off the paper.
    pub(super) contrast: Vec<f32>,
    /// Whether the place lies on the paper, its rim left out.
    pub(super) inside: Vec<bool>,
}

impl Face {
    /// `paper` is the paper's silhouette on the table; its face lies `height_mm` above it.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "bounded by CELLS_MOST")]
    pub(super) fn new(scene: &Scene<'_>, paper: &[Point], height_mm: f64) -> Self {
        let bounds = paper.iter().fold(Rect::from_points(paper[0], paper[0]), |r, p| r.union_pt(*p));
        let pixel_mm = scene
            .camera
            .pixels_per_mm(bounds.center())
            .map_or(PITCH_MM.1, |j| 1.0 / j.determinant().abs().sqrt());
        let least = (bounds.area() / CELLS_MOST).sqrt();
        let pitch_mm = pixel_mm.clamp(PITCH_MM.0, PITCH_MM.1).max(least);
        let (width, height) =
            ((bounds.width() / pitch_mm) as usize + 3, (bounds.height() / pitch_mm) as usize + 3);
        let origin = bounds.origin() - Vec2::new(pitch_mm, pitch_mm);
        let mut face = Self {
            origin,
            pitch_mm,
            width,
            height,
            contrast: vec![0.0; width * height],
            inside: vec![false; width * height],
        };
        let mut luma = vec![f32::NAN; width * height];
        luma.par_chunks_mut(width).enumerate().for_each(|(y, row)| {
            for (x, out) in row.iter_mut().enumerate() {
                let at = origin + Vec2::new(x as f64, y as f64) * pitch_mm;
                let pixel = scene.camera.pixel_from_table(at, height_mm);
                if let Some(v) = pixel.and_then(|p| scene.photo.luma(p.x, p.y)) {
                    *out = v as f32;
                }
            }
        });
        let covered = face.fill(paper);
        let seen: Vec<bool> = covered.iter().zip(&luma).map(|(c, l)| *c && l.is_finite()).collect();
        face.inside = eroded(&seen, width, height, (RIM_MM / pitch_mm).ceil() as usize);
        let mean = local_mean(&luma, &seen, width, height, (MEAN_MM / pitch_mm) as usize);
        face.contrast
            .par_iter_mut()
            .enumerate()
            .for_each(|(k, out)| *out = if seen[k] { luma[k] / mean[k].max(1.0) } else { 1.0 });
        face
    }

    /// The table place of a lattice coordinate.
    pub(super) fn place(&self, x: f64, y: f64) -> Point {
        self.origin + Vec2::new(x, y) * self.pitch_mm
    }

    /// Whether a table place lies on the paper, its rim left out.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked to lie inside")]
    pub(super) fn on_paper(&self, at: Point) -> bool {
        let p = (at - self.origin) / self.pitch_mm;
        let (x, y) = (p.x.round(), p.y.round());
        x >= 0.0
            && y >= 0.0
            && (x as usize) < self.width
            && (y as usize) < self.height
            && self.inside[y as usize * self.width + x as usize]
    }

    /// Lattice places inside a ring (even-odd rule, row by row).
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the lattice")]
    fn fill(&self, ring: &[Point]) -> Vec<bool> {
        let mut out = vec![false; self.width * self.height];
        out.par_chunks_mut(self.width).enumerate().for_each(|(y, row)| {
            let line = self.place(0.0, y as f64).y;
            let mut cuts: Vec<f64> = (0..ring.len())
                .map(|i| (ring[i], ring[(i + 1) % ring.len()]))
                .filter(|(a, b)| (a.y > line) != (b.y > line))
                .map(|(a, b)| a.x + (line - a.y) / (b.y - a.y) * (b.x - a.x))
                .collect();
            cuts.sort_by(f64::total_cmp);
            for pair in cuts.chunks_exact(2) {
                let lattice = |x: f64| ((x - self.origin.x) / self.pitch_mm).max(0.0);
                let (from, to) = (lattice(pair[0]).ceil() as usize, lattice(pair[1]).floor() as usize);
                for cell in row.iter_mut().take(to + 1).skip(from) {
                    *cell = true;
                }
            }
        });
        out
    }
}

/// Means over squares of half side `reach`, of seen places only.
fn local_mean(luma: &[f32], seen: &[bool], width: usize, height: usize, reach: usize) -> Vec<f32> {
    let value = |k: usize| if seen[k] { (f64::from(luma[k]), 1.0) } else { (0.0, 0.0) };
    let stride = width + 1;
    let mut sums = vec![(0.0_f64, 0.0_f64); stride * (height + 1)];
    for y in 0..height {
        let mut row = (0.0, 0.0);
        for x in 0..width {
            let (v, n) = value(y * width + x);
            row = (row.0 + v, row.1 + n);
            let above = sums[y * stride + x + 1];
            sums[(y + 1) * stride + x + 1] = (above.0 + row.0, above.1 + row.1);
        }
    }
    let mut out = vec![0.0_f32; width * height];
    out.par_chunks_mut(width).enumerate().for_each(|(y, row)| {
        let (y0, y1) = (y.saturating_sub(reach), (y + reach + 1).min(height));
        for (x, out) in row.iter_mut().enumerate() {
            let (x0, x1) = (x.saturating_sub(reach), (x + reach + 1).min(width));
            let (a, b, c, d) = (
                sums[y0 * stride + x0],
                sums[y0 * stride + x1],
                sums[y1 * stride + x0],
                sums[y1 * stride + x1],
            );
            let (sum, count) = (d.0 - b.0 - c.0 + a.0, d.1 - b.1 - c.1 + a.1);
            #[expect(clippy::cast_possible_truncation, reason = "single precision is ample for luma")]
            let mean = (sum / count.max(1.0)) as f32;
            *out = mean;
        }
    });
    out
}

/// Places with nothing but such places within `reach` across and down.
fn eroded(mask: &[bool], width: usize, height: usize, reach: usize) -> Vec<bool> {
    let pass = |source: &[bool], step: usize, n: usize, lines: usize, line_step: usize| {
        let mut out = vec![false; source.len()];
        for line in 0..lines {
            let at = |k: usize| line * line_step + k * step;
            let mut run = 0;
            for k in 0..n {
                run = if source[at(k)] { run + 1 } else { 0 };
                if run > 2 * reach {
                    out[at(k - reach)] = true;
                }
            }
        }
        out
    };
    let across = pass(mask, 1, width, height, width);
    pass(&across, width, height, width, 1)
}
