//! Steps of the recipe against the trade's own figures, and what must hold for any piece.
//!
//! Rows named "TRADE check N" are the numbered check values of the trade notes that the project is built to; `[G]`
//! marks a value derived from geometry, which the test repeats by hand in its comment. Inches there, as here.

use kurbo::{CubicBez, Line, ParamCurve, ParamCurveNearest, PathSeg, Point};
use onfold::geometry::Ring;
use onfold::pattern::{Kind, Outline, PatternError, Piece, Recipe, Record, StepProblem, StepText, draft};
use proptest::prelude::*;
use proptest::test_runner::{RngSeed, TestRunner};
use std::cell::Cell;

const IN: f64 = 25.4;

/// A half of straight edges through these points in inches, from the fold's top; the fold closes it.
fn straight_half(points: &[(f64, f64)]) -> Piece {
    let at = |i: usize| {
        let (x, y) = points[i % points.len()];
        Point::new(x * IN, y * IN)
    };
    piece((0..points.len()).map(|i| PathSeg::Line(Line::new(at(i), at(i + 1)))).collect())
}

/// A half whose every segment begins at a corner.
fn piece(segments: Vec<PathSeg>) -> Piece {
    let corners: Vec<usize> = (0..segments.len()).collect();
    let ring = Ring::new(segments).expect("the segments of a test piece meet");
    Piece::new(Outline::from_half(&ring, &corners), Record::default())
}

/// TRADE check 1: fold 29, hem 12, top 5, straight cut from the top end to a point 10 below the top at the side.
fn bib_apron() -> Piece {
    straight_half(&[(0.0, 0.0), (5.0, 0.0), (12.0, 10.0), (12.0, 29.0), (0.0, 29.0)])
}

/// A half with a curved top, a curved armhole and leaning sides, millimetres: like the demo's apron.
fn curved_apron() -> Piece {
    piece(vec![
        PathSeg::Cubic(CubicBez::new((0.0, 0.0), (50.0, 0.0), (87.5, -6.0), (125.0, -6.0))),
        PathSeg::Cubic(CubicBez::new((125.0, -6.0), (135.0, 126.5), (195.0, 240.45), (305.0, 259.0))),
        PathSeg::Line(Line::new((305.0, 259.0), (317.0, 774.0))),
        PathSeg::Line(Line::new((317.0, 774.0), (0.0, 774.0))),
        PathSeg::Line(Line::new((0.0, 774.0), (0.0, 0.0))),
    ])
}

fn recipe(steps: Vec<StepText>) -> Recipe {
    Recipe { names: vec![("armhole".into(), "B-C".into()), ("side".into(), "C-D".into())], steps }
}

fn drafted(half: &Piece, steps: Vec<StepText>) -> Piece {
    draft(half, &recipe(steps)).unwrap_or_else(|e| panic!("{e}")).body().clone()
}

fn problem(half: &Piece, step: StepText) -> (String, StepProblem) {
    match draft(half, &recipe(vec![step])) {
        Err(error @ PatternError::Step { number: 1, .. }) => {
            let text = error.to_string();
            let PatternError::Step { problem, .. } = error else { unreachable!() };
            (text, *problem)
        }
        other => panic!("a refusal of step 1 expected, not {other:?}"),
    }
}

fn close(value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{value} is not {expected} within {within}");
}

fn in2(mm2: f64) -> f64 {
    mm2 / (IN * IN)
}

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

#[test]
fn a_line_is_told_in_many_ways() {
    // The side of the bib apron runs from C, 10 in down, to D, 29 in down: each of these lies on it at 14 in.
    let half = bib_apron();
    let lengthened =
        |at: &str| drafted(&half, vec![StepText::new("lengthen").with("by", "1in").with("at", at)]);
    let expected = lengthened("14in");
    for at in ["14in below top", "4in below C", "15in above D", "4 in below c", "355.6mm", "15in above E"] {
        assert_eq!(lengthened(at), expected, "{at}");
    }
    assert_eq!(lengthened("middle of side"), lengthened("19 1/2in"));
    assert_eq!(lengthened("middle of C-D"), lengthened("9.5in below C"));
    for (at, told) in
        [("somewhere", "no point `somewhere`"), ("half way", "write at ="), ("4 below C", "no unit")]
    {
        let (text, _) = problem(&half, StepText::new("lengthen").with("by", "1in").with("at", at));
        assert!(text.contains(told), "{at}: {text}");
    }
}

