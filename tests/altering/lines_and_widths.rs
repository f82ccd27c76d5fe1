//! Length and width, and what is refused.

use crate::halves::{
    IN, bib_apron, close, curved_apron, drafted, drafted_unnamed, in2, piece, problem, recipe,
};
use kurbo::{CubicBez, Line, PathSeg, Point};
use onfold::geometry::Ring;
use onfold::pattern::{Outline, Piece, Recipe, Record, StepProblem, StepText, draft};

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
