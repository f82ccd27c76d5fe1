//! What a capture advises, on rendered scenes with one thing wrong each.

#![allow(clippy::print_stdout, reason = "the advice given is told")]

mod support;

use onfold::capture::{Request, capture};
use onfold::curve::Tolerance;
use onfold::geometry::Point;
use onfold::outline::{EdgeKind, Wish};
use support::camera::Camera;
use support::scene::{Cloth, Curl, Scene, Surface, loose_sheets};

const SIZE: (usize, usize) = (1800, 2400);
const FOCAL_PX: f64 = 1815.0;

/// Nine sheets close together with a dark piece in the middle, seen from 950 mm nearly straight down: nothing is wrong.
fn scene() -> Scene {
    let mut scene = Scene::new(camera(950.0, 8.0), loose_sheets(3, 3, (1.0, 1.0, 0.5), 41));
    scene.floor = Surface::Wood { tone: [0.30, 0.18, 0.10], width_mm: 140.0 };
    let ring = [(-190.0, -290.0), (190.0, -290.0), (230.0, 290.0), (-230.0, 290.0)].map(Point::from).to_vec();
    scene
        .cloths
        .push(Cloth::flat(ring, Surface::Woven { tone: [0.03, 0.06, 0.10], uneven: 0.2, patch_mm: 9.0 }));
    scene.noise = 1.0;
    scene
}

fn camera(distance_mm: f64, tilt_deg: f64) -> Camera {
    Camera::over(SIZE, FOCAL_PX, Point::new(4.0, 10.0), distance_mm, (tilt_deg, 3.0))
}

/// The advice on a scene, but for the print's scale.
fn advice(scene: &Scene) -> Vec<String> {
    let request = Request {
        measured_mm: Some((180.0, 240.0)),
        wish: Wish { thickness_mm: 0.0, edge: EdgeKind::Folded, trim_narrower_mm: None },
        tolerance: Tolerance::default(),
    };
    let captured = capture(&[scene.render().png()], &request, |_| {}).expect("an outline");
    println!("{:?}", captured.report.advice);
    captured.report.advice
}

fn told(advice: &[String], words: &[&str]) -> bool {
    advice.iter().any(|line| words.iter().all(|w| line.contains(w)))
}

#[test]
fn nothing_is_said_when_nothing_is_wrong() {
    let advice = advice(&scene());
    assert!(advice.is_empty(), "{advice:?}");
}

#[test]
fn closer() {
    let mut scene = scene();
    scene.camera = camera(1500.0, 8.0);
    assert!(told(&advice(&scene), &["go closer"]));
}

#[test]
fn more_sheets_where_the_outline_lies_on_none() {
    let mut scene = scene();
    // The middle one of the right column.
    scene.sheets.retain(|s| s.number != 5);
    assert!(told(&advice(&scene), &["At the right", "lay more sheets there"]));
}

#[test]
fn a_curled_sheet_by_its_number_and_corner() {
    let mut scene = scene();
    scene.camera = camera(1050.0, 25.0);
    scene.sheets[2].curl = Some(Curl { corner: 1, lift_mm: 2.5, reach_mm: 150.0 });
    let advice = advice(&scene);
    assert!(told(&advice, &["sheet 3 by ", "top right corner"]), "{advice:?}");
    assert_eq!(advice.iter().filter(|a| a.contains(" mm at its ")).count(), 1);
}

#[test]
fn a_blurred_photograph() {
    let mut scene = scene();
    scene.blur_px = 1.6;
    assert!(told(&advice(&scene), &["Photograph 1", "a little blurred", "hold the camera still"]));
}

/// A long piece seen aslant from its lower end: its upper edge is seen flattest.
#[test]
fn another_photograph_from_the_other_side() {
    let mut scene = scene();
    scene.camera = camera(900.0, 32.0);
    let advice = advice(&scene);
    assert!(told(&advice, &["give another photograph, taken from the "]), "{advice:?}");
}
