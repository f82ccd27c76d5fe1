//! Corners, lens, pose and the sheets' places on rendered scenes whose truth is exact.

#![allow(clippy::print_stdout, reason = "the figures measured are told")]

mod support;

use onfold::capture::{Located, locate};
use onfold::geometry::{Point, Vec2};
use onfold::photo::{Limits, Photo, decode};
use onfold::sheet::{Paper, Scale, layout};
use support::camera::Camera;
use support::random::Random;
use support::scene::{Cloth, Curl, Scene, Sheet, Surface, loose_sheets};

/// The bar for checker corners on clean renders, pixels.
const CORNER_MEAN_PX: f64 = 0.05;
/// No corner that the solve believes may lie further off. Beside the cloth, where a part of the window is covered, some
/// do, and the solve must weigh them down.
const CORNER_WORST_PX: f64 = 0.25;
/// A corner of less weight than this is not believed.
const BELIEVED: f64 = 0.1;
/// Sheets' places and everything measured between them, millimetres over the whole table.
const TABLE_MM: f64 = 0.10;

/// Nine loose sheets with a dark blanket in the middle, through a phone-like lens.
fn scene(seed: u64) -> Scene {
    let camera = Camera::over((1200, 1600), 1210.0, Point::new(4.0, 10.0), 950.0, (17.0, 3.0))
        .with_lens([0.045, -0.11, 0.0006, -0.0004, 0.05], (2.1, -3.3));
    let mut scene = Scene::new(camera, loose_sheets(3, 3, (3.0, 3.0, 1.5), seed));
    scene.floor = Surface::Wood { tone: [0.30, 0.18, 0.10], width_mm: 140.0 };
    let ring = [(-190.0, -260.0), (200.0, -250.0), (180.0, 270.0), (-200.0, 240.0)].map(Point::from).to_vec();
    let surface = Surface::Woven { tone: [0.05, 0.06, 0.055], uneven: 0.3, patch_mm: 9.0 };
    scene.cloths.push(Cloth::flat(ring, surface));
    scene.light.slope_per_m = Vec2::new(0.25, -0.15);
    scene.blur_px = 0.7;
    scene.seed = seed;
    scene
}

fn photo(scene: &Scene) -> Photo {
    decode(&scene.render().png(), Limits::default()).expect("a picture")
}

/// Error of every corner believed, and how many of the truly clear ones were taken.
fn corner_errors(scene: &Scene, located: &Located, scale: Scale) -> (Vec<f64>, usize, usize) {
    let mut errors = Vec::new();
    for (o, &weight) in located.observations.iter().zip(&located.solution.weights) {
        let sheet = scene.sheets.iter().find(|s| s.number == o.board).expect("a sheet that is there");
        let nominal = Point::new(o.on_board.x / scale.across, o.on_board.y / scale.down);
        let truth = scene.camera.project(sheet.table_from_board * nominal, 0.0).expect("in front");
        if weight > BELIEVED {
            errors.push(truth.distance(o.pixel));
        }
    }
    let mut clear = 0;
    let mut taken = 0;
    for (index, sheet) in scene.sheets.iter().enumerate() {
        for corner in layout::inner_corners().filter(|c| scene.is_clear(index, *c, 12.0)) {
            clear += 1;
            let on_board = Point::new(corner.x * scale.across, corner.y * scale.down);
            taken += usize::from(
                located
                    .observations
                    .iter()
                    .any(|o| o.board == sheet.number && o.on_board.distance(on_board) < 0.01),
            );
        }
    }
    (errors, taken, clear)
}

#[expect(clippy::cast_precision_loss, reason = "some hundreds")]
fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// Largest distance left between two sets of places after the best turn and shift of one of them.
fn rigid_worst(pairs: &[(Point, Point)]) -> f64 {
    #[expect(clippy::cast_precision_loss, reason = "some hundreds")]
    let n = pairs.len() as f64;
    let (p0, q0) = pairs
        .iter()
        .fold((Vec2::ZERO, Vec2::ZERO), |s, (p, q)| (s.0 + p.to_vec2() / n, s.1 + q.to_vec2() / n));
    let (mut dot, mut cross) = (0.0, 0.0);
    for (p, q) in pairs {
        let (p, q) = (p.to_vec2() - p0, q.to_vec2() - q0);
        dot += p.dot(q);
        cross += p.cross(q);
    }
    let turn = kurbo::Affine::rotate(cross.atan2(dot));
    let moved = |p: Point| turn * (p.to_vec2() - p0).to_point();
    pairs.iter().map(|(p, q)| moved(*p).distance((q.to_vec2() - q0).to_point())).fold(0.0, f64::max)
}

