//! The lens: from directions to pixels and back.

use crate::geometry::Point;
use nalgebra::{Matrix2, SMatrix, Vector2};

/// Number of the lens's parameters, in the order of [`Lens::to_array`].
pub(super) const LENS_PARAMETERS: usize = 9;

/// A lens with its sensor.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lens {
    /// Focal length along x, pixels.
    pub focal_px: f64,
    /// Focal length along y over that along x, less 1 (square pixels: 0).
    pub aspect: f64,
    /// Principal point, pixels.
    pub centre: Point,
    /// Radial k1, k2, k3.
    pub radial: [f64; 3],
    /// Tangential p1, p2.
    pub tangential: [f64; 2],
}

impl Lens {
    pub(super) fn to_array(self) -> [f64; LENS_PARAMETERS] {
        let ([k1, k2, k3], [p1, p2]) = (self.radial, self.tangential);
        [self.focal_px, self.centre.x, self.centre.y, k1, k2, p1, p2, k3, self.aspect]
    }

    pub(super) fn from_array(a: [f64; LENS_PARAMETERS]) -> Self {
        Self {
            focal_px: a[0],
            centre: Point::new(a[1], a[2]),
            radial: [a[3], a[4], a[7]],
            tangential: [a[5], a[6]],
            aspect: a[8],
        }
    }

    /// The distorted place of a direction (x/z, y/z), and its derivative by the direction.
    pub(super) fn distort(&self, d: Vector2<f64>) -> (Vector2<f64>, Matrix2<f64>) {
        let ([k1, k2, k3], [p1, p2]) = (self.radial, self.tangential);
        let (x, y) = (d.x, d.y);
        let r2 = x * x + y * y;
        let radial = 1.0 + r2 * (k1 + r2 * (k2 + r2 * k3));
        let slope = k1 + r2 * (2.0 * k2 + 3.0 * r2 * k3);
        let out = Vector2::new(
            x * radial + 2.0 * p1 * x * y + p2 * (r2 + 2.0 * x * x),
            y * radial + p1 * (r2 + 2.0 * y * y) + 2.0 * p2 * x * y,
        );
        let cross = 2.0 * x * y * slope + 2.0 * p1 * x + 2.0 * p2 * y;
        let jacobian = Matrix2::new(
            radial + 2.0 * x * x * slope + 2.0 * p1 * y + 6.0 * p2 * x,
            cross,
            cross,
            radial + 2.0 * y * y * slope + 6.0 * p1 * y + 2.0 * p2 * x,
        );
        (out, jacobian)
    }

    /// The pixel of a direction (x/z, y/z); `None` past the place where the model folds back.
    #[must_use]
    pub fn pixel(&self, direction: Vector2<f64>) -> Option<Point> {
        let (d, jacobian) = self.distort(direction);
        (jacobian.determinant() > 0.0).then(|| self.pixel_of_distorted(d))
    }

    /// Pixel of a direction, beyond the fold of the model too: a solve may pass through there.
    pub(super) fn pixel_unfolded(&self, direction: Vector2<f64>) -> Point {
        self.pixel_of_distorted(self.distort(direction).0)
    }

    fn pixel_of_distorted(&self, d: Vector2<f64>) -> Point {
        Point::new(
            self.focal_px * d.x + self.centre.x,
            self.focal_px * (1.0 + self.aspect) * d.y + self.centre.y,
        )
    }

    /// The direction (x/z, y/z) seen at a pixel: Newton's method on the distortion, to 1e-13.
    /// `None` where it does not converge, beyond the fold of the model.
    #[must_use]
    pub fn direction(&self, pixel: Point) -> Option<Vector2<f64>> {
        let wanted = Vector2::new(
            (pixel.x - self.centre.x) / self.focal_px,
            (pixel.y - self.centre.y) / (self.focal_px * (1.0 + self.aspect)),
        );
        let mut d = wanted;
        for _ in 0..20 {
            let (at, jacobian) = self.distort(d);
            let off = at - wanted;
            if jacobian.determinant() <= 0.0 {
                return None;
            }
            d -= jacobian.try_inverse()? * off;
            if off.norm() < 1e-13 {
                return Some(d);
            }
        }
        None
    }

    /// Pixel and its derivatives by direction (2 x 2) and by the lens's parameters (2 x 9).
    pub(super) fn pixel_with_derivatives(
        &self,
        d: Vector2<f64>,
    ) -> (Point, Matrix2<f64>, SMatrix<f64, 2, LENS_PARAMETERS>) {
        let (out, jacobian) = self.distort(d);
        let (fx, fy) = (self.focal_px, self.focal_px * (1.0 + self.aspect));
        let by_direction = Matrix2::new(
            fx * jacobian[(0, 0)],
            fx * jacobian[(0, 1)],
            fy * jacobian[(1, 0)],
            fy * jacobian[(1, 1)],
        );
        let (x, y) = (d.x, d.y);
        let r2 = x * x + y * y;
        let by_lens = SMatrix::<f64, 2, LENS_PARAMETERS>::from_row_slice(&[
            out.x,
            1.0,
            0.0,
            fx * x * r2,
            fx * x * r2 * r2,
            fx * 2.0 * x * y,
            fx * (r2 + 2.0 * x * x),
            fx * x * r2 * r2 * r2,
            0.0,
            (1.0 + self.aspect) * out.y,
            0.0,
            1.0,
            fy * y * r2,
            fy * y * r2 * r2,
            fy * (r2 + 2.0 * y * y),
            fy * 2.0 * x * y,
            fy * y * r2 * r2 * r2,
            fx * out.y,
        ]);
        (self.pixel_of_distorted(out), by_direction, by_lens)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn lens() -> Lens {
        Lens {
            focal_px: 3000.0,
            aspect: 0.002,
            centre: Point::new(1500.0, 2010.0),
            radial: [0.05, -0.11, 0.03],
            tangential: [0.001, -0.0007],
        }
    }

    #[test]
    fn a_pixel_goes_to_its_direction_and_back() {
        for (x, y) in [(0.0, 0.0), (0.4, -0.5), (-0.5, 0.6), (0.01, 0.3)] {
            let pixel = lens().pixel(Vector2::new(x, y)).unwrap();
            let back = lens().direction(pixel).unwrap();
            assert!((back - Vector2::new(x, y)).norm() < 1e-12, "{x} {y}");
        }
    }

    #[test]
    fn derivatives_agree_with_differences() {
        let d = Vector2::new(0.31, -0.42);
        let (at, by_direction, by_lens) = lens().pixel_with_derivatives(d);
        let step = 1e-6;
        for k in 0..2 {
            let mut e = d;
            e[k] += step;
            let moved = (lens().pixel(e).unwrap() - at) / step;
            assert!(
                (moved.x - by_direction[(0, k)]).abs() < 0.05
                    && (moved.y - by_direction[(1, k)]).abs() < 0.05
            );
        }
        for k in 0..LENS_PARAMETERS {
            let mut a = lens().to_array();
            let step = 1e-6 * a[k].abs().max(1e-2);
            a[k] += step;
            let moved = (Lens::from_array(a).pixel(d).unwrap() - at) / step;
            for (row, value) in [moved.x, moved.y].into_iter().enumerate() {
                let exact = by_lens[(row, k)];
                assert!(
                    (value - exact).abs() < 1e-3 * (1.0 + exact.abs()),
                    "parameter {k} row {row}: {value} {exact}"
                );
            }
        }
    }
}
