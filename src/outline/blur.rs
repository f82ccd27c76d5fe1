//! How wide lens and sensor blur an edge, measured on the print: a step between two levels, blurred by a Gaussian, is fitted
//! to the light across the sides of checker squares of which both ends show.

use super::Scene;
use super::backdrop::smooth_step;
use super::step::light_across;
use crate::geometry::{Point, Vec2};
use crate::photo::Photo;
use crate::sheet::layout;
use nalgebra::{Matrix4, Vector4};
use rayon::prelude::*;

/// Standard deviation of the blur when the print does not tell it, pixels (a typical phone: 0.6 to 1).
const USUAL_PX: f64 = 0.75;
/// What is measured is kept within these, pixels: less is not told apart, more is no edge.
const RANGE_PX: (f64, f64) = (0.4, 3.0);
/// An edge is told to be no softer, pixels: in a photograph out of focus it would else be doubted all round.
const MOST_PX: f64 = 1.2;
/// Samples on either side of an edge and the distance between them, pixels.
const HALF: i32 = 12;
const FINE_PX: f64 = 0.3;
/// Fewest edges that tell it, and as many as are needed.
const EDGES_LEAST: usize = 12;
const EDGES_MOST: usize = 240;
/// Least contrast of an edge, in light.
const CONTRAST_LEAST: f64 = 0.08;
/// What a fit may leave, root mean square, as a part of the contrast: more is a fold, or something that lies there.
const LEFT_MOST: f64 = 0.06;
/// An edge farther off than this is not the one meant, pixels.
const OFF_MOST_PX: f64 = 1.5;
/// Rounds of the fit.
const ROUNDS: usize = 12;

/// Standard deviation of the blur, pixels: the middle one of all edges measured.
pub(super) fn sigma_px(scene: &Scene<'_>) -> f64 {
    let edges = edges(scene);
    let nth = edges.len().div_ceil(EDGES_MOST).max(1);
    let chosen: Vec<_> = edges.into_iter().step_by(nth).collect();
    let mut widths: Vec<f64> = chosen.par_iter().filter_map(|side| width_px(scene.photo, side)).collect();
    if widths.len() < EDGES_LEAST {
        return USUAL_PX;
    }
    widths.sort_by(f64::total_cmp);
    widths[widths.len() / 2].min(MOST_PX)
}

/// A side of a checker square: its middle in the picture and the direction across it, a unit.
struct Side {
    at: Point,
    across: Vec2,
}

/// The sides of which both ends show and whose white has no tag in it.
fn edges(scene: &Scene<'_>) -> Vec<Side> {
    let shown =
        |sheet: usize, node: (i32, i32)| scene.corners.iter().any(|c| c.sheet == sheet && c.node == node);
    let mut out = Vec::new();
    for corner in scene.corners {
        let Some(sheet) = scene.sheets.iter().find(|s| s.number == corner.sheet) else { continue };
        let (column, row) = corner.node;
        // To the right of the node the white lies above or below, under the node on either side of the line in row `row`.
        let white_row = if (column + row) % 2 == 0 { row - 1 } else { row };
        for (to, white) in [((1, 0), white_row), ((0, 1), row)] {
            // White without a tag stands in the odd rows.
            if white.rem_euclid(2) == 0 || !shown(corner.sheet, (column + to.0, row + to.1)) {
                continue;
            }
            let on = |along: f64| {
                let node = Point::new(f64::from(column), f64::from(row));
                let nominal = node + along * Vec2::new(f64::from(to.0), f64::from(to.1));
                let at = scene.scale.true_from_nominal((nominal.to_vec2() * layout::SQUARE_MM).to_point());
                scene.camera.pixel_from_table(sheet.place.table_from_board(at), sheet.relief.height_at(at))
            };
            if let (Some(at), Some(a), Some(b)) = (on(0.5), on(0.0), on(1.0)) {
                out.push(Side { at, across: (b - a).normalize().turn_90() });
            }
        }
    }
    out
}

/// The blur of one edge, pixels; `None` where none is seen.
fn width_px(photo: &Photo, side: &Side) -> Option<f64> {
    let samples: Vec<(f64, f64)> = (-HALF..=HALF)
        .map(|k| {
            let x = f64::from(k) * FINE_PX;
            Some((x, light_across(photo, side.at + x * side.across, side.across.turn_90())?))
        })
        .collect::<Option<_>>()?;
    let (first, last) = (samples.first()?.1, samples.last()?.1);
    let mut p = Vector4::new(first, last - first, 0.0, USUAL_PX);
    if p[1].abs() < CONTRAST_LEAST {
        return None;
    }
    let mut left = 0.0;
    for _ in 0..ROUNDS {
        let (mut a, mut b) = (Matrix4::identity() * 1e-12, Vector4::zeros());
        left = 0.0;
        for (x, light) in &samples {
            let u = (x - p[2]) / p[3];
            let slope = p[1] * (-0.5 * u * u).exp() / (std::f64::consts::TAU.sqrt() * p[3]);
            let off = light - p[0] - p[1] * smooth_step(u);
            let row = Vector4::new(1.0, smooth_step(u), -slope, -slope * u);
            a += row * row.transpose();
            b += row * off;
            left += off * off;
        }
        p += a.cholesky()?.solve(&b);
        p[3] = p[3].clamp(RANGE_PX.0, RANGE_PX.1);
    }
    let fits = (left / samples.len() as f64).sqrt() < LEFT_MOST * p[1].abs();
    (fits && p[2].abs() < OFF_MOST_PX && p[1].abs() > CONTRAST_LEAST).then_some(p[3])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photo::linear_from_srgb;

    #[test]
    fn the_blur_of_an_edge_is_measured_wherever_it_lies_between_pixels() {
        // Below, pixels are too coarse: what is read between them is wider than what was blurred.
        for (sigma, off) in [(0.8, 0.0), (1.0, 0.3), (1.4, -0.45)] {
            let byte = |x: f64| {
                let light = 0.04 + 0.7 * smooth_step((x - 16.0 - off) / sigma);
                // The byte of that light: the curve's inverse by halving.
                let (mut low, mut high) = (0.0, 255.0);
                for _ in 0..40 {
                    let middle = 0.5 * (low + high);
                    if linear_from_srgb(middle) < light { low = middle } else { high = middle }
                }
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 255")]
                let byte = low.round() as u8;
                byte
            };
            let ycc = (0..32 * 32).map(|k| [byte(f64::from(k % 32)), 128, 128]).collect();
            let photo = Photo { width: 32, height: 32, ycc, focal_35mm: None, taken_with: None };
            let side = Side { at: Point::new(16.2, 15.4), across: Vec2::new(1.0, 0.0) };
            let found = width_px(&photo, &side).expect("an edge");
            assert!((found - sigma).abs() < 0.05 * sigma, "{found} for {sigma}");
        }
    }
}
