//! Holes of a garment: a large opening, punched holes and rings of metal with exact truth, and what is none of them.
//!
//! The bar for centres and diameters of round holes is 0.3 mm, that of outlines 0.5 mm root mean square.

#![allow(clippy::print_stdout, reason = "the figures measured are told")]

mod support;

use onfold::capture::{Captured, Request, capture};
use onfold::curve::Tolerance;
use onfold::geometry::{Point, Vec2};
use onfold::outline::{EdgeKind, Wish};
use support::camera::Camera;
use support::real;
use support::scene::{Cloth, Edge, Scene, Surface, loose_sheets};
use support::score::{Score, area, score};
use support::truth::Truth;

const ROUND_MM: f64 = 0.3;
const RMS_MM: f64 = 0.5;

const LEATHER: Surface = Surface::Woven { tone: [0.36, 0.17, 0.055], uneven: 0.2, patch_mm: 9.0 };
const METAL: Surface = Surface::Plain([0.33, 0.33, 0.34]);
const HORN: Surface = Surface::Plain([0.03, 0.03, 0.03]);
const THICK_MM: f64 = 3.0;

fn circle(centre: Point, radius: f64) -> Vec<Point> {
    (0..360).map(|k| centre + Vec2::from_angle(f64::from(k).to_radians()) * radius).collect()
}

fn cut(rings: Vec<Vec<Point>>, surface: Surface, thickness_mm: f64) -> Cloth {
    Cloth { rings, surface, edge: Edge::Cut { thickness_mm, wall: 0.6 } }
}

/// What stands on the leather, so high.
fn standing(rings: Vec<Vec<Point>>, surface: Surface, height_mm: f64) -> Cloth {
    let edge = Edge::Standing { from_mm: THICK_MM, to_mm: THICK_MM + height_mm, wall: 0.6 };
    Cloth { rings, surface, edge }
}

/// A panel that leans a little, clockwise.
fn panel() -> Vec<Point> {
    let corners = [(-150.0, -220.0), (160.0, -215.0), (205.0, 240.0), (-200.0, 235.0)].map(Point::from);
    let side = |k: usize| (0..200).map(move |i| corners[k].lerp(corners[(k + 1) % 4], f64::from(i) / 200.0));
    (0..4).flat_map(side).collect()
}

fn scene(tilt_deg: f64) -> Scene {
    let camera = Camera::over((1800, 2400), 1815.0, Point::new(4.0, 10.0), 900.0, (tilt_deg, 3.0));
    let mut scene = Scene::new(camera, loose_sheets(3, 3, (1.0, 2.0, 0.8), 21));
    scene.floor = Surface::Wood { tone: [0.30, 0.18, 0.10], width_mm: 140.0 };
    scene.noise = 1.5;
    scene.seed = 21;
    scene
}

/// Places of the table where ink and paper meet, on sheets that are seen round the panel, inside the panel.
fn meetings(scene: &Scene) -> Vec<Point> {
    let at = |sheet: usize, x: f64, y: f64| scene.sheets[sheet].table_from_board * Point::new(x, y);
    vec![at(3, 160.0, 70.0), at(5, 20.0, 70.0), at(3, 160.0, 170.0), at(5, 20.0, 170.0)]
}

fn take(scene: &Scene, thickness_mm: f64) -> Captured {
    let wish = Wish { thickness_mm, edge: EdgeKind::Cut, trim_narrower_mm: None };
    let request = Request { measured_mm: None, wish, tolerance: Tolerance::default() };
    capture(&[scene.render().png()], &request, |_| {}).expect("an outline")
}

/// Each found hole in the truth's frame: middle and diameter.
fn found(captured: &Captured, s: &Score) -> Vec<(Point, f64)> {
    captured
        .holes
        .iter()
        .map(|hole| {
            assert!(hole.fitted.ring.area_mm2() < 0.0, "holes run anticlockwise");
            let ring = hole.fitted.ring.flatten(0.01);
            let middle = s.truth_from_traced * hole.fitted.ring.bounds().center();
            (middle, 2.0 * (area(&ring).abs() / std::f64::consts::PI).sqrt())
        })
        .collect()
}

