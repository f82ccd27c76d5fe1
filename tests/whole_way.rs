//! The whole way as a person goes it, from a photograph to the drafted half, measured by the photograph's truth.
//!
//! The bars are those the program is built to: outline within 0.5 mm root mean square, 1.0 mm for 95 in 100 of it,
//! height and width within 0.5 mm, area within 0.2 %; the mirror axis within 0.3 mm and 0.05 degrees. The shipped photograph
//! is always measured; those of `../shared/photos` where they are present, and their absence is told.

#![allow(clippy::print_stdout, reason = "the figures measured are told")]

mod support;

use assert_cmd::Command;
use onfold::geometry::{Affine, Point, Vec2};
use onfold::pattern::{FoldOptions, fold};
use onfold::shelf::Folder;
use std::path::{Path, PathBuf};
use support::real;
use support::score::{Score, score};
use support::truth::Truth;

const RMS_MM: f64 = 0.5;
const P95_MM: f64 = 1.0;
const SIZE_MM: f64 = 0.5;
const AREA_PERCENT: f64 = 0.2;
const AXIS_MM: f64 = 0.3;
const AXIS_DEG: f64 = 0.05;
/// The whole capture takes at most so many times the decoding of the JPEG (release build, 12 MP).
const MOST_DECODES: f64 = 15.0;

fn shipped() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/canvas_apron.jpg")
}

fn onfold() -> Command {
    Command::cargo_bin("onfold").expect("the program")
}

/// Captures into `dir` with the truth's thickness; the program's JSON report.
fn capture(photo: &Path, truth: &Truth, more: &[&str], dir: &Path) -> serde_json::Value {
    let thickness = format!("{}mm", truth.thickness_mm);
    let output = onfold()
        .arg("capture")
        .arg(photo)
        .args(["--thickness", &thickness, "--json"])
        .args(more)
        .arg("--out")
        .arg(dir)
        .output()
        .expect("the program runs");
    assert!(output.status.success(), "{}: {}", photo.display(), String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).expect("one JSON object")
}

/// The rings of the first piece at a stage.
fn rings(dir: &Path, stage: &[&str]) -> Vec<Vec<Point>> {
    let output = onfold()
        .arg("export")
        .arg(dir)
        .args(stage)
        .args(["--format", "json", "--out", "-"])
        .output()
        .expect("the program runs");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let value: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(value["unit"], "mm");
    let number = |v: &serde_json::Value| v.as_f64().expect("a number");
    let list = |v: &serde_json::Value| v.as_array().expect("a list").clone();
    list(&value["pieces"][0]["rings"])
        .iter()
        .map(|ring| list(ring).iter().map(|p| Point::new(number(&p[0]), number(&p[1]))).collect())
        .collect()
}

/// Traces a photograph, holds it to the bars and gives the score back.
fn traced(photo: &Path, more: &[&str], dir: &Path) -> (Truth, Score) {
    let truth = Truth::read(&photo.with_extension("truth.json"));
    let report = capture(photo, &truth, more, dir);
    let rings = rings(dir, &["--stage", "traced"]);
    let s = score(&truth.outline, &rings[0]);
    println!(
        "{}: rms {:.3} p95 {:.3} worst {:.3} mm, height {:+.3} width {:+.3} mm, area {:+.3} %; says {} and {} mm",
        photo.display(),
        s.rms_mm,
        s.p95_mm,
        s.worst_mm,
        s.height_error_mm,
        s.width_error_mm,
        s.area_error_percent,
        report["outline_accuracy_median_mm"],
        report["outline_accuracy_worst_mm"],
    );
    (truth, s)
}

fn held(photo: &Path, more: &[&str]) {
    let folder = tempfile::tempdir().expect("a folder");
    let (_, s) = traced(photo, more, &folder.path().join("pattern"));
    let name = photo.display();
    assert!(s.rms_mm <= RMS_MM, "{name}: rms {:.3} mm", s.rms_mm);
    assert!(s.p95_mm <= P95_MM, "{name}: p95 {:.3} mm", s.p95_mm);
    assert!(s.height_error_mm.abs() <= SIZE_MM, "{name}: height {:+.3} mm", s.height_error_mm);
    assert!(s.width_error_mm.abs() <= SIZE_MM, "{name}: width {:+.3} mm", s.width_error_mm);
    assert!(s.area_error_percent.abs() <= AREA_PERCENT, "{name}: area {:+.3} %", s.area_error_percent);
}

#[test]
fn the_shipped_photograph_is_traced_to_the_bar() {
    held(&shipped(), &[]);
}

/// What is reached on the shipped photograph: all but the height within the bars.
#[test]
fn the_shipped_photographs_reached_figures_are_kept() {
    let folder = tempfile::tempdir().expect("a folder");
    let (_, s) = traced(&shipped(), &[], &folder.path().join("pattern"));
    assert!(s.rms_mm <= RMS_MM, "rms {:.3} mm", s.rms_mm);
    assert!(s.p95_mm <= P95_MM, "p95 {:.3} mm", s.p95_mm);
    assert!(s.width_error_mm.abs() <= SIZE_MM, "width {:+.3} mm", s.width_error_mm);
    assert!(s.area_error_percent.abs() <= AREA_PERCENT, "area {:+.3} %", s.area_error_percent);
}