fn check_table(scene: &Scene, located: &Located, scale: Scale) {
    let mut pairs = Vec::new();
    for found in &located.sheets {
        let sheet = scene.sheets.iter().find(|s| s.number == found.number).expect("a sheet that is there");
        for (x, y) in [(0.0, 0.0), (180.0, 0.0), (180.0, 240.0), (0.0, 240.0)] {
            let true_mm = Point::new(x * scale.across, y * scale.down);
            pairs.push((found.place.table_from_board(true_mm), sheet.table_from_board * Point::new(x, y)));
        }
    }
    let worst = rigid_worst(&pairs);
    println!("sheets' corners: worst {worst:.3} mm");
    assert!(worst <= TABLE_MM, "sheets lie {worst:.3} mm off");
    // Whatever lies between the sheets is measured through the camera alone.
    let camera = &located.solution.cameras[0];
    let mut random = Random::new(3);
    let mut pairs = Vec::new();
    while pairs.len() < 200 {
        let at = Point::new(random.between(-300.0, 300.0), random.between(-430.0, 430.0));
        let Some(pixel) = scene.camera.project(at, 0.0) else { continue };
        if pixel.x > 0.0 && pixel.y > 0.0 && pixel.x < 1199.0 && pixel.y < 1599.0 {
            let ours = camera.table_from_pixel(pixel, 0.0).expect("on the table");
            assert!(camera.pixel_from_table(ours, 0.0).expect("in front").distance(pixel) < 1e-6);
            pairs.push((ours, at));
        }
    }
    let worst = rigid_worst(&pairs);
    println!("the table through the camera: worst {worst:.3} mm");
    assert!(worst <= TABLE_MM, "the table is bent by {worst:.3} mm");
}

#[test]
fn corners_camera_and_sheets_are_found_to_their_bars() {
    for seed in [21, 22] {
        let scene = scene(seed);
        let located = locate(&[photo(&scene)], Scale::TRUE).expect("sheets");
        assert_eq!(located.sheets.len(), 8, "the middle one lies covered");
        let (errors, taken, clear) = corner_errors(&scene, &located, Scale::TRUE);
        let worst = errors.iter().copied().fold(0.0, f64::max);
        println!(
            "{} corners, mean {:.4} worst {worst:.3} px; {taken} of {clear} clear ones",
            errors.len(),
            mean(&errors)
        );
        assert!(clear > 250 && taken * 100 >= clear * 97, "{taken} of {clear} clear corners taken");
        assert!(mean(&errors) <= CORNER_MEAN_PX, "mean error {:.4} px", mean(&errors));
        assert!(worst <= CORNER_WORST_PX, "worst error {worst:.3} px");
        check_table(&scene, &located, Scale::TRUE);
    }
}

#[test]
fn a_print_that_is_not_true_is_put_right_by_the_ruler() {
    let scale = Scale { across: 0.98, down: 0.985 };
    let mut scene = scene(31);
    scene.sheets = scene
        .sheets
        .iter()
        .map(|s| {
            let middle = s.table_from_board * Point::new(90.0, 120.0);
            Sheet::printed(s.number, Paper::A4, middle, 0.8, (scale.across, scale.down))
        })
        .collect();
    scene.noise = 2.0;
    let located = locate(&[photo(&scene)], scale).expect("sheets");
    assert_eq!(located.sheets.len(), 8, "the middle one lies covered");
    let (errors, taken, clear) = corner_errors(&scene, &located, scale);
    println!("{} corners, mean {:.4} px; {taken} of {clear}", errors.len(), mean(&errors));
    assert!(clear > 250 && taken * 100 >= clear * 95, "{taken} of {clear} clear corners taken");
    check_table(&scene, &located, scale);
}

/// How far a lift found may be off, millimetres and as a part of it: the paper's bend is not the one that the program
/// reckons with.
const LIFT_OFF: (f64, f64) = (0.3, 0.2);
/// Sheets' places when some are curled and others lie on them, millimetres.
const CURLED_TABLE_MM: f64 = 0.15;