fn held(truth: &[(Point, f64)], captured: &Captured, outline: &[Point]) {
    let s = score(outline, &captured.outer.fitted.ring.flatten(0.01));
    let found = found(captured, &s);
    println!("outline {:.3} mm; {} holes of {}", s.rms_mm, found.len(), truth.len());
    for (centre, diameter) in truth {
        let off = |h: &(Point, f64)| h.0.distance(*centre);
        let Some(hole) = found.iter().min_by(|a, b| off(a).total_cmp(&off(b))) else { continue };
        println!("{centre:?}: {:.3} mm off, {:.3} mm for {diameter}", off(hole), hole.1);
    }
    assert_eq!(found.len(), truth.len(), "holes");
    for (centre, diameter) in truth {
        let hole =
            found.iter().find(|h| h.0.distance(*centre) <= ROUND_MM && (h.1 - diameter).abs() <= ROUND_MM);
        assert!(hole.is_some(), "the hole of {diameter} mm at {centre:?}");
    }
}

/// A panel with a hole of 10 mm at every meeting, seen at a tilt.
fn punched() -> (Scene, Vec<Point>) {
    let mut scene = scene(28.0);
    let holes = meetings(&scene);
    let mut rings = vec![panel()];
    rings.extend(holes.iter().map(|c| circle(*c, 5.0)));
    scene.cloths.push(cut(rings, LEATHER, THICK_MM));
    (scene, holes)
}

#[test]
fn punched_holes_in_thick_leather_are_found_at_a_tilt() {
    let (scene, holes) = punched();
    let truth: Vec<(Point, f64)> = holes.into_iter().map(|c| (c, 10.0)).collect();
    held(&truth, &take(&scene, THICK_MM), &panel());
}

#[test]
fn rivets_as_large_as_the_holes_take_none_away() {
    let (mut scene, holes) = punched();
    for x in [-70.0, 0.0, 70.0] {
        scene.cloths.push(standing(vec![circle(Point::new(x, 90.0), 5.0)], METAL, 1.5));
    }
    let truth: Vec<(Point, f64)> = holes.into_iter().map(|c| (c, 10.0)).collect();
    held(&truth, &take(&scene, THICK_MM), &panel());
}

#[test]
fn rings_of_metal_that_stand_on_the_leather_are_found() {
    let (mut scene, holes) = punched();
    for c in &holes {
        scene.cloths.push(standing(vec![circle(*c, 9.0), circle(*c, 5.0)], METAL, 1.2));
    }
    let truth: Vec<(Point, f64)> = holes.into_iter().map(|c| (c, 10.0)).collect();
    held(&truth, &take(&scene, THICK_MM), &panel());
}

#[test]
fn buttons_rivets_pockets_and_prints_are_no_holes() {
    let mut scene = scene(28.0);
    scene.cloths.push(cut(vec![panel()], LEATHER, THICK_MM));
    let places = meetings(&scene);
    scene.cloths.push(standing(vec![circle(places[0], 9.0)], HORN, 3.0));
    scene.cloths.push(standing(vec![circle(places[1], 5.0)], METAL, 1.5));
    scene.cloths.push(standing(vec![circle(places[2], 9.0)], Surface::Plain([0.7, 0.7, 0.68]), 0.1));
    scene.cloths.push(standing(vec![circle(places[3], 9.0)], HORN, 0.1));
    let pocket = [(-60.0, -20.0), (60.0, -20.0), (60.0, 90.0), (-60.0, 90.0)].map(Point::from);
    let seam = [(-56.0, -16.0), (56.0, -16.0), (56.0, 86.0), (-56.0, 86.0)].map(Point::from);
    scene.cloths.push(standing(vec![pocket.to_vec(), seam.to_vec()], HORN, 0.1));
    let captured = take(&scene, THICK_MM);
    assert!(captured.holes.is_empty(), "{:?}", captured.report.holes);
}

