//! A checker corner to a few hundredths of a pixel.
//!
//! Method: the saddle point of a quadratic surface fitted to the grey round the corner, the window moved
//! to the saddle until it rests there, so that the symmetry of the corner cancels what the surface cannot
//! follow (L. Lucchese and S. K. Mitra, "Using saddle points for subpixel feature detection in camera
//! calibration targets", APCCAS 2002, doi:10.1109/APCCAS.2002.1115151).

use crate::geometry::Point;
use crate::photo::Photo;
use nalgebra::{SMatrix, SVector};

/// A refined corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Refined {
    /// The saddle, photograph pixels.
    pub at: Point,
    /// How strongly the grey bends there: √(−det) of the fitted Hessian, grey levels per pixel².
    pub strength: f64,
    /// Direction of the line that halves the angle between the light squares' sides, radians, 0 to π: their diagonal where
    /// they are seen straight on.
    pub light_axis: f64,
}

/// Window radius in pixels for squares of this many pixels. The tag begins a tenth of a square away, so
/// a larger window would take in its edge (0.08 keeps clear of it under blur); under 2 px noise wins.
#[must_use]
pub fn window_px(square_px: f64) -> f64 {
    (0.08 * square_px).clamp(2.0, 5.0)
}

/// Times the window is moved; it rests after three or four.
const MOVES: usize = 8;
/// At rest when the saddle moves less than this, pixels.
const AT_REST_PX: f64 = 0.002;
/// Light blur before the fit: the window's samples are bilinear, which blurs by about half a pixel.
const WEIGHT_SIGMA: f64 = 0.6;

/// The checker corner near `start`, looked for within `reach` pixels, with a window of radius `radius`.
/// `None` when there is no saddle, it lies too far away or outside the picture.
#[must_use]
pub fn refine_corner(photo: &Photo, start: Point, radius: f64, reach: f64) -> Option<Refined> {
    let mut at = start;
    #[expect(clippy::cast_possible_truncation, reason = "a few pixels")]
    let n = radius.ceil() as i32;
    for _ in 0..MOVES {
        let mut normal = SMatrix::<f64, 6, 6>::zeros();
        let mut right = SVector::<f64, 6>::zeros();
        for j in -n..=n {
            for i in -n..=n {
                let (x, y) = (f64::from(i), f64::from(j));
                let r2 = (x * x + y * y) / (radius * radius);
                if r2 > 1.2 {
                    continue;
                }
                let weight = (-0.5 * r2 / (WEIGHT_SIGMA * WEIGHT_SIGMA)).exp();
                let v = photo.luma(at.x + x, at.y + y)?;
                let row = SVector::<f64, 6>::from([x * x, x * y, y * y, x, y, 1.0]);
                normal += row * row.transpose() * weight;
                right += row * (weight * v);
            }
        }
        let c = normal.cholesky()?.solve(&right);
        let (xx, xy, yy) = (2.0 * c[0], c[1], 2.0 * c[2]);
        let det = xx * yy - xy * xy;
        if det >= 0.0 {
            return None;
        }
        let step = kurbo::Vec2::new(-(yy * c[3] - xy * c[4]) / det, -(xx * c[4] - xy * c[3]) / det);
        let limited = if step.hypot() > radius { step * (radius / step.hypot()) } else { step };
        at += limited;
        if at.distance(start) > reach {
            return None;
        }
        if step.hypot() < AT_REST_PX {
            // The grey grows fastest away from the saddle along the eigenvector of the larger eigenvalue.
            let light_axis = (0.5 * (2.0 * xy).atan2(xx - yy)).rem_euclid(std::f64::consts::PI);
            return Some(Refined { at, strength: (-det).sqrt(), light_axis });
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use kurbo::Vec2;

    #[test]
    fn the_light_axis_halves_the_sides_angle_however_foreshortened() {
        // Sides of a square seen at a slant: 40 by 15 pixels, sheared. Its diagonal is 20 degrees and more off the axis.
        for (across, down) in [((40.0, 6.0), (-4.0, 15.0)), ((36.0, -9.0), (3.0, 14.0))] {
            let (across, down) = (Vec2::from(across), Vec2::from(down));
            let middle = Point::new(32.3, 31.8);
            // Steps a pixel wide across both sides; light where both are ahead or both behind.
            let step = |at: Point, side: Vec2| {
                let off = side.normalize().cross(at - middle);
                (0.5 + off).clamp(0.0, 1.0) * 2.0 - 1.0
            };
            let byte = |x: usize, y: usize| {
                let at = Point::new(x as f64, y as f64);
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "30 to 230")]
                let byte = (130.0 - 100.0 * step(at, across) * step(at, down)) as u8;
                byte
            };
            let ycc = (0..64 * 64).map(|k| [byte(k % 64, k / 64), 128, 128]).collect();
            let photo = Photo { width: 64, height: 64, ycc, focal_35mm: None, taken_with: None };
            let found = refine_corner(&photo, Point::new(32.0, 32.0), 3.0, 2.0).expect("a corner");
            assert!(found.at.distance(middle) < 0.05, "{:?}", found.at);
            let off = |axis: Vec2| {
                let turn = (found.light_axis - axis.atan2()).rem_euclid(std::f64::consts::PI);
                turn.min(std::f64::consts::PI - turn).to_degrees()
            };
            assert!(off(across.normalize() + down.normalize()) < 3.0, "{}", found.light_axis);
            assert!(off(across + down) > 15.0, "the diagonal is another line");
        }
    }
}
