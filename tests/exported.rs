//! `onfold export` as a person types it, on a pattern folder made for the purpose.
#![allow(clippy::unwrap_used, reason = "a test stops where something is not as it should be")]

#[path = "support/pdf.rs"]
mod pdf_reader;

use assert_cmd::Command;
use kurbo::{Circle, Line, Shape as _};
use onfold::curve::Fitted;
use onfold::export::{Shape, dxf, hpgl, pdf, picture, svg};
use onfold::geometry::{CubicBez, PathSeg, Ring, Trace};
use onfold::pattern::{Outline, Piece, Recipe, Record, StepText, Traced, TracedRing, draft};
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

/// A drafted half with an allowance of every kind, marks and holes, and what its lines measure by kurbo.
fn apron() -> Piece {
    let line = |a: (f64, f64), b: (f64, f64)| PathSeg::Line(Line::new(a, b));
    let (top, arm, hem) = ((128.3, 0.0), (318.2, 232.6), (341.7, 873.4));
    let half = Ring::new(vec![
        line((0.0, 0.0), top),
        PathSeg::Cubic(CubicBez::new(top, (140.0, 130.0), (210.0, 215.0), arm)),
        line(arm, hem),
        line(hem, (0.0, 873.4)),
        line((0.0, 873.4), (0.0, 0.0)),
    ]);
    let outline = Outline::from_half(&half.unwrap(), &[0, 1, 2, 3, 4]);
    let record =
        Record { style: "Töpferschürze".to_owned(), date: "2026-11-25".to_owned(), ..Record::default() };
    let list = |edges: &[&str]| edges.iter().map(|e| (*e).to_owned()).collect::<Vec<_>>();
    let steps = vec![
        StepText::new("allowance").with_list("edges", &list(&["B-C"])).with("turned", "12mm"),
        StepText::new("allowance").with_list("edges", &list(&["C-D"])).with("seam", "15mm"),
        StepText::new("allowance").with_list("edges", &list(&["D-E"])).with("hem", "30mm"),
        StepText::new("allowance").with_list("edges", &list(&["A-B"])).with("turn-down", "40mm"),
        StepText::new("notch").with("at", "120mm along C-D"),
        StepText::new("stitch")
            .with_list("edges", &list(&["B-C"]))
            .with("pitch", "4mm")
            .with("inset", "8mm")
            .with("through", "3mm"),
        StepText::new("skive").with_list("edges", &list(&["B-C"])).with("width", "24mm"),
        StepText::new("centre").with("way", "across"),
    ];
    let recipe = Recipe { steps, ..Recipe::default() };
    draft(&Piece::new(outline, record), &recipe).unwrap().pieces.remove(0)
}

