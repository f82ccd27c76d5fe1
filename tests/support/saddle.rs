//! The place of a checker corner, to a hundredth of a pixel or two, in any picture.
//!
//! A quadratic a + b·p + pᵀ C p is fitted to the lightly blurred levels about the first guess; its saddle is the next
//! guess. L. Lucchese and S. K. Mitra, "Using saddle points for subpixel feature detection in camera calibration
//! targets", APCCAS 2002, doi:10.1109/APCCAS.2002.1115151. Written apart from the product's own refinement, so that
//! the one can be compared with the other.

use nalgebra::{SMatrix, SVector};
use onfold::geometry::{Point, Vec2};

/// Fits are repeated until the place moves less than this, pixels, or this often.
const DONE_PX: f64 = 1e-4;
const ROUNDS: usize = 25;

/// A grey picture, row by row.
#[derive(Debug, Clone)]
pub(crate) struct Grey {
    pub(crate) width: usize,
    pub(crate) height: usize,
    pub(crate) levels: Vec<f32>,
}

impl Grey {
    /// ITU-R BT.601 luma of an sRGB picture.
    pub(crate) fn from_rgb(width: usize, height: usize, rgb: &[u8]) -> Self {
        let levels = rgb
            .chunks_exact(3)
            .map(|p| 0.299 * f32::from(p[0]) + 0.587 * f32::from(p[1]) + 0.114 * f32::from(p[2]))
            .collect();
        Self { width, height, levels }
    }

    /// Bilinear level; `None` outside.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "inside the picture")]
    #[expect(clippy::cast_precision_loss, reason = "picture sizes are small")]
    pub(crate) fn at(&self, p: Point) -> Option<f64> {
        let inside =
            p.x >= 0.0 && p.y >= 0.0 && p.x < self.width as f64 - 1.0 && p.y < self.height as f64 - 1.0;
        inside.then(|| {
            let (i, j) = (p.x as usize, p.y as usize);
            let (u, v) = (p.x - i as f64, p.y - j as f64);
            let level = |i: usize, j: usize| f64::from(self.levels[j * self.width + i]);
            (level(i, j) * (1.0 - u) + level(i + 1, j) * u) * (1.0 - v)
                + (level(i, j + 1) * (1.0 - u) + level(i + 1, j + 1) * u) * v
        })
    }

    /// The same blurred by three box passes of this reach, near a Gaussian.
    #[expect(clippy::cast_precision_loss, reason = "picture sizes are small")]
    pub(crate) fn softened(&self, reach: usize) -> Self {
        let mut out = self.clone();
        for _ in 0..3 {
            for along_x in [true, false] {
                let (lines, count) =
                    if along_x { (self.height, self.width) } else { (self.width, self.height) };
                let index = |line: usize, k: usize| {
                    if along_x { line * self.width + k } else { k * self.width + line }
                };
                for line in 0..lines {
                    let row: Vec<f32> = (0..count).map(|k| out.levels[index(line, k)]).collect();
                    for k in 0..count {
                        let span = k.saturating_sub(reach)..=(k + reach).min(count - 1);
                        let n = span.clone().count() as f32;
                        out.levels[index(line, k)] = row[span].iter().sum::<f32>() / n;
                    }
                }
            }
        }
        out
    }

    /// The saddle nearest to `guess`, from a disc of `radius_px`; `None` when there is none within the disc.
    pub(crate) fn saddle(&self, guess: Point, radius_px: f64) -> Option<Point> {
        let mut at = guess;
        for _ in 0..ROUNDS {
            let mut normal = SMatrix::<f64, 6, 6>::zeros();
            let mut right = SVector::<f64, 6>::zeros();
            let steps = radius_px.ceil();
            let mut y = -steps;
            while y <= steps {
                let mut x = -steps;
                while x <= steps {
                    let weight = (1.0 - (x * x + y * y) / (radius_px * radius_px)).max(0.0);
                    if weight > 0.0 {
                        let row = SVector::<f64, 6>::from([1.0, x, y, x * x, x * y, y * y]);
                        normal += weight * row * row.transpose();
                        right += weight * self.at(at + Vec2::new(x, y))? * row;
                    }
                    x += 1.0;
                }
                y += 1.0;
            }
            let [_, b, c, d, e, f] = normal.cholesky()?.solve(&right).into();
            let det = 4.0 * d * f - e * e;
            if det >= 0.0 {
                return None;
            }
            let step = Vec2::new(e * c - 2.0 * f * b, e * b - 2.0 * d * c) / det;
            at += step;
            if at.distance(guess) > radius_px {
                return None;
            }
            if step.hypot() < DONE_PX {
                return Some(at);
            }
        }
        None
    }
}