#[test]
fn curves_across_the_line_are_blended() {
    let half = curved_apron();
    let step = StepText::new("lengthen").with("by", "90mm").with("at", "100mm below top");
    let after = drafted(&half, vec![step]);
    assert_eq!(after.outline.edges().len(), half.outline.edges().len());
    let points: Vec<Point> = after.outline.points().map(|(_, p)| p).collect();
    assert_eq!(points[1], Point::new(125.0, -6.0), "what lies above the line stays");
    assert_eq!(points[2], Point::new(305.0, 349.0), "what lies below goes down");
    // The armhole only goes down, so it stays one curve without a step; the side past the line is only moved.
    assert_eq!(after.outline.edges()[1].segments.len(), 1);
    close(after.outline.edges()[2].length_mm(), half.outline.edges()[2].length_mm(), 1e-9);
}

#[test]
fn a_scoop_across_the_line_keeps_its_level_bottom() {
    // A top edge that dips from both ends: its bottom lies past the line, its ends do not.
    let half = piece(vec![
        PathSeg::Cubic(CubicBez::new((0.0, 0.0), (20.0, 80.0), (80.0, 80.0), (100.0, 0.0))),
        PathSeg::Line(Line::new((100.0, 0.0), (100.0, 200.0))),
        PathSeg::Line(Line::new((100.0, 200.0), (0.0, 200.0))),
        PathSeg::Line(Line::new((0.0, 200.0), (0.0, 0.0))),
    ]);
    let after =
        drafted_unnamed(&half, StepText::new("lengthen").with("by", "30mm").with("at", "40mm below top"));
    let scoop = &after.outline.edges()[0].segments;
    assert_eq!(scoop.len(), 2);
    let PathSeg::Cubic(left) = scoop[0] else { panic!("a curve") };
    close(left.p3.y, 90.0, 1e-6);
    close(left.p2.y, left.p3.y, 1e-6);
    // The scoop is half as deep again (60 to 90), all else 30 longer.
    let scooped = 100.0 * 200.0 - half.outline.area_mm2();
    close(after.outline.area_mm2() - half.outline.area_mm2(), 100.0 * 30.0 - 0.5 * scooped, 1e-6);
}

fn drafted_unnamed(half: &Piece, step: StepText) -> Piece {
    let recipe = Recipe { names: Vec::new(), steps: vec![step] };
    draft(half, &recipe).unwrap_or_else(|e| panic!("{e}")).body().clone()
}

#[test]
fn one_end_of_the_armhole_moves_out_at_its_height() {
    let half = curved_apron();
    let step = StepText::new("move-end").with("edge", "armhole").with("point", "C").with("each", "25mm");
    let done = draft(&half, &recipe(vec![step.clone()])).unwrap();
    let at: Vec<Point> = done.body().outline.points().map(|(_, p)| p).collect();
    assert_eq!(at[1], Point::new(125.0, -6.0));
    close(at[2].x, 330.0, 1e-9);
    close(at[2].y, 259.0, 1e-9);
    assert_eq!(at[3], Point::new(317.0, 774.0), "the side keeps its far end");
    assert!(done.body().outline.edges()[2].is_straight());
    let armhole =
        done.reports[0].edges.iter().find(|e| e.edge == "armhole (B-C)").expect("its arc length is told");
    assert!(armhole.after_mm > armhole.before_mm + 10.0);

    let slides = drafted(&half, vec![step.with("neighbour", "slides")]);
    let at: Vec<Point> = slides.outline.points().map(|(_, p)| p).collect();
    close(at[3].x, 342.0, 1e-9);
    close(slides.outline.edges()[2].length_mm(), half.outline.edges()[2].length_mm(), 1e-9);
}