/// What another library finds in the bytes: see `read_lines.py`.
fn read_lines(format: &str, bytes: &[u8]) -> serde_json::Value {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join(format!("piece.{format}"));
    std::fs::write(&file, bytes).unwrap();
    let script = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/support/read_lines.py");
    let output = std::process::Command::new("python3").arg(script).arg(format).arg(&file).output().unwrap();
    assert!(
        output.status.success(),
        "this test needs Python's ezdxf and svgelements, and hp2xx: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    serde_json::from_slice(&output.stdout).unwrap()
}

/// Length within 0.01 mm, and area within 0.01 %.
fn assert_same(found: (f64, f64), truth: (f64, f64), what: &str) {
    assert!((found.0 - truth.0).abs() <= 0.01, "{what}: {} mm long, not {}", found.0, truth.0);
    assert!((found.1 - truth.1).abs() <= 1e-4 * truth.1.abs(), "{what}: {} mm2, not {}", found.1, truth.1);
}

/// Lengths of the finished edges that have an allowance, sorted.
fn edge_lengths(piece: &Piece) -> Vec<f64> {
    let edges = piece.outline.edges();
    let mut out: Vec<f64> = edges.iter().filter(|e| e.allowance.is_some()).map(|e| e.length_mm()).collect();
    out.sort_by(f64::total_cmp);
    out
}

fn number(value: &serde_json::Value) -> f64 {
    value.as_f64().unwrap()
}

#[test]
fn dxf_reads_back_at_its_size() {
    let piece = apron();
    let shape = Shape::of_piece(&piece).unwrap();
    for shape in [shape.clone(), shape.opened().unwrap()] {
        let about = dxf::About { style: &piece.record.style, date: &piece.record.date };
        let text = dxf::write(&about, std::slice::from_ref(&shape)).unwrap();
        assert!(text.is_ascii());
        let found = read_lines("dxf", text.as_bytes());
        assert_eq!(found["version"], "AC1009");
        assert_eq!(found["errors"], 0);
        assert_eq!(found["inserts"], serde_json::json!([["BODY", 1, 1]]), "each block once, at scale 1");
        for words in ["Units: METRIC", "Piece Name: body", "Style Name: Toepferschuerze"] {
            assert!(found["texts"].as_array().unwrap().iter().any(|t| t == words), "{words}");
        }
        let block = &found["blocks"][0];
        let on = |layer: &str| -> Vec<serde_json::Value> {
            block["lines"].as_array().unwrap().iter().filter(|l| l["layer"] == layer).cloned().collect()
        };
        let outer = on("1");
        assert_eq!(outer.len(), 1);
        let truth = (shape.outer.length_mm(), shape.outer.area_mm2());
        assert_same((number(&outer[0]["length"]), number(&outer[0]["area"])), truth, "boundary");
        // Every vertex has one point, on layer 2 or 3.
        let points = |layer: &str| block["points"][layer].as_array().map_or(&[][..], Vec::as_slice).to_vec();
        let mut marked = [points("2"), points("3")].concat();
        let mut vertices = outer[0]["at"].as_array().unwrap().clone();
        for list in [&mut marked, &mut vertices] {
            list.sort_by_key(ToString::to_string);
        }
        assert_eq!(marked, vertices);
        // A half's mirror line lies on the boundary: both its ends are vertices.
        assert_eq!(on("6").len(), usize::from(shape.fold.is_some()));
        for end in on("6").iter().flat_map(|line| line["at"].as_array().unwrap().clone()) {
            assert!(vertices.contains(&end), "{end}");
        }
        assert_eq!(on("7").len(), 1, "the grain line");
        assert!(points("4").len() == if shape.fold.is_some() { 1 } else { 2 }, "the notch");
        assert!(points("13").len() > 50, "the needle's holes");
        assert!(on("14").len() >= 4 && !on("8").is_empty());
        if shape.fold.is_some() {
            for truth in edge_lengths(&piece) {
                let met = on("14").iter().any(|l| (number(&l["length"]) - truth).abs() <= 0.01);
                assert!(met, "no sew line of {truth} mm");
            }
        }
    }
}

#[test]
fn svg_reads_back_at_its_size() {
    let piece = apron();
    let shape = Shape::of_piece(&piece).unwrap().opened().unwrap();
    let found = read_lines("svg", svg::write("drafted", &picture::of_shape(&shape)).as_bytes());
    let lines = found["lines"].as_array().unwrap();
    let cut = lines.iter().find(|l| l["id"] == "body-cut").unwrap();
    let truth = (shape.outer.length_mm(), shape.outer.area_mm2());
    assert_same((number(&cut["length"]), number(&cut["area"])), truth, "cut line");
    for group in ["cut", "fold", "skive", "stitch", "marks"] {
        assert!(
            found["groups"].as_array().unwrap().iter().any(|g| g == group),
            "{group}: {}",
            found["groups"]
        );
    }
    for id in ["body-finished-1", "body-fold-1", "body-skive-1", "body-stitch-1", "body-notch-1"] {
        assert!(lines.iter().any(|l| l["id"] == id), "{id}");
    }
}

#[test]
fn hpgl_reads_back_at_its_size() {
    let shape = Shape::of_piece(&apron()).unwrap().opened().unwrap();
    let found = read_lines("hpgl", hpgl::write(&picture::of_shape(&shape)).as_bytes());
    let lines = found["lines"].as_array().unwrap();
    let longest = lines.iter().max_by(|a, b| number(&a["length"]).total_cmp(&number(&b["length"]))).unwrap();
    assert_same(
        (number(&longest["length"]), number(&longest["area"])),
        (shape.outer.length_mm(), shape.outer.area_mm2()),
        "cut line",
    );
    let bounds = shape.outer.bounds();
    let b: Vec<f64> = longest["bounds"].as_array().unwrap().iter().map(number).collect();
    assert!((b[2] - b[0] - bounds.width()).abs() <= 0.002 && (b[3] - b[1] - bounds.height()).abs() <= 0.002);
}

#[test]
fn hpgl_places_lie_on_the_line() {
    // The file's own numbers, read plainly; without the scaling that allows decimals they would not be read as such.
    let shape = Shape::of_piece(&apron()).unwrap();
    let drawing = picture::of_shape(&shape);
    let text = hpgl::write(&drawing);
    assert!(text.contains(";IP0,0,1000,1000;SC0,1000,0,1000;"));
    assert!(text.starts_with("IN;PS") && text.trim_end().ends_with("PU;SP0;"));
    let cut = text.split("SP1;").nth(1).unwrap().split("SP").next().unwrap();
    let bounds = shape.outer.bounds();
    let dense: Vec<_> = shape.outer.flatten(2e-3);
    let mut places = 0;
    for command in cut.split(';').filter(|c| c.len() > 2 && (c.starts_with("PU") || c.starts_with("PD"))) {
        let numbers: Vec<f64> = command[2..].split(',').map(|n| n.parse().unwrap()).collect();
        for p in numbers.chunks(2).step_by(2) {
            let x = p[0] / hpgl::UNITS_PER_MM - 15.0 + bounds.x0;
            let y = drawing.height_mm - p[1] / hpgl::UNITS_PER_MM - 15.0 + bounds.y0;
            let near = |w: &[onfold::geometry::Point]| {
                let line = Line::new(w[0], w[1]);
                kurbo::ParamCurveNearest::nearest(&line, (x, y).into(), 1e-9).distance_sq
            };
            let off = dense.windows(2).map(near).fold(f64::MAX, f64::min).sqrt();
            assert!(off <= 0.003, "{x}, {y}: {off}");
            places += 1;
        }
    }
    assert!(places > 50);
}

/// Length and area of a closed line through points.
fn around(points: &[[f64; 2]]) -> (f64, f64) {
    let pairs = || (0..points.len()).map(|i| (points[i], points[(i + 1) % points.len()]));
    let length = pairs().map(|(a, b)| (a[0] - b[0]).hypot(a[1] - b[1])).sum();
    let area: f64 = pairs().map(|(a, b)| (a[0] * b[1] - a[1] * b[0]) / 2.0).sum();
    (length, area.abs())
}

#[test]
fn pdf_layers_read_back_at_their_size() {
    let shape = Shape::of_piece(&apron()).unwrap().opened().unwrap();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("piece.pdf");
    let about = pdf::About { title: "piece", subject: "drafted" };
    std::fs::write(&file, pdf::write(&about, &[picture::of_shape(&shape)]).unwrap()).unwrap();
    let read = pdf_reader::read(&file);
    let layers = ["Cut lines", "Finished lines", "Fold lines", "Skive lines", "Stitch lines", "Marks"];
    assert_eq!(read.layers(), layers);
    let cut = read.strokes(0).into_iter().find(|p| p.layer == "Cut lines").unwrap();
    let found = around(&cut.subpaths[0].points);
    assert_same(found, (shape.outer.length_mm(), shape.outer.area_mm2()), "cut line");
}

/// Length and area of the longest line.
fn longest(lines: &[serde_json::Value]) -> (f64, f64) {
    let most = lines.iter().max_by(|a, b| number(&a["length"]).total_cmp(&number(&b["length"]))).unwrap();
    (number(&most["length"]), number(&most["area"]))
}

#[test]
fn every_piece_of_the_worked_example_reads_back_at_its_size() {
    let dir = Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata/canvas_pattern");
    let (_, drafted) = shelf::Folder::open(&dir).unwrap().replay().unwrap();
    let shapes: Vec<Shape> =
        drafted.pieces.iter().map(|piece| Shape::of_piece(piece).unwrap().opened().unwrap()).collect();
    assert_eq!(shapes.len(), 13);
    let truth: Vec<(f64, f64)> = shapes.iter().map(|s| (s.outer.length_mm(), s.outer.area_mm2())).collect();

    let about = dxf::About { style: "all", date: "2026-11-26" };
    let found = read_lines("dxf", dxf::write(&about, &shapes).unwrap().as_bytes());
    let blocks = found["blocks"].as_array().unwrap();
    assert_eq!((blocks.len(), &found["errors"]), (13, &serde_json::json!(0)));
    for ((block, truth), shape) in blocks.iter().zip(&truth).zip(&shapes) {
        let boundary: Vec<_> =
            block["lines"].as_array().unwrap().iter().filter(|l| l["layer"] == "1").cloned().collect();
        assert_eq!(boundary.len(), 1);
        assert_same(longest(&boundary), *truth, &format!("DXF, {}", shape.name));
    }

    let drawings: Vec<_> = shapes.iter().map(picture::of_shape).collect();
    for ((drawing, truth), shape) in drawings.iter().zip(&truth).zip(&shapes) {
        let found = read_lines("svg", svg::write(&shape.name, drawing).as_bytes());
        assert_same(longest(found["lines"].as_array().unwrap()), *truth, &format!("SVG, {}", shape.name));
        let found = read_lines("hpgl", hpgl::write(drawing).as_bytes());
        assert_same(longest(found["lines"].as_array().unwrap()), *truth, &format!("HP-GL, {}", shape.name));
    }

    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("pieces.pdf");
    let about = pdf::About { title: "pieces", subject: "drafted" };
    std::fs::write(&file, pdf::write(&about, &drawings).unwrap()).unwrap();
    let read = pdf_reader::read(&file);
    assert_eq!(read.pages().len(), 13);
    for (page, (truth, shape)) in truth.iter().zip(&shapes).enumerate() {
        let runs = read.strokes(page).into_iter().flat_map(|p| p.subpaths);
        let measured = runs.map(|run| around(&run.points));
        let most = measured.max_by(|a, b| a.0.total_cmp(&b.0)).unwrap();
        assert_same(most, *truth, &format!("PDF, {}", shape.name));
    }
}
