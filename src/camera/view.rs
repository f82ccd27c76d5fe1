//! A camera in its place: table to pixel and back.

use super::Lens;
use crate::geometry::{Point, Vec2};
use nalgebra::{Matrix2, Rotation3, Vector2, Vector3};

/// Where the camera stands: camera = rotation · table + shift.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pose {
    /// Camera axes from table axes.
    pub rotation: Rotation3<f64>,
    /// Millimetres.
    pub shift: Vector3<f64>,
}

/// One photograph's camera.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Camera {
    /// The lens.
    pub lens: Lens,
    /// Its pose.
    pub pose: Pose,
    /// Picture width, pixels.
    pub width: usize,
    /// Picture height, pixels.
    pub height: usize,
}

impl Camera {
    /// The pixel of a table place at a height above the table, millimetres.
    /// `None` behind the camera or where the lens model folds.
    #[must_use]
    pub fn pixel_from_table(&self, at: Point, height_mm: f64) -> Option<Point> {
        let p = self.pose.rotation * Vector3::new(at.x, at.y, -height_mm) + self.pose.shift;
        if p.z <= 1.0 {
            return None;
        }
        self.lens.pixel(Vector2::new(p.x / p.z, p.y / p.z))
    }

    /// The table place seen at a pixel, if what is seen lies at this height.
    /// `None` where the ray does not meet that plane.
    #[must_use]
    pub fn table_from_pixel(&self, pixel: Point, height_mm: f64) -> Option<Point> {
        let d = self.lens.direction(pixel)?;
        let back = self.pose.rotation.inverse();
        let ray = back * Vector3::new(d.x, d.y, 1.0);
        let from = self.centre();
        let k = (-height_mm - from.z) / ray.z;
        (k > 0.0 && k.is_finite()).then(|| Point::new(from.x + k * ray.x, from.y + k * ray.y))
    }

    /// The camera's centre in the table frame, millimetres (z negative: above the table).
    #[must_use]
    pub fn centre(&self) -> Vector3<f64> {
        -(self.pose.rotation.inverse() * self.pose.shift)
    }

    /// How a point at this place seems to shift on the table for each millimetre it is raised: away from
    /// the foot of the camera's perpendicular, (place - foot) / camera height.
    #[must_use]
    pub fn lean(&self, at: Point) -> Vec2 {
        let c = self.centre();
        (at - Point::new(c.x, c.y)) / -c.z
    }

    /// Derivative of the pixel by the table place at height 0: columns are one millimetre along x and y.
    /// `None` where the place is not seen.
    #[must_use]
    pub fn pixels_per_mm(&self, at: Point) -> Option<Matrix2<f64>> {
        let p = self.pose.rotation * Vector3::new(at.x, at.y, 0.0) + self.pose.shift;
        if p.z <= 1.0 {
            return None;
        }
        let d = Vector2::new(p.x / p.z, p.y / p.z);
        let (_, by_direction, _) = self.lens.pixel_with_derivatives(d);
        let r = self.pose.rotation.matrix();
        let column =
            |k: usize| Vector2::new((r[(0, k)] - d.x * r[(2, k)]) / p.z, (r[(1, k)] - d.y * r[(2, k)]) / p.z);
        Some(by_direction * Matrix2::from_columns(&[column(0), column(1)]))
    }

    /// Angle between the view at the picture's middle and the perpendicular to the table, degrees.
    #[must_use]
    pub fn tilt_deg(&self) -> f64 {
        (self.pose.rotation.matrix()[(2, 2)]).clamp(-1.0, 1.0).acos().to_degrees()
    }

    /// True when a pixel lies on the picture.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "picture sizes are far below 2^52")]
    pub fn sees(&self, pixel: Point) -> bool {
        pixel.x >= 0.0
            && pixel.y >= 0.0
            && pixel.x <= (self.width - 1) as f64
            && pixel.y <= (self.height - 1) as f64
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn table_and_pixel_go_there_and_back_at_any_height() {
        let camera = Camera {
            lens: Lens {
                focal_px: 2900.0,
                aspect: 0.0,
                centre: Point::new(1500.0, 2000.0),
                radial: [0.08, -0.1, 0.0],
                tangential: [0.0005, -0.0005],
            },
            pose: Pose {
                rotation: Rotation3::from_euler_angles(0.5, -0.1, 0.3),
                shift: Vector3::new(20.0, -50.0, 1300.0),
            },
            width: 3000,
            height: 4000,
        };
        let mut checked = 0;
        for x in [-300.0, 0.0, 250.0] {
            for y in [-300.0, 10.0, 400.0] {
                for height in [0.0, 2.5] {
                    let at = Point::new(x, y);
                    let pixel = camera.pixel_from_table(at, height).unwrap();
                    assert!(camera.table_from_pixel(pixel, height).unwrap().distance(at) < 1e-7);
                    checked += 1;
                }
                let at = Point::new(x, y);
                let raised = camera.pixel_from_table(at, 1.0).unwrap();
                let seen = camera.table_from_pixel(raised, 0.0).unwrap();
                assert!((seen - at - camera.lean(at)).hypot() < 2e-3, "the lean is the first-order shift");
                let j = camera.pixels_per_mm(at).unwrap();
                let moved = camera.pixel_from_table(Point::new(x + 1e-3, y), 0.0).unwrap()
                    - camera.pixel_from_table(at, 0.0).unwrap();
                assert!((moved.x * 1e3 - j[(0, 0)]).abs() < 1e-3 && (moved.y * 1e3 - j[(1, 0)]).abs() < 1e-3);
            }
        }
        assert_eq!(checked, 18);
    }
}
