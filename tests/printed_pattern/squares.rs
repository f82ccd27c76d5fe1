//! The test square of every page: true, and off the lines that are cut.

use crate::pdf_reader::Pdf;
use crate::{piece, printed, read};
use onfold::export::tiles;
use onfold::sheet::Paper;

/// The closed upright squares of between 90 and 110 mm on a page: left, top, right, bottom.
pub(crate) fn test_squares(file: &Pdf, page: usize) -> Vec<[f64; 4]> {
    let closed =
        file.strokes(page).into_iter().flat_map(|p| p.subpaths).filter(|s| s.closed && s.points.len() == 4);
    let about = 90.0..110.0;
    closed
        .map(|s| s.bounds())
        .filter(|[x0, y0, x1, y1]| about.contains(&(x1 - x0)) && about.contains(&(y1 - y0)))
        .collect()
}

/// The lines of between 90 and 110 mm that a page without a square is measured by: boxes round the level one and the upright one.
fn test_lines(file: &Pdf, page: usize) -> Vec<[f64; 4]> {
    let marks = file.strokes(page).into_iter().filter(|p| p.layer == "Page marks");
    let about = 90.0..110.0;
    marks
        .flat_map(|p| p.subpaths)
        .filter(|s| !s.closed && s.points.len() == 2)
        .map(|s| s.bounds())
        .filter(|[x0, y0, x1, y1]| about.contains(&(x1 - x0).hypot(y1 - y0)))
        .collect()
}

/// Places of the finished line and the cut line every half millimetre that show on a page and lie in a box.
fn finished_line_in(file: &Pdf, page: usize, [x0, y0, x1, y1]: [f64; 4]) -> usize {
    let lines =
        file.strokes(page).into_iter().filter(|p| ["Finished lines", "Cut lines"].contains(&&*p.layer));
    let mut inside = 0;
    for run in lines.flat_map(|p| p.subpaths) {
        for pair in run.points.windows(2) {
            let steps = ((pair[1][0] - pair[0][0]).hypot(pair[1][1] - pair[0][1]) * 2.0).ceil().max(1.0);
            for i in 0..=steps as usize {
                let t = i as f64 / steps;
                let [x, y] = [0, 1].map(|k| pair[0][k] + t * (pair[1][k] - pair[0][k]));
                inside += usize::from(x0 < x && x < x1 && y0 < y && y < y1);
            }
        }
    }
    inside
}

#[test]
fn every_page_has_a_true_test_square() {
    for paper in [Paper::A4, Paper::Letter] {
        let file = read(&tiles::pages(&[piece()], paper).unwrap());
        let pages = file.pages().len();
        assert!(
            pages == 8 || pages == 9,
            "a map and 4 x 2 tiles, with or without the one beyond the armhole"
        );
        for page in 0..pages {
            let squares = test_squares(&file, page);
            assert_eq!(squares.len(), 1, "page {}", page + 1);
            let [x0, y0, x1, y1] = squares[0];
            let (w, h) = (x1 - x0, y1 - y0);
            assert_eq!(
                finished_line_in(&file, page, squares[0]),
                0,
                "page {}: a line in the square",
                page + 1
            );
            assert!((w - 100.0).abs() <= 0.05 && (h - 100.0).abs() <= 0.05, "{w} x {h}");
            let entry = &file.pages()[page];
            let size = (entry["width_mm"].as_f64().unwrap(), entry["height_mm"].as_f64().unwrap());
            assert!((size.0 - paper.size_mm().0).abs() < 0.001 && (size.1 - paper.size_mm().1).abs() < 0.001);
            assert_eq!(entry["user_unit"], false);
        }
    }
}

/// Pages of a worked example whose test square, or test lines where there is no room for it, lie on a cut or a finished line;
/// all are measured on the way.
fn crossed_squares(example: &str, paper: &str, most_pages: usize) -> Vec<usize> {
    let file = printed(example, &["--paper", paper]);
    let pages = file.pages().len();
    assert!(pages <= most_pages, "{example}: {pages} pages");
    let (mut measured, mut lines, mut crossed) = (0, 0, Vec::new());
    for page in 0..pages {
        let mut measures = test_squares(&file, page);
        for [x0, y0, x1, y1] in &measures {
            let (w, h) = (x1 - x0, y1 - y0);
            assert!((w - 100.0).abs() <= 0.05 && (h - 100.0).abs() <= 0.05, "{w} x {h}");
        }
        if measures.is_empty() && file.words(page).contains("no room for the square") {
            measures = test_lines(&file, page);
            assert_eq!(measures.len(), 2, "page {}", page + 1);
            for (side, [x0, y0, x1, y1]) in measures.iter().enumerate() {
                let size = if side == 0 { [x1 - x0, y1 - y0] } else { [y1 - y0, x1 - x0] };
                assert!((size[0] - 100.0).abs() <= 0.05 && size[1].abs() <= 0.05, "{size:?}");
            }
            lines += 1;
        }
        measured += usize::from(!measures.is_empty());
        if measures.into_iter().any(|r| finished_line_in(&file, page, r) > 0) {
            crossed.push(page + 1);
        }
    }
    // Workshop sheets stand at the end and have none.
    assert!(measured + 5 >= pages, "{measured} pages of {pages} are measured");
    assert!(lines * 10 <= pages, "{lines} pages of {pages} have no square");
    crossed
}

#[test]
fn the_leather_examples_squares_are_true_and_off_every_cut() {
    for (paper, most) in [("a4", 16), ("letter", 16)] {
        assert_eq!(crossed_squares("leather_pattern", paper, most), Vec::<usize>::new(), "{paper}");
    }
}

#[test]
fn the_canvas_examples_squares_are_true_and_off_every_cut() {
    for (paper, most) in [("a4", 50), ("letter", 54)] {
        assert_eq!(crossed_squares("canvas_pattern", paper, most), Vec::<usize>::new(), "{paper}");
    }
}

#[test]
fn small_pieces_share_a_page_at_full_scale() {
    let file = printed("leather_pattern", &["--paper", "a4"]);
    let shared = (0..file.pages().len())
        .find(|page| file.words(*page).contains("nothing to join"))
        .expect("the ring tab and the ring patch share a page");
    assert!(
        file.words(shared).contains("ring tab, ring patch")
            || file.words(shared).contains("ring patch, ring tab")
    );
    assert_eq!(test_squares(&file, shared).len(), 1);
    // A ring tab of two laps of 38.1 mm about a rod of 4 mm in leather of 1.4 mm (TRADE.md check 19 [G]); a patch of 60 mm.
    let long = 2.0 * 38.1 + std::f64::consts::PI * (4.0 + 1.4) / 2.0;
    let finished: Vec<[f64; 4]> = file
        .strokes(shared)
        .into_iter()
        .filter(|p| p.layer == "Finished lines")
        .flat_map(|p| p.subpaths)
        .map(|s| s.bounds())
        .collect();
    assert_eq!(finished.len(), 2);
    for (width, height) in [(25.4, long), (60.0, 60.0)] {
        let there = finished
            .iter()
            .any(|[x0, y0, x1, y1]| (x1 - x0 - width).abs() < 0.05 && (y1 - y0 - height).abs() < 0.05);
        assert!(there, "{width} x {height}: {finished:?}");
    }
}
