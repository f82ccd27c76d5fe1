//! Hand-drawn paper patterns, from photograph to half, measured by the photographs' truth: the outer line, and every
//! inner line and mark both ways, with none invented. Photographs of `../shared/photos` are used where they are present;
//! their absence is told.

#![allow(clippy::print_stdout, reason = "the figures measured are told")]

mod support;

use onfold::capture::{Request, capture_paper};
use onfold::curve::Tolerance;
use onfold::geometry::Point;
use onfold::ink::Meaning;
use onfold::outline::{EdgeKind, Wish};
use onfold::pattern::{FoldOptions, fold_drawn, straight_edges};
use support::real;
use support::score::score;
use support::truth::Truth;

/// The outer line against the ink's true centre line, millimetres.
const RMS_MM: f64 = 0.08;
const P95_MM: f64 = 0.15;
const WORST_MM: f64 = 0.6;
/// An inner line is found where it lies within this of the true one, millimetres.
const LINE_MM: f64 = 1.0;

/// Truth's inner lines in its own frame: what it is, and its straight strokes.
fn inner_truth(path: &std::path::Path) -> Vec<(String, Vec<[Point; 2]>)> {
    let text = std::fs::read_to_string(path).expect("a truth file");
    let v: serde_json::Value = serde_json::from_str(&text).expect("JSON");
    let number = |v: &serde_json::Value| v.as_f64().expect("a number");
    let point = |v: &serde_json::Value| Point::new(number(&v[0]), number(&v[1]));
    let list = v["garment"]["inner_lines_garment"].as_array().expect("inner lines");
    list.iter()
        .map(|line| {
            let strokes = line["segments"].as_array().expect("segments");
            let ends = strokes.iter().map(|s| [point(&s["points"][0]), point(&s["points"][1])]).collect();
            (line["what"].as_str().expect("a word").to_owned(), ends)
        })
        .collect()
}

fn to_strokes(p: Point, strokes: &[[Point; 2]]) -> f64 {
    let off = |[a, b]: &[Point; 2]| {
        let along = *b - *a;
        let t = ((p - *a).dot(along) / along.hypot2().max(1e-12)).clamp(0.0, 1.0);
        (*a + along * t).distance(p)
    };
    strokes.iter().map(off).fold(f64::MAX, f64::min)
}

fn along(strokes: &[[Point; 2]]) -> Vec<Point> {
    strokes.iter().flat_map(|[a, b]| (0..=40).map(move |k| a.lerp(*b, f64::from(k) / 40.0))).collect()
}

/// Captures a photograph and holds it to its truth; `wanted` counts what must be found, of each kind; without any only the
/// outer line is held.
fn held(name: &str, wanted: &[(Meaning, usize)], reached: f64) {
    held_as(name, wanted, reached, |bytes| bytes);
}

