//! `onfold export` as a person types it, on a pattern folder made for the purpose.
#![allow(clippy::unwrap_used, reason = "a test stops where something is not as it should be")]

use assert_cmd::Command;
use kurbo::{Circle, Line, Shape};
use onfold::curve::Fitted;
use onfold::geometry::{CubicBez, PathSeg, Ring, Trace};
use onfold::pattern::{Traced, TracedRing};
use onfold::shelf::{self, NewPattern, PatternFile};
use std::path::Path;

/// Radius of the hole, millimetres.
const HOLE_MM: f64 = 6.0;

fn traced_ring(ring: Ring) -> TracedRing {
    let fitted = Fitted { ring, corners: vec![0, 1], worst_mm: 0.0, rms_mm: 0.0, sigma_mm: 0.1, strays: 0 };
    TracedRing { fitted, trace: Trace::default() }
}

/// A shape with a straight top of 200 mm and a round bottom, and a hole in it.
fn outer() -> Ring {
    let (a, b) = ((40.0, 30.0), (240.0, 30.0));
    let bottom = CubicBez::new(b, (240.0, 300.0), (40.0, 300.0), a);
    Ring::new(vec![PathSeg::Line(Line::new(a, b)), PathSeg::Cubic(bottom)]).unwrap()
}

fn folder(at: &Path) {
    let circle = Circle::new((140.0, 90.0), HOLE_MM).to_path(1e-6).reverse_subpaths();
    let hole = Ring::new(circle.segments().filter(|s| matches!(s, PathSeg::Cubic(_))).collect()).unwrap();
    let pattern = NewPattern {
        traced: Traced { outer: traced_ring(outer()), holes: vec![traced_ring(hole)] },
        file: PatternFile::default(),
        facts: Vec::new(),
        report: serde_json::json!({}),
        pictures: Vec::new(),
    };
    shelf::create(at, &pattern, false).unwrap();
}

fn export(dir: &Path, format: &str) -> Vec<u8> {
    let mut command = Command::cargo_bin("onfold").unwrap();
    command.arg("export").arg(dir).args(["--stage", "traced", "--format", format, "--out", "-"]);
    let output = command.output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    output.stdout
}

#[test]
fn the_traced_outline_is_written_in_every_format() {
    let place = tempfile::tempdir().unwrap();
    let dir = place.path().join("pouch");
    folder(&dir);

    let value: serde_json::Value = serde_json::from_slice(&export(&dir, "json")).unwrap();
    assert_eq!(value["unit"], "mm");
    assert_eq!(value["stage"], "traced");
    assert_eq!(value["pieces"].as_array().unwrap().len(), 1);
    let rings = value["pieces"][0]["rings"].as_array().unwrap();
    assert_eq!(rings.len(), 2, "the outer line and a hole");
    let shoelace = |ring: &serde_json::Value| {
        let p: Vec<[f64; 2]> = serde_json::from_value(ring.clone()).unwrap();
        (0..p.len())
            .map(|i| (p[i], p[(i + 1) % p.len()]))
            .map(|(a, b)| (a[0] * b[1] - a[1] * b[0]) / 2.0)
            .sum::<f64>()
    };
    // The outer area by the exact formula for lines and cubics; the hole is pi r squared, run the other way.
    assert!((shoelace(&rings[0]) - outer().area_mm2()).abs() < 0.01 * outer().length_mm());
    let hole = -std::f64::consts::PI * HOLE_MM * HOLE_MM;
    assert!((shoelace(&rings[1]) - hole).abs() < 0.01 * 2.0 * std::f64::consts::PI * HOLE_MM);

    let svg = String::from_utf8(export(&dir, "svg")).unwrap();
    assert!(
        svg.contains("id=\"finished\"") && svg.contains("id=\"body\"") && svg.contains("id=\"body-hole-1\"")
    );

    let picture = image::load_from_memory(&export(&dir, "png")).unwrap();
    // 200 mm of piece and 15 mm of white on both sides at 3 pixels to a millimetre.
    assert_eq!(picture.width(), 690);
}

#[test]
fn a_failed_export_leaves_no_file() {
    let place = tempfile::tempdir().unwrap();
    let dir = place.path().join("pouch");
    let out = place.path().join("out.json");
    let mut command = Command::cargo_bin("onfold").unwrap();
    command.arg("export").arg(&dir).args(["--stage", "traced", "--format", "json", "--out"]).arg(&out);
    let output = command.output().unwrap();
    assert_eq!(output.status.code(), Some(1));
    assert!(String::from_utf8(output.stderr).unwrap().contains("holds no pattern"));
    assert!(!out.exists());
}
