//! Curves, corners, slashes, truing.

use crate::halves::{
    IN, bib_apron, close, curved_apron, drafted, drafted_unnamed, in2, piece, problem, straight_half,
};
use kurbo::{CubicBez, Line, ParamCurve, ParamCurveNearest, PathSeg, Point};
use onfold::geometry::Ring;
use onfold::pattern::{Outline, Piece, Recipe, Record, StepProblem, StepText, draft};

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