#[test]
fn a_rounded_hem_corner_stays_smooth() {
    // Side, rounded corner, hem: the ends of straight runs have letters, and the curve follows the side's new lean.
    let ring = Ring::new(vec![
        PathSeg::Line(Line::new((0.0, 0.0), (125.0, 0.0))),
        PathSeg::Line(Line::new((125.0, 0.0), (300.0, 260.0))),
        PathSeg::Line(Line::new((300.0, 260.0), (300.0, 740.0))),
        PathSeg::Cubic(CubicBez::new((300.0, 740.0), (300.0, 762.0), (282.0, 780.0), (260.0, 780.0))),
        PathSeg::Line(Line::new((260.0, 780.0), (0.0, 780.0))),
        PathSeg::Line(Line::new((0.0, 780.0), (0.0, 0.0))),
    ])
    .unwrap();
    let outline = Outline::from_half(&ring, &[0, 1, 2, 5]);
    assert_eq!(
        (0..6).map(|i| outline.label(i)).collect::<Vec<_>>(),
        ["A-B", "B-C", "C-D", "D-E", "E-F", "F-A"]
    );
    let half = Piece::new(outline, Record::default());
    let step = StepText::new("move-end").with("edge", "C-D").with("point", "C").with("each", "25mm");
    let after = drafted_unnamed(&half, step);
    let PathSeg::Cubic(corner) = after.outline.edges()[3].segments[0] else { panic!("a curve") };
    let lean = (after.outline.edges()[2].end() - after.outline.edges()[2].start()).normalize();
    close((corner.p1 - corner.p0).normalize().cross(lean), 0.0, 1e-12);
    close((corner.p1 - corner.p0).hypot(), 22.0, 1e-9);
}

#[test]
fn what_is_not_there_is_named_with_the_nearest() {
    let half = curved_apron();
    let (text, _) =
        problem(&half, StepText::new("widen").with("total", "2in").with_list("edges", &["armhloe".into()]));
    for part in ["step 1 (widen)", "no edge `armhloe`", "did you mean `armhole`", "side (C-D)"] {
        assert!(text.contains(part), "{part}: {text}");
    }
    let (text, _) = problem(&half, StepText::new("lengthen").with("by", "6in").with("at", "1in below Q"));
    assert!(text.contains("no point `Q`; the points are A, B, C, D, E"), "{text}");
    let (text, _) = problem(&half, StepText::new("lenghten").with("by", "6in"));
    assert!(text.contains("did you mean `lengthen`"), "{text}");
    let (text, _) = problem(&half, StepText::new("lengthen").with("bye", "6in"));
    assert!(text.contains("did you mean `by`") && text.contains("by, at"), "{text}");
    let (text, _) = problem(&half, StepText::new("lengthen").with("by", "-3"));
    assert!(text.contains("`-3` has no unit"), "{text}");
    let (text, _) = problem(&half, StepText::new("lengthen"));
    assert!(text.contains("`by` is missing"), "{text}");
}

#[test]
fn what_cannot_be_done_is_refused() {
    let half = curved_apron();
    let crossed = problem(
        &half,
        StepText::new("move-end").with("edge", "side").with("point", "C").with("each", "-320mm"),
    );
    assert!(
        matches!(crossed.1, StepProblem::Crosses { .. } | StepProblem::CrossesFold { .. }),
        "{}",
        crossed.0
    );
    let folded =
        problem(&half, StepText::new("widen").with("each", "1in").with_list("edges", &["A-B".into()]));
    assert!(matches!(folded.1, StepProblem::OnFold { .. }), "{}", folded.0);
    let short = problem(&half, StepText::new("lengthen").with("by", "-600mm").with("at", "20mm below C"));
    assert!(matches!(short.1, StepProblem::TooShort { .. }), "{}", short.0);
    let off = problem(&half, StepText::new("lengthen").with("by", "10mm").with("at", "900mm below top"));
    assert!(matches!(off.1, StepProblem::OffPiece { .. }), "{}", off.0);
    let along = problem(&half, StepText::new("lengthen").with("by", "10mm").with("at", "-3mm"));
    assert!(matches!(along.1, StepProblem::AlongEdge { .. }), "{}", along.0);
    let end = problem(
        &half,
        StepText::new("move-end").with("edge", "side").with("point", "B").with("each", "10mm"),
    );
    assert!(matches!(end.1, StepProblem::NotAnEnd { .. }), "{}", end.0);
    let name = draft(&half, &Recipe { names: vec![("B".into(), "B-C".into())], steps: Vec::new() });
    assert!(name.unwrap_err().to_string().contains("three letters"));
}

