//! The joint solve against a published camera calibration.
//!
//! Photographs: `../shared/real/boofcv_sony_hx5v_chess`, thirteen of a printed chessboard of 7 x 5 squares of 30 mm
//! (Peter Abeles, BoofCV-Data @ cc6d8adf, example/calibration/mono/Sony_DSC-HX5V_Chess, CC BY 4.0). Published with them,
//! `intrinsic.yaml` (BoofCV 0.39-SNAPSHOT a9ab9041): fx 701.0117, fy 698.6538, cx 308.4552, cy 246.8430, k1 -0.255592,
//! k2 0.099971, radial distortion only. Second opinion: OpenCV 5.0.0, `findChessboardCornersSB` and `calibrateCamera`
//! with k1 and k2: fx 701.75, fy 699.16, cx 307.54, cy 245.75, residual 0.148 px.

use crate::support::{chessboard, real, saddle::Grey};
use onfold::camera::{Observation, PhotoFacts, Priors, solve};
use onfold::geometry::Point;
use onfold::photo::{Limits, decode};
use onfold::sheet::{refine_corner, window_px};

const PHOTOS: usize = 13;
const SQUARE_MM: f64 = 30.0;
const FOCAL_PX: (f64, f64) = (701.011_7, 698.653_8);
const CENTRE_PX: (f64, f64) = (308.455_2, 246.843_0);
/// OpenCV's residual, root mean square, pixels.
const OPENCV_RMS_PX: f64 = 0.148;
/// How near the focal lengths must come, relative.
const FOCAL_NEAR: f64 = 0.002;
/// How near the principal point must come: the paper is not quite flat, and plain least squares (OpenCV's) on the very
/// corners of this test lands 1.9 px from the published one, its own corners 1.4 px.
const CENTRE_NEAR_PX: f64 = 3.0;

/// Nothing is believed of the lens beforehand, but that it has k1 and k2 only, as in the published model.
const PRIORS: Priors =
    Priors { focal: 10.0, centre: 1.0, radial: [10.0, 10.0, 1e-9], tangential: 1e-9, aspect: 1.0 };

#[test]
fn the_joint_solve_finds_the_published_lens() {
    let Some(folder) = real::folder("real/boofcv_sony_hx5v_chess") else { return };
    let mut seen = Vec::new();
    for photo in 0..PHOTOS {
        let bytes = std::fs::read(folder.join(format!("frame{:02}.jpg", photo + 1))).unwrap();
        let picture = decode(&bytes, Limits::default()).unwrap();
        let levels = picture.ycc.iter().map(|p| f32::from(p[0])).collect();
        let net = chessboard::find(&Grey { width: picture.width, height: picture.height, levels });
        assert_eq!(net.len(), 24, "inner corners in photograph {}", photo + 1);
        for (&(column, row), &rough) in &net {
            let square_px =
                net.get(&(column + 1, row)).or(net.get(&(column - 1, row))).unwrap().distance(rough);
            let refined = refine_corner(&picture, rough, window_px(square_px), 2.0).expect("a corner");
            let on_board = SQUARE_MM * Point::new(f64::from(column), f64::from(row)).to_vec2();
            seen.push(Observation {
                photo,
                board: 0,
                on_board: on_board.to_point(),
                pixel: refined.at,
                sigma_px: 0.1,
            });
        }
    }
    let facts = vec![PhotoFacts { width: 640, height: 480, lens: 0, focal_35mm: None }; PHOTOS];
    let solution = solve(&facts, 1, &seen, &PRIORS).unwrap();
    let lens = &solution.cameras[0].lens;
    println!("{lens:?}\nresidual {:.4} px", solution.rms_px);
    let focal = (lens.focal_px, lens.focal_px * (1.0 + lens.aspect));
    let near = |ours: f64, published: f64| (ours / published - 1.0).abs() <= FOCAL_NEAR;
    assert!(near(focal.0, FOCAL_PX.0) && near(focal.1, FOCAL_PX.1), "focal lengths {focal:?} px");
    let centre = Point::new(CENTRE_PX.0, CENTRE_PX.1);
    assert!(lens.centre.distance(centre) <= CENTRE_NEAR_PX, "principal point {:?}", lens.centre);
    assert!(solution.rms_px <= OPENCV_RMS_PX, "residual {:.4} px", solution.rms_px);
}
