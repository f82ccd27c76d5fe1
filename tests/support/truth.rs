//! Truth files of rendered photographs: `testdata/*.truth.json` and those of `../shared/photos`.
//!
//! Garment frame: x right, y down, millimetres, mirror axis x = 0.

use super::camera::Camera;
use nalgebra::{Matrix3, Vector3};
use onfold::geometry::{Affine, CubicBez, PathSeg, Point};
use serde_json::Value;
use std::path::Path;

/// Spacing of the points taken along exact segments, millimetres.
const SPACING_MM: f64 = 0.4;

/// What is known of one photograph.
#[derive(Debug, Clone)]
pub(crate) struct Truth {
    pub(crate) thickness_mm: f64,
    /// Dense closed outline as worn, garment frame.
    pub(crate) outline: Vec<Point>,
    /// Dense closed holes.
    pub(crate) holes: Vec<Vec<Point>>,
    /// Dense closed symmetric outline before wear.
    pub(crate) design: Vec<Point>,
    /// Corners of the outline.
    pub(crate) corners: Vec<Point>,
    /// Table from garment.
    pub(crate) table_from_garment: Affine,
    /// Sheet number from 0, and table from board.
    pub(crate) sheets: Vec<(usize, Affine)>,
    /// Height of each sheet's face above the table.
    pub(crate) sheet_heights_mm: Vec<f64>,
    pub(crate) camera: Camera,
}

impl Truth {
    pub(crate) fn read(path: &Path) -> Self {
        let text = std::fs::read_to_string(path).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        let v: Value = serde_json::from_str(&text).expect("a truth file");
        let garment = &v["garment"];
        let [x, y, turn_deg] = numbers(&garment["pose_x_y_theta_deg_garment_to_table"])[..] else {
            panic!("a pose has three numbers")
        };
        let holes = garment["holes_segments_garment"].as_array().map(Vec::as_slice).unwrap_or_default();
        Self {
            thickness_mm: number(&garment["thickness_mm"]),
            outline: ring(&garment["outline_segments_garment"]),
            holes: holes.iter().map(ring).collect(),
            design: ring(&v["design"]["outline_segments_garment"]),
            corners: list(&garment["corners_garment"]).iter().map(|c| point(&c["p"])).collect(),
            table_from_garment: Affine::translate((x, y)) * Affine::rotate(turn_deg.to_radians()),
            sheets: list(&v["sheets"]["list"]).iter().map(sheet).collect(),
            sheet_heights_mm: list(&v["sheets"]["list"])
                .iter()
                .filter_map(|s| s["height_mm"].as_f64())
                .collect(),
            camera: camera(&v["camera_upright"]),
        }
    }
}

fn list(v: &Value) -> &[Value] {
    v.as_array().expect("a list")
}

fn number(v: &Value) -> f64 {
    v.as_f64().expect("a number")
}

fn numbers(v: &Value) -> Vec<f64> {
    list(v).iter().map(number).collect()
}

fn point(v: &Value) -> Point {
    Point::new(number(&v[0]), number(&v[1]))
}

fn sheet(v: &Value) -> (usize, Affine) {
    let (a, b) = (&v["A"], numbers(&v["b"]));
    let [xx, xy, yx, yy] = [(0, 0), (0, 1), (1, 0), (1, 1)].map(|(r, c)| number(&a[r][c]));
    let number = usize::try_from(v["s"].as_u64().expect("a sheet number")).expect("small");
    (number, Affine::new([xx, yx, xy, yy, b[0], b[1]]))
}

fn camera(v: &Value) -> Camera {
    let matrix = |v: &Value| Matrix3::from_row_iterator(list(v).iter().flat_map(numbers));
    let k = matrix(&v["K"]);
    let size: Vec<usize> = list(&v["size"])
        .iter()
        .map(|n| usize::try_from(n.as_u64().expect("pixels")).expect("small"))
        .collect();
    let distortion = numbers(&v["distortion_k1_k2_p1_p2_k3"]);
    Camera {
        width: size[0],
        height: size[1],
        focal: [k[(0, 0)], k[(1, 1)]],
        centre: [k[(0, 2)], k[(1, 2)]],
        distortion: distortion.try_into().expect("five terms"),
        rotation: matrix(&v["R"]),
        translation: Vector3::from_iterator(numbers(&v["t"])),
    }
}

/// A ring of exact segments as dense points.
fn ring(v: &Value) -> Vec<Point> {
    use kurbo::{ParamCurve, ParamCurveArclen};
    let mut out = Vec::new();
    for segment in list(v) {
        let p: Vec<Point> = list(&segment["points"]).iter().map(point).collect();
        let segment = match p[..] {
            [a, b] => PathSeg::Line(kurbo::Line::new(a, b)),
            [a, b, c, d] => PathSeg::Cubic(CubicBez::new(a, b, c, d)),
            _ => panic!("a segment has two or four points"),
        };
        let steps = (segment.arclen(1e-3) / SPACING_MM).ceil().max(1.0);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few thousand")]
        out.extend((0..steps as u32).map(|k| segment.eval(f64::from(k) / steps)));
    }
    out
}