#[test]
fn the_report_speaks_the_users_unit() {
    let done =
        draft(&bib_apron(), &recipe(vec![StepText::new("lengthen").with("by", "6in").with("at", "C")]))
            .unwrap();
    let lines = done.reports[0].lines();
    assert!(lines.contains(&"whole height 29 in -> 35 in (+6 in)".to_owned()), "{lines:?}");
    assert!(lines.contains(&"whole area 626 in² -> 770 in²".to_owned()), "{lines:?}");
    assert!(lines.contains(&"edge side (C-D) 19 in -> 25 in (+6 in)".to_owned()), "{lines:?}");
    assert_eq!(done.reports[0].spoken, "lengthen by 6in at the line C");
}

#[test]
fn length_at_an_edge_moves_it_away_from_the_middle() {
    let half = bib_apron();
    let hem = drafted(&half, vec![StepText::new("lengthen").with("by", "6in").with("edge", "D-E")]);
    let line = drafted(&half, vec![StepText::new("lengthen").with("by", "6in").with("at", "C")]);
    assert_eq!(hem, line, "with a straight side the same as at a line");
    let top = drafted(&half, vec![StepText::new("lengthen").with("by", "2in").with("edge", "A-B")]);
    close(top.outline.points().nth(1).unwrap().1.y, -2.0 * IN, 1e-9);
    close(top.measures().height_mm, 31.0 * IN, 1e-9);
}

#[test]
fn width_at_the_fold_and_at_a_line_along_it() {
    // Spreading at the fold by 1 in on the half adds 1 × 29 in² to it, whatever the outline does farther out; the cut
    // at 10 in from the fold runs through the sloped edge (29 - 50/7 = 21.857 high there; the slope keeps its ends).
    let half = bib_apron();
    let fold = drafted(&half, vec![StepText::new("widen").with("total", "2in").with("at", "fold")]);
    close(in2(fold.outline.area_mm2()) - 313.0, 29.0, 1e-9);
    close(fold.outline.edges()[1].length_mm(), half.outline.edges()[1].length_mm(), 1e-9);
    let line = drafted(&half, vec![StepText::new("widen").with("each", "1in").with("at", "10in")]);
    // Joined end to end the slope runs from (5, 0) to (13, 10): 13·29 - 8·10/2 = 337.
    close(in2(line.outline.area_mm2()), 337.0, 1e-9);
    assert!(line.outline.edges()[1].is_straight());
}

#[test]
fn a_curved_edge_is_deepened_by_what_is_asked() {
    // A half circle's worth of bulge: a cubic symmetric about its chord's middle is deepest there, 3/4 of its handles.
    let half = piece(vec![
        PathSeg::Line(Line::new((0.0, 0.0), (200.0, 0.0))),
        PathSeg::Cubic(CubicBez::new((200.0, 0.0), (160.0, 50.0), (160.0, 150.0), (200.0, 200.0))),
        PathSeg::Line(Line::new((200.0, 200.0), (0.0, 200.0))),
        PathSeg::Line(Line::new((0.0, 200.0), (0.0, 0.0))),
    ]);
    let after = drafted_unnamed(&half, StepText::new("deepen").with("edge", "B-C").with("by", "10mm"));
    let PathSeg::Cubic(c) = after.outline.edges()[1].segments[0] else { panic!("a curve") };
    close(0.75 * (200.0 - c.p1.x), 30.0 + 10.0, 0.01);
    let refused = draft(
        &half,
        &Recipe {
            names: Vec::new(),
            steps: vec![StepText::new("deepen").with("edge", "B-C").with("by", "-30mm")],
        },
    );
    assert!(refused.unwrap_err().to_string().contains("straighten it"));
    let straight = drafted_unnamed(&half, StepText::new("straighten").with("edge", "B-C"));
    assert!(straight.outline.edges()[1].is_straight());
    close(straight.outline.area_mm2(), 40_000.0, 1e-9);
}