/// The same of a changed photograph.
fn held_as(name: &str, wanted: &[(Meaning, usize)], reached: f64, change: impl Fn(Vec<u8>) -> Vec<u8>) {
    let Some(photos) = real::folder("photos") else { return };
    let truth_path = photos.join(format!("{name}.truth.json"));
    let truth = Truth::read(&truth_path);
    let bytes = change(std::fs::read(photos.join(format!("{name}.jpg"))).expect("a photograph"));
    let request = Request {
        measured_mm: None,
        wish: Wish { thickness_mm: truth.thickness_mm, edge: EdgeKind::Cut, trim_narrower_mm: None },
        tolerance: Tolerance { depart_mm: 0.08, ..Tolerance::default() },
    };
    let paper = capture_paper(&[bytes], &request, |_| {}).expect("a drawing");
    assert!(paper.drawn, "{name}: the outer line is drawn");
    let outer = &paper.captured.outer.fitted;
    let s = score(&truth.outline, &outer.ring.flatten(0.01));
    println!("{name}: rms {:.3} p95 {:.3} worst {:.3} mm", s.rms_mm, s.p95_mm, s.worst_mm);
    assert!(s.rms_mm <= RMS_MM && s.p95_mm <= P95_MM && s.worst_mm <= WORST_MM, "{name}: {s:?}");
    // The half: its fold is the longest straight edge, on x = 0.
    let edge = straight_edges(outer)[0];
    let half = fold_drawn(outer, edge.ends, &FoldOptions::default()).expect("a half");
    let whole = half.half.bounds();
    assert!(whole.x0 > -0.5 && (whole.width() - truth_width(&truth)).abs() < 0.3, "{name}: {whole:?}");
    if wanted.is_empty() {
        return;
    }
    for (kind, count) in wanted {
        let found = paper.inner.iter().filter(|l| l.is == *kind).count();
        assert_eq!(found, *count, "{name}: {kind:?} of {:?}", paper.inner);
    }
    assert_eq!(paper.inner.len(), wanted.iter().map(|w| w.1).sum::<usize>(), "{name}: {:?}", paper.inner);
    let truths = inner_truth(&truth_path);
    let all: Vec<[Point; 2]> = truths.iter().flat_map(|t| t.1.clone()).collect();
    let found: Vec<[Point; 2]> = paper
        .inner
        .iter()
        .flat_map(|l| l.strokes.iter().flat_map(|s| s.windows(2)))
        .map(|w| [s.truth_from_traced * w[0], s.truth_from_traced * w[1]])
        .collect();
    let off: Vec<f64> = along(&found).iter().map(|p| to_strokes(*p, &all)).collect();
    let most = off.iter().copied().fold(0.0, f64::max);
    println!("{name}: inner lines within {most:.2} mm of the truth");
    assert!(most <= LINE_MM, "{name}: an inner line lies {most:.2} mm off");
    for (what, strokes) in &truths {
        let places = along(strokes);
        let missed = places.iter().filter(|p| to_strokes(**p, &found) > LINE_MM).count();
        #[expect(clippy::cast_precision_loss, reason = "a few hundred places")]
        let part = 1.0 - missed as f64 / places.len() as f64;
        println!("{name}: {what} {:.1} % found", 100.0 * part);
        assert!(part >= reached, "{name}: {what} is found to {:.1} %", 100.0 * part);
    }
}

fn truth_width(truth: &Truth) -> f64 {
    let xs = truth.outline.iter().map(|p| p.x);
    xs.clone().fold(f64::MIN, f64::max) - xs.fold(f64::MAX, f64::min)
}

#[test]
fn the_outer_line_in_pen_on_kraft_paper() {
    held("dev4_kraft_pattern", &[], 0.0);
}

#[test]
fn the_outer_line_in_pencil_on_white_paper() {
    held("dev12_pencil_pattern", &[], 0.0);
}

#[test]
fn the_inner_lines_in_pen_on_kraft_paper() {
    held("dev4_kraft_pattern", &ON_KRAFT, 0.85);
}

const ON_KRAFT: [(Meaning, usize); 5] = [
    (Meaning::Grain, 1),
    (Meaning::Placement, 1),
    (Meaning::Hem, 1),
    (Meaning::Notch, 2),
    (Meaning::Cross, 2),
];

/// The photograph as another camera might have had it, without its metadata.
fn redone(bytes: &[u8], quality: u8, change: impl Fn(image::RgbImage) -> image::RgbImage) -> Vec<u8> {
    let picture = change(image::load_from_memory(bytes).expect("a photograph").to_rgb8());
    let mut out = Vec::new();
    image::codecs::jpeg::JpegEncoder::new_with_quality(&mut out, quality)
        .encode_image(&picture)
        .expect("a picture");
    out
}

/// At seven tenths of its size: half as many pixels.
fn smaller(bytes: &[u8]) -> Vec<u8> {
    redone(bytes, 92, |picture| {
        let (width, height) = picture.dimensions();
        let size = |n: u32| n * 7 / 10;
        image::imageops::resize(&picture, size(width), size(height), image::imageops::FilterType::Triangle)
    })
}

#[test]
fn all_lines_on_kraft_paper_from_farther_away() {
    held_as("dev4_kraft_pattern", &ON_KRAFT, 0.85, |bytes| smaller(&bytes));
}

#[test]
fn pencil_out_of_focus_and_compressed() {
    held_as("dev12_pencil_pattern", &[], 0.85, |bytes| {
        redone(&bytes, 60, |picture| image::imageops::blur(&picture, 1.0))
    });
}

#[test]
fn the_inner_lines_in_pencil_on_white_paper() {
    let wanted = [
        (Meaning::Grain, 1),
        (Meaning::Dart, 1),
        (Meaning::Hem, 1),
        (Meaning::Notch, 1),
        (Meaning::Cross, 1),
    ];
    held("dev12_pencil_pattern", &wanted, 0.85);
}
