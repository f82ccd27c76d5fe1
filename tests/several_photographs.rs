//! One garment from several photographs, none of which shows the whole of it.
//!
//! `../shared/photos`: `dev5_butcher_apron_a` lacks the lower end of the apron, `_b` the upper one; both truths have one
//! table frame.

#![allow(clippy::print_stdout, reason = "the figures measured are told")]

mod support;

use onfold::camera::CameraError;
use onfold::capture::{CaptureError, Captured, LocateError, Request, capture};
use onfold::curve::Tolerance;
use onfold::geometry::Point;
use onfold::outline::{EdgeKind, OutlineError, Wish};
use std::path::Path;
use support::real;
use support::score::{Score, score};
use support::truth::Truth;

const RMS_MM: f64 = 0.25;
const P95_MM: f64 = 0.5;
const WORST_MM: f64 = 1.5;
/// What the order in which the photographs are given may change, millimetres: the table is turned upright after the
/// first, so cells fall elsewhere.
const ORDER_MM: f64 = 0.15;

fn traced(photos: &[&Path], thickness_mm: f64) -> Result<Captured, CaptureError> {
    let bytes: Vec<Vec<u8>> = photos.iter().map(|p| std::fs::read(p).expect("a photograph")).collect();
    let request = Request {
        measured_mm: None,
        wish: Wish { thickness_mm, edge: EdgeKind::Folded, trim_narrower_mm: None },
        tolerance: Tolerance::default(),
    };
    capture(&bytes, &request, |_| {})
}

fn outline(captured: &Captured) -> Vec<Point> {
    captured.outer.fitted.ring.flatten(0.01)
}

fn told(name: &str, s: &Score) {
    println!("{name}: rms {:.3} p95 {:.3} worst {:.3} mm", s.rms_mm, s.p95_mm, s.worst_mm);
}

#[test]
fn an_apron_longer_than_either_photograph_is_traced_to_the_bar() {
    let Some(photos) = real::folder("photos") else { return };
    let (a, b) = (photos.join("dev5_butcher_apron_a.jpg"), photos.join("dev5_butcher_apron_b.jpg"));
    let truth = Truth::read(&a.with_extension("truth.json"));
    let both = traced(&[&a, &b], truth.thickness_mm).expect("an outline");
    assert_eq!(both.report.photos, 2);
    assert_eq!(both.report.more_cameras.len(), 1);
    let s = score(&truth.outline, &outline(&both));
    told("both", &s);
    assert!(s.rms_mm <= RMS_MM, "{s:?}");
    assert!(s.p95_mm <= P95_MM, "{s:?}");
    assert!(s.worst_mm <= WORST_MM, "{s:?}");
    let turned = traced(&[&b, &a], truth.thickness_mm).expect("an outline");
    let s = score(&outline(&both), &outline(&turned));
    told("in the other order", &s);
    assert!(s.rms_mm <= ORDER_MM, "{s:?}");
}

#[test]
fn what_runs_out_of_every_photograph_is_refused() {
    let Some(photos) = real::folder("photos") else { return };
    let a = photos.join("dev5_butcher_apron_a.jpg");
    let refused = traced(&[&a], 1.0).expect_err("half an apron");
    assert!(
        matches!(&refused, CaptureError::Outline(OutlineError::OutOfPhoto { side }) if side == "bottom"),
        "{refused}"
    );
}

#[test]
fn a_photograph_that_cannot_be_read_is_named() {
    let Some(photos) = real::folder("photos") else { return };
    let a = photos.join("dev5_butcher_apron_a.jpg");
    let bad = photos.join("dev6_bad_photo.jpg");
    let refused = traced(&[&a, &bad], 1.0).expect_err("a blurred photograph");
    assert!(matches!(refused, CaptureError::Locate(LocateError::Blurred { photo: 2, .. })), "{refused}");
    // The two views of the same sheets in other places are told apart by what they say of each other.
    let other = photos.join("dev1_canvas_apron.jpg");
    let strange = traced(&[&a, &other], 1.0);
    if let Err(CaptureError::Locate(LocateError::Camera(error))) = &strange {
        assert!(matches!(error, CameraError::NoAgreement | CameraError::Apart { .. }), "{error}");
    }
    assert!(strange.is_err(), "two garments in two places came out as one");
}

/// Rayon with one thread and with two gives the same digits.
#[test]
fn one_and_two_threads_give_the_same_outline_of_two_photographs() {
    let Some(photos) = real::folder("photos") else { return };
    let (a, b) = (photos.join("dev5_butcher_apron_a.jpg"), photos.join("dev5_butcher_apron_b.jpg"));
    let traced_on = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        let mut captured = pool.install(|| traced(&[&a, &b], 1.0)).expect("an outline");
        captured.report.seconds.clear();
        captured
    };
    let (one, two) = (traced_on(1), traced_on(2));
    assert_eq!(one.outer, two.outer);
    assert_eq!(one.report, two.report);
    assert_eq!(one.pictures, two.pictures);
}
