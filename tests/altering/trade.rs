//! Check values of the trade notes, repeated by hand.

use crate::halves::{IN, bib_apron, close, drafted, in2, piece, straight_half};
use kurbo::{CubicBez, Line, PathSeg, Point};
use onfold::pattern::{Recipe, StepText, draft};

#[test]
fn check_1_bib_apron() {
    // TRADE check 1 [G]: half 29·12 - 7·10/2 = 313 in²; whole 626 in² = 4.347 ft²; slant √(7² + 10²); perimeter.
    let half = bib_apron();
    let whole = half.measures();
    close(in2(half.outline.area_mm2()), 313.0, 1e-9);
    close(in2(whole.area_mm2), 626.0, 1e-9);
    close(in2(whole.area_mm2) / 144.0, 4.347, 5e-4);
    close(half.outline.edges()[1].length_mm() / IN, 12.207, 5e-4);
    close(whole.perimeter_mm / IN, 96.413, 5e-4);
}

#[test]
fn check_2_lengthened_below_the_corner() {
    // TRADE check 2 [G]: 6 in longer below the corner: whole 2·(313 + 6·12) = 770 in² = 5.347 ft²; perimeter + 12.
    let step = StepText::new("lengthen").with("by", "6in").with("at", "4in below C");
    let after = drafted(&bib_apron(), vec![step]);
    let whole = after.measures();
    close(in2(whole.area_mm2), 770.0, 1e-9);
    close(in2(whole.area_mm2) / 144.0, 5.347, 5e-4);
    close(whole.perimeter_mm / IN, 108.413, 5e-4);
    close(whole.height_mm / IN, 35.0, 1e-9);
    // The usual line lies on the side too, so leaving `at` out gives the same.
    let usual = drafted(&bib_apron(), vec![StepText::new("lengthen").with("by", "6in")]);
    assert_eq!(usual, after);
    // And laid through the corner itself, which stays where it is.
    let at_corner = drafted(&bib_apron(), vec![StepText::new("lengthen").with("by", "6in").with("at", "C")]);
    assert_eq!(at_corner, after);
}

#[test]
fn check_3_corner_cut_straight() {
    // TRADE check 3 [G]: half 36 × 25 less a corner 8 × 10 cut straight: 900 - 40 = 860; whole 1720 = 11.944 ft².
    let half = straight_half(&[(0.0, 0.0), (17.0, 0.0), (25.0, 10.0), (25.0, 36.0), (0.0, 36.0)]);
    close(in2(half.outline.area_mm2()), 860.0, 1e-9);
    close(in2(half.measures().area_mm2), 1720.0, 1e-9);
    close(in2(half.measures().area_mm2) / 144.0, 11.944, 5e-4);
}

#[test]
fn check_10_armhole_slid_out() {
    // TRADE check 10 [G]: armhole 10 high slid out 1: half +10, whole +20 area; arc length the same; whole widths +2.
    let p = |x: f64, y: f64| Point::new(x * IN, y * IN);
    let half = piece(vec![
        PathSeg::Line(Line::new(p(0.0, 0.0), p(5.0, 0.0))),
        PathSeg::Cubic(CubicBez::new(p(5.0, 0.0), p(5.5, 5.0), p(8.0, 9.0), p(12.0, 10.0))),
        PathSeg::Line(Line::new(p(12.0, 10.0), p(0.0, 10.0))),
        PathSeg::Line(Line::new(p(0.0, 10.0), p(0.0, 0.0))),
    ]);
    let before = half.measures();
    let done = draft(
        &half,
        &Recipe {
            names: vec![("armhole".into(), "B-C".into())],
            steps: vec![StepText::new("widen").with("total", "2in").with_list("edges", &["armhole".into()])],
        },
    )
    .unwrap();
    let after = done.body().measures();
    close(in2(done.body().outline.area_mm2() - half.outline.area_mm2()), 10.0, 1e-9);
    close(in2(after.area_mm2 - before.area_mm2), 20.0, 1e-9);
    close(after.width_mm - before.width_mm, 2.0 * IN, 1e-9);
    close(done.body().outline.edges()[1].length_mm(), half.outline.edges()[1].length_mm(), 1e-9);
    assert!(done.reports[0].edges.iter().all(|e| !e.edge.contains("armhole")), "the armhole kept its length");
    // Whole side, said per side and with all edges: the same.
    let all = drafted(&half, vec![StepText::new("widen").with("each", "1in")]);
    assert_eq!(all.outline.ring(), done.body().outline.ring());
}

#[test]
fn check_11_fold_off_square() {
    // TRADE check 11 [G]: off square by 2° over 5 opens a V of 5·tan 2° = 0.175.
    let drop = 5.0 * 2f64.to_radians().tan();
    let half = straight_half(&[(0.0, 0.0), (5.0, -drop), (5.0, 9.0), (0.0, 9.0)]);
    let [top, bottom] = half.outline.fold_ends().unwrap();
    close(top.off_rad.to_degrees(), 2.0, 1e-9);
    close(top.depth_mm(5.0), 0.175, 5e-4);
    close(bottom.off_rad, 0.0, 1e-12);
    let peak = straight_half(&[(0.0, 0.0), (5.0, 0.0), (5.0, 9.0 - drop), (0.0, 9.0)]);
    close(peak.outline.fold_ends().unwrap()[1].depth_mm(5.0), -0.175, 5e-4);
}