#[test]
fn a_point_moves_with_its_edges() {
    let half = bib_apron();
    let step = StepText::new("move-point").with("point", "C").with("out", "1in").with("down", "-2in");
    let after = drafted(&half, vec![step]);
    // C goes from (12, 10) to (13, 8): the area is the shoelace sum over the corners.
    let shoelace = |p: &[(f64, f64)]| {
        let n = p.len();
        (0..n).map(|i| p[i].0 * p[(i + 1) % n].1 - p[(i + 1) % n].0 * p[i].1).sum::<f64>() / 2.0
    };
    let expected = shoelace(&[(0.0, 0.0), (5.0, 0.0), (13.0, 8.0), (12.0, 29.0), (0.0, 29.0)]);
    close(in2(after.outline.area_mm2()), expected, 1e-9);
    let fold = problem(&half, StepText::new("move-point").with("point", "E").with("out", "1in"));
    assert!(matches!(fold.1, StepProblem::OnFold { .. }), "{}", fold.0);
    let lower = drafted(&half, vec![StepText::new("move-point").with("point", "E").with("down", "1in")]);
    close(in2(lower.outline.area_mm2()), 313.0 + 6.0, 1e-9);
}

#[test]
fn a_corner_is_rounded_and_squared_again() {
    // A right angle rounded by r loses r²(1 - π/4) and its two edges shorten by r [geometry].
    let half = straight_half(&[(0.0, 0.0), (10.0, 0.0), (10.0, 20.0), (0.0, 20.0)]);
    let round = StepText::new("round").with("point", "C").with("radius", "2in");
    let after = drafted_unnamed(&half, round.clone());
    let labels: Vec<String> = (0..5).map(|i| after.outline.label(i)).collect();
    assert_eq!(
        labels,
        ["A-B", "B-E", "E-F", "F-D", "D-A"],
        "the corner's letter goes, new points get new ones"
    );
    close(
        in2(half.outline.area_mm2() - after.outline.area_mm2()),
        4.0 * (1.0 - std::f64::consts::FRAC_PI_4),
        1e-4,
    );
    close(after.outline.edges()[1].length_mm() / IN, 18.0, 1e-9);
    close(after.outline.edges()[2].length_mm() / IN, std::f64::consts::PI, 1e-4);
    let again = Recipe { names: Vec::new(), steps: vec![round, StepText::new("square").with("edge", "E-F")] };
    let again = draft(&half, &again).unwrap();
    close(again.body().outline.area_mm2(), half.outline.area_mm2(), 1e-6);
    assert_eq!(again.body().outline.label(1), "B-G");
    assert!(again.body().outline.edges()[1].is_straight());

    let large = StepText::new("round").with("point", "C").with("radius", "11in");
    let refused = draft(&half, &Recipe { names: Vec::new(), steps: vec![large] }).unwrap_err();
    assert!(refused.to_string().contains("11in does not fit at C"), "{refused}");
}

#[test]
fn a_wavering_curve_is_made_fair() {
    // An armhole cut into twelve curves, their joints pushed off it by turns by 0.3 mm.
    let true_curve = CubicBez::new((125.0, 0.0), (135.0, 132.5), (195.0, 246.45), (305.0, 265.0));
    let at = |i: u32| {
        let off = if i == 0 || i == 12 {
            0.0
        } else if i.is_multiple_of(2) {
            0.3
        } else {
            -0.3
        };
        true_curve.eval(f64::from(i) / 12.0) + kurbo::Vec2::new(off, -off)
    };
    let mut segments = vec![PathSeg::Line(Line::new((0.0, 0.0), at(0)))];
    for i in 0..12 {
        let part = true_curve.subsegment(f64::from(i) / 12.0..f64::from(i + 1) / 12.0);
        let (start, end) = (at(i), at(i + 1));
        segments.push(PathSeg::Cubic(CubicBez::new(
            start,
            start + (part.p1 - part.p0),
            end - (part.p3 - part.p2),
            end,
        )));
    }
    segments.push(PathSeg::Line(Line::new((305.0, 265.0), (305.0, 500.0))));
    segments.push(PathSeg::Line(Line::new((305.0, 500.0), (0.0, 500.0))));
    segments.push(PathSeg::Line(Line::new((0.0, 500.0), (0.0, 0.0))));
    let ring = Ring::new(segments).unwrap();
    let half = Piece::new(Outline::from_half(&ring, &[0, 1, 13, 14, 15]), Record::default());
    let after = drafted_unnamed(&half, StepText::new("smooth").with("edge", "B-C").with("within", "1mm"));
    let edge = &after.outline.edges()[1];
    assert!(edge.segments.len() <= 3, "{} curves are left", edge.segments.len());
    assert_eq!((edge.start(), edge.end()), (at(0), at(12)));
    for segment in &edge.segments {
        for i in 0..=20 {
            let p = segment.eval(f64::from(i) / 20.0);
            let away = true_curve.nearest(p, 1e-6).distance_sq.sqrt();
            assert!(away < 1.0 + 0.43, "{away} mm from the true curve");
        }
    }
    let straight =
        draft(&half, &Recipe { names: Vec::new(), steps: vec![StepText::new("smooth").with("edge", "C-D")] });
    assert!(straight.unwrap_err().to_string().contains("is straight"));
}

