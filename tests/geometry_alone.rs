//! What the geometry alone costs: the true outline, seen by the true camera at the height of the sheets, taken back to the
//! table by the camera found.

#![allow(clippy::print_stdout, reason = "the figures measured are told")]

mod support;

use onfold::capture::locate;
use onfold::photo::{Limits, decode};
use onfold::sheet::Scale;
use support::real;
use support::score::score;
use support::truth::Truth;

/// Largest root mean square, millimetres.
const RMS_MM: f64 = 0.1;

#[test]
fn the_camera_found_places_the_true_outline() {
    let Some(photos) = real::folder("photos") else { return };
    let mut missed = Vec::new();
    for (name, block) in [
        ("dev1_canvas_apron", (180.0, 240.0)),
        ("dev2_leather_apron", (180.0, 240.0)),
        ("dev3_linen_apron", (180.0, 240.0)),
        ("dev7_black_tabard", (180.0, 240.0)),
        ("dev8_gingham_roll", (180.0, 240.0)),
        ("dev9_jacket_sleeve", (180.0, 240.0)),
        ("dev10_leather_eyelets", (180.0, 240.0)),
        ("dev11_wool_vest", (180.0 * 0.98, 240.0 * 0.985)),
    ] {
        let path = photos.join(name).with_extension("jpg");
        let truth = Truth::read(&path.with_extension("truth.json"));
        let photo =
            decode(&std::fs::read(&path).expect("a photograph"), Limits::default()).expect("a picture");
        let located = locate(&[photo], Scale::measured(block.0, block.1)).expect("a camera");
        let camera = located.solution.cameras[0];
        let heights = &truth.sheet_heights_mm;
        let height = heights.iter().sum::<f64>() / f64::from(u32::try_from(heights.len()).expect("few"));
        let (mut wanted, mut got) = (Vec::new(), Vec::new());
        for p in &truth.outline {
            let at = truth.table_from_garment * *p;
            let seen = truth.camera.project(at, height);
            if let Some(found) = seen.and_then(|pixel| camera.table_from_pixel(pixel, 0.0)) {
                wanted.push(*p);
                got.push(found);
            }
        }
        let s = score(&wanted, &got);
        println!("{name}: rms {:.3} p95 {:.3} worst {:.3} mm", s.rms_mm, s.p95_mm, s.worst_mm);
        if s.rms_mm > RMS_MM {
            missed.push(format!("{name} {:.3}", s.rms_mm));
        }
    }
    assert!(missed.is_empty(), "over {RMS_MM} mm: {missed:?}");
}
