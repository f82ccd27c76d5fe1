//! A pattern on one page of a roll.

use crate::squares::test_squares;
use crate::{FOLD_MM, HALF_WIDTH_MM, piece, poppler, printed, read};
use onfold::export::{pdf, png, roll};

#[test]
fn a_roll_carries_the_workshop_sheets_too() {
    for (width, size) in [("36in", (215.9, 279.4)), ("914mm", (210.0, 297.0))] {
        let file = printed("leather_pattern", &["--paper", "roll", "--roll-width", width]);
        let last = file.pages().len() - 1;
        let all: String = (4..=last).map(|page| file.words(page)).collect();
        assert!(last >= 5 && all.contains("Order of making") && all.contains("Measures"), "{all}");
        let entry = &file.pages()[last];
        assert!((entry["width_mm"].as_f64().unwrap() - size.0).abs() < 0.01);
        assert!((entry["height_mm"].as_f64().unwrap() - size.1).abs() < 0.01);
    }
}

#[test]
fn a_roll_page_is_as_wide_as_the_roll() {
    let page = roll::page(&piece(), 914.0).unwrap();
    assert!((page.width_mm - 914.0).abs() < 1e-9);
    assert!(page.height_mm < 520.0, "turned: it takes the half's width of the roll, not its length");
    let narrow = roll::page(&piece(), 610.0).unwrap();
    assert!(narrow.height_mm > FOLD_MM, "upright, as it cannot be turned");
    for page in [page, narrow] {
        let file = read(&[page]);
        assert_eq!(test_squares(&file, 0).len(), 1);
        let finished: Vec<_> = file.strokes(0).into_iter().filter(|p| p.layer == "Finished lines").collect();
        assert_eq!(finished.len(), 1);
        let [x0, y0, x1, y1] = finished[0].subpaths[0].bounds();
        let (short, long) = if x1 - x0 < y1 - y0 { (x1 - x0, y1 - y0) } else { (y1 - y0, x1 - x0) };
        assert!((short - HALF_WIDTH_MM).abs() < 0.05 && (long - FOLD_MM).abs() < 0.05, "{short} x {long}");
        let fold = file.strokes(0).into_iter().find(|p| p.layer == "Fold lines").unwrap();
        // ISO 128-2, long dash and dot: 24, 3, 0.5 and 3 widths of the line (from memory).
        let widths: Vec<f64> = fold.dashes_mm.iter().map(|d| d / fold.width_mm).collect();
        for (is, should) in widths.iter().zip([24.0, 3.0, 0.5, 3.0]) {
            assert!((is - should).abs() < 1e-3);
        }
    }
}

#[test]
fn a_roll_that_is_too_narrow_is_told() {
    let message = roll::page(&piece(), 360.0).unwrap_err().to_string();
    assert!(message.contains("360 mm") && message.contains("wider roll"), "{message}");
}

#[test]
fn poppler_finds_the_same_sizes() {
    poppler::required();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("roll.pdf");
    let about = pdf::About { title: "roll", subject: "" };
    std::fs::write(&file, pdf::write(&about, &[roll::page(&piece(), 914.0).unwrap()]).unwrap()).unwrap();
    let sizes = poppler::page_sizes_pt(&file);
    assert_eq!(sizes.len(), 1);
    assert!((sizes[0].0 - 914.0 / 25.4 * 72.0).abs() < 0.01);
    assert!(poppler::words(&file).contains("FINISHED LINE"));
}

#[test]
fn the_picture_is_what_poppler_draws_of_the_pdf() {
    poppler::required();
    let drawing = roll::page(&piece(), 914.0).unwrap();
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("roll.pdf");
    let about = pdf::About { title: "roll", subject: "" };
    std::fs::write(&file, pdf::write(&about, std::slice::from_ref(&drawing)).unwrap()).unwrap();
    let theirs = poppler::Raster::of(&file, 1, 127);
    let ours = image::load_from_memory(&png::write(&drawing, 127.0 / 25.4).unwrap()).unwrap().to_luma8();
    // Poppler rounds a page up to whole pixels, the picture rounds to the nearest.
    assert!(
        theirs.width.abs_diff(ours.width() as usize) <= 1
            && theirs.height.abs_diff(ours.height() as usize) <= 1
    );
    let mut ink = [0_u64; 2];
    let mut differ = 0_u64;
    for (x, y, pixel) in ours.enumerate_pixels() {
        let Some(other) = theirs.grey.get(y as usize * theirs.width + x as usize) else { continue };
        ink[0] += u64::from(255 - pixel.0[0]);
        ink[1] += u64::from(255 - other);
        differ += u64::from(pixel.0[0].abs_diff(*other));
    }
    // Two renderers smooth edges differently (poppler also widens hairlines); a lost or shifted item would tell by
    // far more than a third of all ink.
    let most = ink[0].max(ink[1]);
    assert!(ink[0].abs_diff(ink[1]) * 10 < most, "ink {ink:?}");
    assert!(differ * 3 < most, "{differ} of {most}");
}