#[test]
fn a_slash_opens_by_what_is_asked_about_its_pivot() {
    // 100 × 200, slashed from B (100, 0) to the middle of the hem (50, 200), R = √(50² + 200²), opened by 30: the wedge
    // has ½ R² sin θ with sin(θ/2) = 30 / 2R; the bridging curve only adds a sliver to it. [G]
    let mm = 1.0 / IN;
    let half = straight_half(&[(0.0, 0.0), (100.0 * mm, 0.0), (100.0 * mm, 200.0 * mm), (0.0, 200.0 * mm)]);
    let step = StepText::new("spread").with("pivot", "B").with("edge", "C-D").with("by", "30mm");
    let after = drafted_unnamed(&half, step);
    let r = f64::hypot(50.0, 200.0);
    let theta = 2.0 * (30.0 / (2.0 * r)).asin();
    let grown = after.outline.area_mm2() - half.outline.area_mm2();
    assert!((0.5 * r * r * theta.sin()..0.5 * r * r * theta.sin() + 60.0).contains(&grown), "{grown}");
    let edges = after.outline.edges();
    close(edges[1].length_mm(), 200.0, 1e-9);
    assert!(edges[1].is_straight() && edges[1].end().x > 120.0, "the side swings out whole");
    close(edges[2].segments[0].end().distance(edges[2].segments[2].start()), 30.0, 1e-6);
    let joints = [(0, 1), (1, 2)].map(|(a, b)| (edges[2].segments[a], edges[2].segments[b]));
    for (a, b) in joints {
        let direction = |s: PathSeg, from: f64, to: f64| (s.eval(to) - s.eval(from)).normalize();
        close(direction(a, 1.0 - 1e-6, 1.0).cross(direction(b, 0.0, 1e-6)), 0.0, 1e-4);
    }
    // The part nearer to the fold stays, from either side of the slash.
    let other =
        StepText::new("spread").with("pivot", "D").with("edge", "A-B").with("by", "10mm").with("at", "60mm");
    let after = drafted_unnamed(&half, other);
    assert_eq!(after.outline.points().next().unwrap().1, Point::ZERO);
    assert!(after.outline.points().nth(1).unwrap().1.x > 108.0);
    for (words, told) in [(("C", "1mm"), "nothing to slash"), (("A", "700mm"), "cannot open that far")] {
        let step = StepText::new("spread").with("pivot", words.0).with("edge", "C-D").with("by", words.1);
        let refused = draft(&half, &Recipe { names: Vec::new(), steps: vec![step] }).unwrap_err().to_string();
        assert!(refused.contains(told), "{refused}");
    }
}

#[test]
fn a_corner_between_curves_is_rounded_tangent_to_both() {
    let half = curved_apron();
    let after = drafted(&half, vec![StepText::new("round").with("point", "C").with("radius", "15mm")]);
    let edges = after.outline.edges();
    let PathSeg::Cubic(armhole) = edges[1].segments[0] else { panic!("a curve") };
    let PathSeg::Cubic(arc) = edges[2].segments[0] else { panic!("an arc") };
    close((armhole.p3 - armhole.p2).normalize().cross((arc.p1 - arc.p0).normalize()), 0.0, 1e-5);
    let PathSeg::Cubic(arc) = edges[2].segments[edges[2].segments.len() - 1] else { panic!("an arc") };
    let side = (edges[3].end() - edges[3].start()).normalize();
    close((arc.p3 - arc.p2).normalize().cross(side), 0.0, 1e-5);
}

