//! The camera of the renderer: a pinhole with OpenCV's five distortion terms, written from OpenCV's manual
//! ("Camera Calibration and 3D Reconstruction", detailed description) and apart from the product's camera.
//!
//! Table frame: x right, y down, millimetres, z into the table; a point at height h has z = -h.
//! `x_camera = rotation * x_table + translation`. The centre of the first pixel is (0, 0).

use nalgebra::{Matrix3, Rotation3, Vector3};
use onfold::geometry::Point;

/// Newton steps stop when the distorted point is this near, in units of the focal length (1e-9 px and less).
const UNDISTORT_DONE: f64 = 1e-13;
/// Newton steps at most; three or four are enough for the lenses of photographs.
const UNDISTORT_STEPS: usize = 30;

#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Camera {
    pub(crate) width: usize,
    pub(crate) height: usize,
    /// Focal lengths, pixels.
    pub(crate) focal: [f64; 2],
    /// Principal point, pixels.
    pub(crate) centre: [f64; 2],
    /// k1 k2 p1 p2 k3.
    pub(crate) distortion: [f64; 5],
    pub(crate) rotation: Matrix3<f64>,
    pub(crate) translation: Vector3<f64>,
}

impl Camera {
    /// A camera without distortion that looks at `target` on the table from `distance_mm`, leaning back by
    /// `tilt_deg` from straight down (its foot is moved towards the bottom of the picture) and turned by
    /// `turn_deg` about its axis.
    #[expect(clippy::cast_precision_loss, reason = "picture sizes are small")]
    pub(crate) fn over(
        (width, height): (usize, usize),
        focal_px: f64,
        target: Point,
        distance_mm: f64,
        (tilt_deg, turn_deg): (f64, f64),
    ) -> Self {
        let lean = Rotation3::from_axis_angle(&Vector3::x_axis(), -tilt_deg.to_radians());
        let turn = Rotation3::from_axis_angle(&Vector3::z_axis(), turn_deg.to_radians());
        let rotation = (lean * turn).into_inner();
        let translation =
            Vector3::new(0.0, 0.0, distance_mm) - rotation * Vector3::new(target.x, target.y, 0.0);
        Self {
            width,
            height,
            focal: [focal_px; 2],
            centre: [(width as f64 - 1.0) / 2.0, (height as f64 - 1.0) / 2.0],
            distortion: [0.0; 5],
            rotation,
            translation,
        }
    }

    /// The same with these distortion terms and the principal point moved by so many pixels.
    pub(crate) fn with_lens(mut self, distortion: [f64; 5], moved_px: (f64, f64)) -> Self {
        self.distortion = distortion;
        self.centre = [self.centre[0] + moved_px.0, self.centre[1] + moved_px.1];
        self
    }

    /// Where the camera stands: table x, y and height above the table, millimetres.
    pub(crate) fn standpoint(&self) -> (Point, f64) {
        let c = -(self.rotation.transpose() * self.translation);
        (Point::new(c.x, c.y), -c.z)
    }

    /// Pixel of a point at height `height_mm` above the table; `None` behind the camera.
    pub(crate) fn project(&self, at: Point, height_mm: f64) -> Option<Point> {
        let p = self.rotation * Vector3::new(at.x, at.y, -height_mm) + self.translation;
        (p.z > 0.0).then(|| {
            let (d, _) = self.distort(p.x / p.z, p.y / p.z);
            Point::new(self.focal[0] * d.0 + self.centre[0], self.focal[1] * d.1 + self.centre[1])
        })
    }

    /// Point at height `height_mm` above the table seen at a pixel; `None` when that ray does not come down there.
    pub(crate) fn table_at(&self, pixel: Point, height_mm: f64) -> Option<Point> {
        let aim = ((pixel.x - self.centre[0]) / self.focal[0], (pixel.y - self.centre[1]) / self.focal[1]);
        let ray = self.undistort(aim)?;
        let turned = self.rotation.transpose() * Vector3::new(ray.0, ray.1, 1.0);
        let (foot, rise) = self.standpoint();
        let along = (rise - height_mm) / turned.z;
        (along > 0.0).then(|| Point::new(foot.x + along * turned.x, foot.y + along * turned.y))
    }

    /// The distorted place of (x, y) in units of the focal length, and its derivatives
    /// [dx'/dx, dx'/dy, dy'/dx, dy'/dy]:
    /// x' = x g + 2 p1 x y + p2 (r² + 2x²), y' = y g + p1 (r² + 2y²) + 2 p2 x y, g = 1 + k1 r² + k2 r⁴ + k3 r⁶.
    fn distort(&self, x: f64, y: f64) -> ((f64, f64), [f64; 4]) {
        let [k1, k2, p1, p2, k3] = self.distortion;
        let r2 = x * x + y * y;
        let g = 1.0 + r2 * (k1 + r2 * (k2 + r2 * k3));
        let dg = 2.0 * (k1 + r2 * (2.0 * k2 + 3.0 * r2 * k3));
        let to = (
            x * g + 2.0 * p1 * x * y + p2 * (r2 + 2.0 * x * x),
            y * g + p1 * (r2 + 2.0 * y * y) + 2.0 * p2 * x * y,
        );
        let cross = x * y * dg + 2.0 * p1 * x + 2.0 * p2 * y;
        let slopes = [
            g + x * x * dg + 2.0 * p1 * y + 6.0 * p2 * x,
            cross,
            cross,
            g + y * y * dg + 6.0 * p1 * y + 2.0 * p2 * x,
        ];
        (to, slopes)
    }

    /// The place that is distorted to (u, v), by Newton's method; `None` where the lens folds.
    fn undistort(&self, (u, v): (f64, f64)) -> Option<(f64, f64)> {
        let (mut x, mut y) = (u, v);
        for _ in 0..UNDISTORT_STEPS {
            let ((a, b), [xx, xy, yx, yy]) = self.distort(x, y);
            let (e, f) = (u - a, v - b);
            if e.hypot(f) < UNDISTORT_DONE {
                return Some((x, y));
            }
            let det = xx * yy - xy * yx;
            if det <= 0.0 {
                return None;
            }
            x += (yy * e - xy * f) / det;
            y += (xx * f - yx * e) / det;
        }
        None
    }
}