/// Sheets that lie on one another and curl up to 3 mm do not bend the camera, and the curled ones are known by their lift.
#[test]
fn sheets_that_curl_and_overlap_are_told_and_do_not_bend_the_camera() {
    let curls = [(0, 0, 3.0, 140.0), (2, 1, 1.6, 160.0), (6, 3, 2.2, 150.0), (8, 2, 1.0, 150.0)];
    let mut scene = scene(23);
    // Seen more aslant, heights count.
    scene.camera = Camera::over((1200, 1600), 1210.0, Point::new(4.0, 10.0), 1150.0, (32.0, 3.0))
        .with_lens([0.045, -0.11, 0.0006, -0.0004, 0.05], (2.1, -3.3));
    for (index, sheet) in scene.sheets.iter_mut().enumerate() {
        sheet.height_mm = 0.12 * f64::from(u32::try_from(index % 4).expect("few"));
        let curl = curls.iter().find(|c| c.0 == index);
        sheet.curl = curl.map(|&(_, corner, lift_mm, reach_mm)| Curl { corner, lift_mm, reach_mm });
    }
    let located = locate(&[photo(&scene)], Scale::TRUE).expect("sheets");
    assert_eq!(located.sheets.len(), 8, "the middle one lies covered");
    for found in &located.sheets {
        let (lift, corner) = found.relief.most_lifted();
        let wanted = curls.iter().find(|c| c.0 == found.number);
        println!("sheet {}: lift {lift:.2} mm at corner {corner}, truth {wanted:?}", found.number + 1);
        match wanted {
            Some(&(_, at, truth_mm, _)) => {
                assert_eq!(corner, at, "sheet {}", found.number + 1);
                assert!(
                    (lift - truth_mm).abs() <= LIFT_OFF.0 + LIFT_OFF.1 * truth_mm,
                    "{lift:.2} mm, not {truth_mm}"
                );
            }
            None => assert!(lift.abs() < LIFT_OFF.0, "a flat sheet is lifted by {lift:.2} mm"),
        }
    }
    let camera = &located.solution.cameras[0];
    let off = camera.lens.focal_px - 1210.0;
    let sigma = located.solution.focal_sigma_px[0];
    println!("focal length {off:+.2} px off, says {sigma:.2}");
    assert!(off.abs() <= 3.0 * sigma, "focal length {off:+.2} px off, says {sigma:.2}");
    let mut pairs = Vec::new();
    for found in &located.sheets {
        let sheet = scene.sheets.iter().find(|s| s.number == found.number).expect("a sheet that is there");
        for (x, y) in [(0.0, 0.0), (180.0, 0.0), (180.0, 240.0), (0.0, 240.0)] {
            let at = Point::new(x, y);
            pairs.push((found.place.table_from_board(at), sheet.table_from_board * at));
        }
    }
    let worst = rigid_worst(&pairs);
    println!("sheets' corners: worst {worst:.3} mm");
    assert!(worst <= CURLED_TABLE_MM, "sheets lie {worst:.3} mm off");
}

/// Boards printed on one roll are solved as one sheet; those under the garment are known too.
#[test]
fn boards_of_a_roll_are_one_sheet() {
    let mut scene = scene(24);
    let home = kurbo::Affine::translate((-360.0, -365.0)) * kurbo::Affine::rotate(0.02);
    scene.sheets = (0..12)
        .map(|s| {
            let (column, row) = (f64::from(s % 4), f64::from(s / 4));
            let mut sheet = Sheet::lying(usize::try_from(s).expect("few"), Paper::A4, Point::ZERO, 0.0);
            sheet.table_from_board = home * kurbo::Affine::translate((180.0 * column, 240.0 * row));
            sheet.own = Some(kurbo::Rect::new(
                if s % 4 == 0 { -15.0 } else { 0.0 },
                if s < 4 { -15.0 } else { 0.0 },
                if s % 4 == 3 { 195.0 } else { 180.0 },
                if s >= 8 { 255.0 } else { 240.0 },
            ));
            sheet
        })
        .collect();
    let located = locate(&[photo(&scene)], Scale::TRUE).expect("sheets");
    assert_eq!(located.placed.len(), 12, "the hidden ones' places follow from the others'");
    let mut pairs = Vec::new();
    for placed in &located.placed {
        let sheet = scene.sheets.iter().find(|s| s.number == placed.number).expect("a board of the roll");
        for (x, y) in [(0.0, 0.0), (180.0, 240.0)] {
            let at = Point::new(x, y);
            pairs.push((placed.place.table_from_board(at), sheet.table_from_board * at));
        }
    }
    let worst = rigid_worst(&pairs);
    println!("boards' corners: worst {worst:.3} mm");
    assert!(worst <= 0.05, "boards lie {worst:.3} mm off");
    let turns: Vec<f64> = located.placed.iter().map(|p| p.place.turn).collect();
    assert!(turns.iter().all(|t| (t - turns[0]).abs() < 1e-12), "one turn for all");
}