#[test]
fn thick_leather_on_loose_sheets_is_traced_to_the_bar() {
    let Some(photos) = real::folder("photos") else { return };
    held(&photos.join("dev2_leather_apron.jpg"), &["--edge", "cut"]);
}

#[test]
fn pale_linen_with_straps_is_traced_to_the_bar() {
    let Some(photos) = real::folder("photos") else { return };
    held(&photos.join("dev3_linen_apron.jpg"), &["--trim-narrower", "40mm"]);
}

/// The half opened out against the design before wear, and the fold line against the design's axis x = 0.
#[test]
fn the_shipped_photograph_is_folded_on_its_axis() {
    let folder = tempfile::tempdir().expect("a folder");
    let dir = folder.path().join("pattern");
    let (truth, trace_score) = traced(&shipped(), &[], &dir);
    let whole = &rings(&dir, &["--stage", "folded", "--whole"])[0];
    let s = score(&truth.design, whole);
    println!("folded and opened: rms {:.3} worst {:.3} mm", s.rms_mm, s.worst_mm);
    assert!(s.rms_mm <= RMS_MM, "the half opened out: rms {:.3} mm", s.rms_mm);
    for p in whole {
        let partner = Point::new(-p.x, p.y);
        let near = whole.iter().map(|q| q.distance(partner)).fold(f64::MAX, f64::min);
        assert!(near < 1e-3, "{p:?} has no partner across the fold");
    }
    // The fold line, taken to the garment's frame by the move that lays the trace on its truth.
    let folder = Folder::open(&dir).expect("the pattern folder");
    let folded = fold(&folder.traced.outer.fitted, &[], &FoldOptions::default()).expect("a mirror axis");
    let to_truth: Affine = trace_score.truth_from_traced;
    let top = to_truth * folded.axis.point;
    let along: Vec2 = (to_truth * (folded.axis.point + folded.axis.direction)) - top;
    let middle_y = truth.design.iter().map(|p| p.y).sum::<f64>()
        / f64::from(u32::try_from(truth.design.len()).expect("few"));
    let across_mm = top.x + (middle_y - top.y) * along.x / along.y;
    let turn_deg = (along.x / along.y).atan().to_degrees();
    println!("axis {across_mm:+.3} mm, {turn_deg:+.4} degrees");
    assert!(across_mm.abs() <= AXIS_MM, "the axis lies {across_mm:+.3} mm off");
    assert!(turn_deg.abs() <= AXIS_DEG, "the axis is turned by {turn_deg:+.4} degrees");
}

/// Lengthening adds its length to the whole height, a widened side its width to the half, in the drafted outline.
#[test]
fn the_demos_changes_come_out_in_the_drafted_half() {
    let folder = tempfile::tempdir().expect("a folder");
    let dir = folder.path().join("pattern");
    let truth = Truth::read(&shipped().with_extension("truth.json"));
    let _ = capture(&shipped(), &truth, &[], &dir);
    let bounds =
        |ring: &[Point]| ring.iter().fold(kurbo::Rect::from_points(ring[0], ring[0]), |r, p| r.union_pt(*p));
    let before = bounds(&rings(&dir, &["--stage", "folded"])[0]);
    onfold().args(["edit"]).arg(&dir).args(["lengthen", "by=90mm", "at=100mm below C"]).assert().success();
    onfold().args(["edit"]).arg(&dir).args(["widen", "each=25mm"]).assert().success();
    onfold().arg("draft").arg(&dir).assert().success();
    let after = bounds(&rings(&dir, &["--stage", "drafted"])[0]);
    assert!(
        (after.height() - before.height() - 90.0).abs() < 0.01,
        "{} mm higher",
        after.height() - before.height()
    );
    assert!(
        (after.width() - before.width() - 25.0).abs() < 0.01,
        "{} mm wider",
        after.width() - before.width()
    );
}

/// The report's keys that scripts rely on, and the time in a release build against the decoding of the same run.
#[test]
fn the_report_keeps_to_the_contract() {
    let folder = tempfile::tempdir().expect("a folder");
    let truth = Truth::read(&shipped().with_extension("truth.json"));
    let report = capture(&shipped(), &truth, &[], &folder.path().join("pattern"));
    for key in [
        "photos",
        "sheets",
        "corners_used",
        "reprojection_rms_px",
        "mm_per_px",
        "outline_accuracy_median_mm",
        "outline_accuracy_worst_mm",
        "bridged_mm",
        "camera",
        "seconds",
    ] {
        assert!(!report[key].is_null(), "the report lacks `{key}`");
    }
    // Two of the scene's sheets lie wholly under the apron.
    let hidden = 2;
    assert_eq!(report["sheets"].as_array().expect("a list").len() + hidden, truth.sheets.len(), "sheets");
    for key in ["number", "place", "angle", "residual"] {
        assert!(!report["sheets"][0][key].is_null(), "a sheet's report lacks `{key}`");
    }
    let seconds =
        |key: &str| report["seconds"][key].as_f64().unwrap_or_else(|| panic!("no seconds for `{key}`"));
    println!("seconds: {}", report["seconds"]);
    if cfg!(debug_assertions) {
        println!("not run: the time is judged in a release build only");
    } else {
        let times = seconds("total") / seconds("decode");
        assert!(times <= MOST_DECODES, "the whole takes {times:.1} times the decode");
    }
}