#[test]
fn the_line_is_trued_at_the_fold() {
    let half = straight_half(&[(0.0, 0.0), (5.0, 0.5), (5.0, 9.0), (0.0, 9.5)]);
    let steps = vec![StepText::new("true").with("point", "A"), StepText::new("true").with("point", "D")];
    let done = draft(&half, &Recipe { names: Vec::new(), steps }).unwrap();
    let [top, bottom] = done.body().outline.fold_ends().unwrap();
    close(top.off_rad, 0.0, 1e-12);
    close(bottom.off_rad, 0.0, 1e-12);
    let corner =
        draft(&half, &Recipe { names: Vec::new(), steps: vec![StepText::new("true").with("point", "B")] });
    assert!(corner.unwrap_err().to_string().contains("both edges at B are straight"));
}

/// Halves of four to six edges with a curved armhole, and one to four steps that fit them.
fn any_recipe() -> impl Strategy<Value = (Piece, Vec<StepText>)> {
    let half = (60.0..150.0f64, 60.0..200.0f64, 150.0..300.0f64, 200.0..600.0f64, -40.0..60.0f64).prop_map(
        |(top, out, armhole, side, lean)| {
            let (c, d) = (Point::new(top + out, armhole), Point::new(top + out + lean, armhole + side));
            let b = Point::new(top, 0.0);
            piece(vec![
                PathSeg::Line(Line::new((0.0, 0.0), b)),
                PathSeg::Cubic(CubicBez::new(
                    b,
                    Point::new(top + 5.0, 0.5 * armhole),
                    Point::new(c.x - 0.6 * out, c.y - 5.0),
                    c,
                )),
                PathSeg::Line(Line::new(c, d)),
                PathSeg::Line(Line::new(d, (0.0, d.y))),
                PathSeg::Line(Line::new((0.0, d.y), (0.0, 0.0))),
            ])
        },
    );
    let step = prop_oneof![
        (-80.0..150.0f64, 0.02..0.98f64).prop_map(|(by, at)| {
            StepText::new("lengthen")
                .with("by", format!("{by:.1}mm"))
                .with("at", format!("{:.1}mm below top", 300.0 * at))
        }),
        (-40.0..60.0f64).prop_map(|each| StepText::new("widen").with("each", format!("{each:.1}mm"))),
        (-40.0..60.0f64, any::<bool>()).prop_map(|(each, slides)| {
            StepText::new("move-end")
                .with("edge", "armhole")
                .with("point", "C")
                .with("each", format!("{each:.1}mm"))
                .with("neighbour", if slides { "slides" } else { "stretches" })
        }),
        (-40.0..60.0f64, 0.0..1.3f64).prop_map(|(each, at)| {
            let at = if at < 0.3 { "fold".to_owned() } else { format!("{:.1}mm", 200.0 * at) };
            StepText::new("widen").with("each", format!("{each:.1}mm")).with("at", at)
        }),
        ("[A-E]", -30.0..30.0f64, -30.0..30.0f64).prop_map(|(point, out, down)| {
            let step = StepText::new("move-point").with("point", &point).with("down", format!("{down:.1}mm"));
            if point == "A" || point == "E" { step } else { step.with("out", format!("{out:.1}mm")) }
        }),
        (-20.0..20.0f64)
            .prop_map(|by| StepText::new("deepen").with("edge", "armhole").with("by", format!("{by:.1}mm"))),
        "[A-E]".prop_map(|from| {
            let to = char::from(from.as_bytes()[0] + 1).to_string().replace('F', "A");
            StepText::new("straighten").with("edge", format!("{from}-{to}"))
        }),
        ("[B-D]", 3.0..60.0f64).prop_map(|(point, r)| StepText::new("round")
            .with("point", point)
            .with("radius", format!("{r:.1}mm"))),
        ("[A-D]", 3.0..40.0f64, 0..4usize).prop_map(|(from, width, kind)| {
            let to = char::from(from.as_bytes()[0] + 1);
            StepText::new("allowance")
                .with_list("edges", &[format!("{from}-{to}")])
                .with(Kind::ALL[kind].word(), format!("{width:.1}mm"))
        }),
        ("[A-E]", "[A-D]", 1.0..60.0f64).prop_map(|(pivot, from, by)| {
            let to = char::from(from.as_bytes()[0] + 1);
            StepText::new("spread")
                .with("pivot", pivot)
                .with("edge", format!("{from}-{to}"))
                .with("by", format!("{by:.1}mm"))
        }),
        "[A-E]".prop_map(|point| StepText::new("true").with("point", point)),
        ("[B-D]", "[C-G]").prop_map(|(a, b)| StepText::new("square").with("edge", format!("{a}-{b}"))),
        (-50.0..50.0f64).prop_map(|by| {
            StepText::new("lengthen").with("edge", "D-E").with("by", format!("{by:.1}mm"))
        }),
    ];
    (half, prop::collection::vec(step, 1..5))
}

