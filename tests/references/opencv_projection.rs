//! Projection and lens distortion against OpenCV.
//!
//! Tool: OpenCV 5.0.0 (Apache-2.0) with numpy 2.4.6 from PyPI, 2026-11-25. Command:
//!
//! ```text
//! python3 - <<END
//! import numpy as np, cv2
//! rvec = np.array([0.31, -0.12, 0.4]); tvec = np.array([-40.0, 25.0, 900.0])
//! K = np.array([[3028.664, 0, 1522.5], [0, 3031.25, 2007.5], [0, 0, 1.0]])
//! d = np.array([0.045, -0.11, 0.0006, -0.0004, 0.05])
//! P = np.array([[0, 0, 0], [200, -150, 0], [-300, 400, 0], [350, 420, -2.4], [-260, -380, -1.1]], float)
//! print(cv2.projectPoints(P, rvec, tvec, K, d)[0], cv2.Rodrigues(rvec)[0])
//! print(cv2.undistortPointsIter(np.array([[[100.0, 200]], [[2900.0, 3900]]]), K, d, np.eye(3), np.eye(3), (3, 200, 1e-15)))
//! END
//! ```

use crate::support::camera::Camera;
use nalgebra::{Matrix3, Vector3};
use onfold::geometry::Point;

const ROTATION: [f64; 9] = [
    0.914_747_995_227,
    -0.400_393_489_806,
    -0.054_047_743_243,
    0.364_024_515_293,
    0.874_810_559_504,
    -0.319_675_831_501,
    0.175_277_658_287,
    0.272_748_122_451,
    0.945_984_251_563,
];

/// Table x, y, height above the table (z = -height), and the pixel.
const PROJECTED: [([f64; 3], [f64; 2]); 5] = [
    ([0.0, 0.0, 0.0], [1_387.863_583, 2_091.722_524]),
    ([200.0, -150.0, 0.0], [2_211.347_253, 1_894.099_693]),
    ([-300.0, 400.0, 0.0], [11.195_982, 2_854.765_483]),
    ([350.0, 420.0, 2.4], [1_840.293_938, 3_486.092_793]),
    ([-260.0, -380.0, 1.1], [1_012.452_514, 376.882_830]),
];

/// Pixel, and the same freed of distortion, in units of the focal length.
const FREED: [([f64; 2], [f64; 2]); 2] = [
    ([100.0, 200.0], [-0.470_117_827_3, -0.597_486_968_5]),
    ([2_900.0, 3_900.0], [0.455_675_349_9, 0.624_814_537_3]),
];

/// The values above are printed to this many pixels.
const PRINTED_PX: f64 = 1e-6;

fn camera() -> Camera {
    Camera {
        width: 3024,
        height: 4032,
        focal: [3_028.664, 3_031.25],
        centre: [1_522.5, 2_007.5],
        distortion: [0.045, -0.11, 0.0006, -0.0004, 0.05],
        rotation: Matrix3::from_row_slice(&ROTATION),
        translation: Vector3::new(-40.0, 25.0, 900.0),
    }
}

#[test]
fn the_renderers_camera_projects_as_opencv_does() {
    let camera = camera();
    for ([x, y, height], [u, v]) in PROJECTED {
        let pixel = camera.project(Point::new(x, y), height).unwrap();
        let error = pixel.distance(Point::new(u, v));
        assert!(error < 2.0 * PRINTED_PX, "({x}, {y}, {height}) lands {error} px from OpenCV's place");
    }
}

#[test]
fn the_renderers_camera_takes_distortion_off_as_opencv_does() {
    let camera = camera();
    for ([u, v], [x, y]) in FREED {
        // The ray of that pixel, met with the table.
        let ray = camera.rotation.transpose() * Vector3::new(x, y, 1.0);
        let (foot, rise) = camera.standpoint();
        let expected = Point::new(foot.x + rise / ray.z * ray.x, foot.y + rise / ray.z * ray.y);
        let table = camera.table_at(Point::new(u, v), 0.0).unwrap();
        assert!(table.distance(expected) < 1e-5, "pixel ({u}, {v}): {table:?}, not {expected:?} mm");
    }
}