#[test]
fn a_wide_opening_is_an_inner_line() {
    let mut scene = scene(20.0);
    let opening = circle(Point::new(12.0, -90.0), 42.0);
    scene.cloths.push(cut(vec![panel(), opening.clone()], LEATHER, THICK_MM));
    let captured = take(&scene, THICK_MM);
    let s = score(&panel(), &captured.outer.fitted.ring.flatten(0.01));
    assert_eq!(captured.holes.len(), 1);
    let ring: Vec<Point> =
        captured.holes[0].fitted.ring.flatten(0.01).iter().map(|p| s.truth_from_traced * *p).collect();
    let off: Vec<f64> = ring.iter().map(|p| p.distance(Point::new(12.0, -90.0)) - 42.0).collect();
    let rms =
        (off.iter().map(|d| d * d).sum::<f64>() / f64::from(u32::try_from(off.len()).expect("few"))).sqrt();
    println!("opening: rms {rms:.3} mm");
    assert!(captured.holes[0].fitted.ring.area_mm2() < 0.0, "holes run anticlockwise");
    assert!(rms <= RMS_MM, "the opening: rms {rms:.3} mm");
}

/// Eyelets of the photograph, and none on those that have none.
#[test]
fn eyelets_of_a_photograph_are_found_and_none_is_invented() {
    let Some(photos) = real::folder("photos") else { return };
    for (names, thickness_mm, trim, count) in [
        (&["dev10_leather_eyelets.jpg"][..], 2.8, None, 4),
        (&["dev2_leather_apron.jpg"], 2.4, None, 0),
        (&["dev3_linen_apron.jpg"], 1.2, Some(40.0), 0),
        (&["dev5_butcher_apron_a.jpg", "dev5_butcher_apron_b.jpg"], 1.2, None, 0),
        (&["dev7_black_tabard.jpg"], 1.2, None, 0),
        (&["dev8_gingham_roll.jpg"], 1.2, None, 0),
        (&["dev9_jacket_sleeve.jpg"], 1.2, None, 0),
        (&["dev11_wool_vest.jpg"], 1.2, None, 0),
    ] {
        let bytes: Vec<Vec<u8>> =
            names.iter().map(|n| std::fs::read(photos.join(n)).expect("a photograph")).collect();
        let wish = Wish { thickness_mm, edge: EdgeKind::Cut, trim_narrower_mm: trim };
        let request = Request { measured_mm: None, wish, tolerance: Tolerance::default() };
        let captured = capture(&bytes, &request, |_| {}).expect("an outline");
        println!("{}: {}", names[0], captured.report.holes_in_words());
        assert_eq!(captured.holes.len(), count, "{}", names[0]);
        for hole in &captured.report.holes {
            let diameter = hole.diameter_mm.expect("a round hole");
            assert!((diameter - 9.0).abs() <= ROUND_MM, "{}: {diameter:.2} mm", names[0]);
        }
    }
}

#[test]
fn eyelets_lie_where_they_are() {
    let Some(photos) = real::folder("photos") else { return };
    let photo = photos.join("dev10_leather_eyelets.jpg");
    let truth = Truth::read(&photo.with_extension("truth.json"));
    let wish = Wish { thickness_mm: truth.thickness_mm, edge: EdgeKind::Cut, trim_narrower_mm: None };
    let request = Request { measured_mm: None, wish, tolerance: Tolerance::default() };
    let bytes = std::fs::read(&photo).expect("a photograph");
    let captured = capture(&[bytes], &request, |_| {}).expect("an outline");
    let holes: Vec<(Point, f64)> = truth
        .holes
        .iter()
        .map(|ring| {
            let bounds = ring.iter().fold(kurbo::Rect::from_points(ring[0], ring[0]), |r, p| r.union_pt(*p));
            (bounds.center(), 2.0 * (area(ring).abs() / std::f64::consts::PI).sqrt())
        })
        .collect();
    held(&holes, &captured, &truth.outline);
}