/// Every pair of chords that are not neighbours, by orientation signs: slow and plain.
fn crosses_itself(points: &[Point]) -> bool {
    let n = points.len();
    let side = |a: Point, b: Point, c: Point| (b - a).cross(c - a);
    let chord = |i: usize| (points[i], points[(i + 1) % n]);
    (0..n).any(|i| {
        (i + 2..n).filter(|j| (j + 1) % n != i).any(|j| {
            let ((a, b), (c, d)) = (chord(i), chord(j));
            side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
        })
    })
}

fn fixed_seed(cases: u32, seed: u64) -> ProptestConfig {
    ProptestConfig { cases, rng_seed: RngSeed::Fixed(seed), ..ProptestConfig::default() }
}

#[test]
fn any_recipe_gives_a_sound_piece_or_says_why() {
    let done = Cell::new(0);
    let outcome = TestRunner::new(fixed_seed(1000, 20)).run(&any_recipe(), |(half, steps)| {
        let recipe = recipe(steps);
        let drafted = match draft(&half, &recipe) {
            Ok(drafted) => drafted,
            Err(error) => {
                prop_assert!(error.to_string().starts_with("step "), "{error}");
                return Ok(());
            }
        };
        done.set(done.get() + 1);
        prop_assert_eq!(&draft(&half, &recipe).unwrap(), &drafted, "the same again");
        let (before, after) = (&half.outline, &drafted.body().outline);
        // Only truing at the fold and spreading bend a straight edge.
        let bent = recipe.steps.iter().any(|step| step.kind == "true" || step.kind == "spread");
        for old in before.edges().iter().filter(|old| old.is_straight()) {
            let new = after.edges().iter().find(|new| new.from == old.from);
            prop_assert!(bent || new.is_none_or(|new| new.is_straight()), "straight edges stay straight");
        }
        let fold = &after.edges()[after.edges().len() - 1];
        prop_assert_eq!((fold.start().x, fold.end().x), (0.0, 0.0), "the fold does not move");
        prop_assert!(after.area_mm2() > 0.0);
        prop_assert!(!crosses_itself(&after.ring().flatten(0.1)), "the line crosses itself");
        if let Some(cut) = drafted.body().cut_line().expect("every step was checked") {
            prop_assert!(!crosses_itself(&cut.ring.flatten(0.1)), "the cut line crosses itself");
            prop_assert!(cut.ring.area_mm2() > after.area_mm2(), "an allowance adds");
        }
        Ok(())
    });
    assert_eq!(outcome, Ok(()));
    assert!(done.get() > 500, "only {} of 1000 recipes could be done", done.get());
}

proptest! {
    #![proptest_config(fixed_seed(256, 21))]

    #[test]
    fn parallel_sides_grow_by_length_times_width(by in -150.0..200.0f64, width in 50.0..400.0f64, at in 0.3..0.7f64) {
        let half = straight_half(&[(0.0, 0.0), (width / IN, 0.0), (width / IN, 20.0), (0.0, 20.0)]);
        let step = StepText::new("lengthen").with("by", format!("{by}mm")).with("at", format!("{}in", 20.0 * at));
        let after = drafted_unnamed(&half, step);
        prop_assert!((after.outline.area_mm2() - half.outline.area_mm2() - by * width).abs() < 1e-6);
    }
}
