//! Allowances and the cut line against the trade's own figures.
//!
//! Rows named "TRADE check N" are the numbered check values of the trade notes that the project is built to; `[G]`
//! marks a value derived from geometry. Lengths in the units of the row; the program only sees numbers.
#![expect(clippy::approx_constant, reason = "the figures stand as the trade table prints them")]

use kurbo::{Arc, Line, ParamCurveNearest, PathSeg, Point, Shape};
use onfold::geometry::Ring;
use onfold::pattern::{
    Advice, AllowanceError, Bend, CutLine, Kind, Outline, PatternError, Piece, Recipe, Record, StepProblem,
    StepText, Turned, draft, flap_start_mm, full_corner_mm, slit_spacing_mm,
};
use std::f64::consts::{FRAC_PI_2, PI};

fn close(value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{value} is not {expected} within {within}");
}

fn outline(segments: Vec<PathSeg>) -> Outline {
    let corners: Vec<usize> = (0..segments.len()).collect();
    Outline::from_half(&Ring::new(segments).expect("the segments of a test piece meet"), &corners)
}

fn straight(points: &[(f64, f64)]) -> Outline {
    let at = |i: usize| Point::from(points[i % points.len()]);
    outline((0..points.len()).map(|i| PathSeg::Line(Line::new(at(i), at(i + 1)))).collect())
}

/// An outline with one curved edge from `from`, an arc about `centre` by `sweep`, then straight through `rest`.
fn with_arc(before: &[(f64, f64)], centre: (f64, f64), sweep: f64, rest: &[(f64, f64)]) -> Outline {
    let points: Vec<Point> = before.iter().map(|p| Point::from(*p)).collect();
    let mut segments: Vec<PathSeg> =
        points.windows(2).map(|w| PathSeg::Line(Line::new(w[0], w[1]))).collect();
    let (start, centre) = (points[points.len() - 1], Point::from(centre));
    let radius = (start - centre).hypot();
    let arc = Arc::new(centre, (radius, radius), (start - centre).atan2(), sweep, 0.0);
    let mut corners: Vec<usize> = (0..=segments.len()).collect();
    segments.extend(arc.path_segments(1e-5));
    let mut from = kurbo::ParamCurve::end(&segments[segments.len() - 1]);
    for p in rest.iter().chain(&before[..1]) {
        corners.push(segments.len());
        segments.push(PathSeg::Line(Line::new(from, Point::from(*p))));
        from = Point::from(*p);
    }
    Outline::from_half(&Ring::new(segments).expect("the segments of a test piece meet"), &corners)
}

/// The cut line after a step for each entry: edge, kind, width in millimetres.
fn allow(outline: &Outline, list: &[(&str, Kind, f64)]) -> Result<CutLine, AllowanceError> {
    let half = Piece::new(outline.clone(), Record::default());
    let step = |(edge, kind, width): &(&str, Kind, f64)| {
        StepText::new("allowance")
            .with_list("edges", &[(*edge).to_owned()])
            .with(kind.word(), format!("{width}mm"))
    };
    let recipe = Recipe { names: Vec::new(), steps: list.iter().map(step).collect() };
    match draft(&half, &recipe) {
        Ok(drafted) => Ok(drafted.body().cut_line()?.expect("there are allowances")),
        Err(PatternError::Step { problem, .. }) => match *problem {
            StepProblem::Allowance(error) => Err(error),
            other => panic!("{other}"),
        },
        Err(other) => panic!("{other}"),
    }
}

fn has_vertex(cut: &CutLine, x: f64, y: f64) -> bool {
    cut.ring.segments().iter().any(|s| kurbo::ParamCurve::start(s).distance(Point::new(x, y)) < 1e-6)
}

#[test]
fn check_4_hem_on_widening_sides() {
    // TRADE check 4 [G]: hem 2, half-width 12 at the fold line, sides widening 1:10 downward: the flap ends at 11.8.
    let half = straight(&[(0.0, 0.0), (10.0, 0.0), (12.0, 20.0), (0.0, 20.0)]);
    let cut = allow(&half, &[("C-D", Kind::Hem, 2.0)]).unwrap();
    assert!(has_vertex(&cut, 12.0, 20.0) && has_vertex(&cut, 11.8, 22.0), "{:?}", cut.ring);
    assert!(has_vertex(&cut, 0.0, 22.0), "at the fold it runs straight on: {:?}", cut.ring);
    close(cut.ring.area_mm2() - half.area_mm2(), 2.0 * 11.9, 1e-9);
    // As a seam it would run straight on, to 12.2, and stick out past the side when folded over.
    let seam = allow(&half, &[("C-D", Kind::Seam, 2.0)]).unwrap();
    assert!(has_vertex(&seam, 12.2, 22.0), "{:?}", seam.ring);
}

#[test]
fn check_5_turn_down_at_the_top() {
    // TRADE check 5 [G]: turn-down 2, half-width 5, sides widening 7:10 downward: the flap ends at 6.4.
    let half = straight(&[(0.0, 0.0), (5.0, 0.0), (12.0, 10.0), (12.0, 29.0), (0.0, 29.0)]);
    let cut = allow(&half, &[("A-B", Kind::TurnDown, 2.0)]).unwrap();
    assert!(has_vertex(&cut, 6.4, -2.0) && has_vertex(&cut, 0.0, -2.0), "{:?}", cut.ring);
    let seam = allow(&half, &[("A-B", Kind::Seam, 2.0)]).unwrap();
    assert!(has_vertex(&seam, 3.6, -2.0), "{:?}", seam.ring);
}

#[test]
fn a_folded_edge_mirrors_its_neighbours_cut_line() {
    // Side seam 1 on a straight side at 10, hem 3: the flap is as wide as the body with its seam.
    let half = straight(&[(0.0, 0.0), (10.0, 0.0), (10.0, 20.0), (0.0, 20.0)]);
    let cut = allow(&half, &[("B-C", Kind::Seam, 1.0), ("C-D", Kind::Hem, 3.0)]).unwrap();
    assert!(has_vertex(&cut, 11.0, 23.0) && has_vertex(&cut, 0.0, 23.0), "{:?}", cut.ring);
    close(cut.ring.area_mm2(), 11.0 * 23.0, 1e-9);
}

#[test]
fn check_6_hollow_turned_edge() {
    // TRADE check 6 [G]: r 10, a 1/2, hollow quarter: cut 14.923, finished 15.708, landing 16.493; +1.571; 10.53 %.
    let half = with_arc(&[(0.0, 0.0), (5.0, 0.0)], (15.0, 0.0), -FRAC_PI_2, &[(15.0, 30.0), (0.0, 30.0)]);
    let cut = allow(&half, &[("B-C", Kind::Turned, 0.5)]).unwrap();
    let turn = &cut.turned[0];
    close(turn.finished_mm, 15.708, 5e-4);
    close(turn.cut_mm, 14.923, 1e-2);
    close(turn.landing_mm, 16.493, 1e-2);
    close(turn.landing_mm - turn.cut_mm, 1.571, 2e-2);
    let hollow = turn.hollow.unwrap();
    close(hollow.part, 0.1053, 1e-4);
    assert_eq!((hollow.bend, hollow.advice(), turn.bulge), (Bend::Hollow, Advice::SlitsOrNarrower, None));
}

#[test]
fn check_7_bulging_turned_edge() {
    // TRADE check 7 [G]: r 2, a 1/2, bulging quarter: cut 3.927, finished 3.142, landing 2.356; 40 %.
    let half = with_arc(&[(0.0, 0.0), (10.0, 0.0)], (10.0, 2.0), FRAC_PI_2, &[(12.0, 30.0), (0.0, 30.0)]);
    let cut = allow(&half, &[("B-C", Kind::Turned, 0.5)]).unwrap();
    let turn = &cut.turned[0];
    close(turn.finished_mm, 3.142, 5e-4);
    close(turn.cut_mm, 3.927, 1e-2);
    close(turn.landing_mm, 2.356, 1e-2);
    let bulge = turn.bulge.unwrap();
    // A quarter circle as one cubic bends up to 0.1 % tighter than the circle.
    close(bulge.part, 0.40, 5e-4);
    assert_eq!((bulge.advice(), turn.hollow), (Advice::Slits, None));
}

#[test]
fn check_8_no_cut_line_exists() {
    // TRADE check 8 [G]: r 0.5, a 0.5, hollow: an error.
    let half = with_arc(&[(0.0, 0.0), (5.0, 0.0)], (5.5, 0.0), -FRAC_PI_2, &[(5.5, 9.0), (0.0, 9.0)]);
    for width in [0.5, 0.6] {
        let refused = allow(&half, &[("B-C", Kind::Turned, width)]).unwrap_err();
        assert!(matches!(refused, AllowanceError::TooTight { .. }), "{refused}");
        assert!(refused.to_string().contains("narrower"), "{refused}");
    }
    assert_eq!(Turned::new(Bend::Hollow, 0.5, 0.5), None);
    assert!(allow(&half, &[("B-C", Kind::Turned, 0.2)]).is_ok());
}

#[test]
fn check_9_corners() {
    // TRADE check 9 [G], a 1/2: interior angle, where the flap starts, how far out the full corner lies.
    for (degrees, start, corner) in [(90.0, 0.5, 0.7071), (120.0, 0.2887, 0.5774), (60.0, 0.8660, 1.0)] {
        let theta = f64::to_radians(degrees);
        close(flap_start_mm(0.5, theta), start, 5e-5);
        close(full_corner_mm(0.5, theta), corner, 5e-5);
        // The same corner built: B at (10, 0), the next edge leaving it at the interior angle.
        let next = (10.0 - 8.0 * theta.cos(), 8.0 * theta.sin());
        let half = straight(&[(0.0, 0.0), (10.0, 0.0), next, (0.0, 30.0)]);
        let cut = allow(&half, &[("A-B", Kind::Seam, 0.5), ("B-C", Kind::Seam, 0.5)]).unwrap();
        let far =
            cut.ring.segments().iter().map(|s| kurbo::ParamCurve::start(s).distance(Point::new(10.0, 0.0)));
        close(far.fold(f64::INFINITY, f64::min), corner, 5e-5);
    }
}

#[test]
fn a_right_corner_is_mitred_by_one_cut_of_45_degrees() {
    // Allowances of 10 round a right corner at (100, 200), cut off 2 outside it: the cut lies on x + y = 300 + 2√2, and
    // folded in along both edges the two halves of the cut lie beside each other, 2 short of the halving line [G].
    let half =
        Piece::new(straight(&[(0.0, 0.0), (100.0, 0.0), (100.0, 200.0), (0.0, 200.0)]), Record::default());
    let edges: Vec<String> = ["B-C", "C-D"].map(str::to_owned).into();
    let steps = vec![
        StepText::new("allowance").with_list("edges", &edges).with("turned", "10mm"),
        StepText::new("mitre").with("point", "C").with("outside", "2mm"),
    ];
    let recipe = |steps| Recipe { names: Vec::new(), steps };
    let cut = draft(&half, &recipe(steps.clone())).unwrap().body().cut_line().unwrap().unwrap();
    let line = 300.0 + 2.0 * 2f64.sqrt();
    assert!(has_vertex(&cut, 110.0, line - 110.0) && has_vertex(&cut, line - 210.0, 210.0), "{:?}", cut.ring);
    assert!(!has_vertex(&cut, 110.0, 210.0), "the full corner is gone");
    // Without a thickness in the record the distance must be said.
    let unsaid = vec![steps[0].clone(), StepText::new("mitre").with("point", "C")];
    assert!(draft(&half, &recipe(unsaid.clone())).unwrap_err().to_string().contains("outside = "));
    let mut leather = half;
    leather.record.set("thickness", "1.6mm").unwrap();
    let same = draft(&leather, &recipe(unsaid)).unwrap().body().cut_line().unwrap().unwrap();
    assert_eq!(same.ring, cut.ring, "1.25 times 1.6 mm is 2 mm");
}

#[test]
fn slits_are_spaced_by_the_chord_error() {
    // L = √(8 r e) [G]: on a radius of 100 mm, 0.5 mm off the curve, every 20 mm.
    close(slit_spacing_mm(100.0, 0.5), 20.0, 1e-12);
    // The chord of that length stands off its arc by r - √(r² - L²/4), 0.501 here.
    close(100.0 - (100.0_f64.powi(2) - 100.0).sqrt(), 0.5, 2e-3);
}

#[test]
fn a_seam_all_round_keeps_its_distance_everywhere() {
    let half =
        with_arc(&[(0.0, 0.0), (125.0, 0.0)], (325.0, 60.0), -0.5 * PI, &[(330.0, 700.0), (0.0, 720.0)]);
    let edges: Vec<String> = (0..half.edges().len() - 1).map(|i| half.label(i)).collect();
    let list: Vec<(&str, Kind, f64)> = edges.iter().map(|e| (e.as_str(), Kind::Seam, 15.0)).collect();
    let cut = allow(&half, &list).unwrap();
    let finished = half.ring();
    let sewn = &finished.segments()[..finished.segments().len() - 1];
    let mut seen = 0;
    for p in cut.ring.flatten(0.005).iter().filter(|p| p.x > 1e-6) {
        let nearest =
            sewn.iter().map(|s| s.nearest(*p, 1e-9).distance_sq.sqrt()).fold(f64::INFINITY, f64::min);
        assert!(nearest >= 15.0 - 0.02, "{p:?} lies {nearest} from the finished line");
        // Only full corners stand farther out.
        assert!(nearest <= 15.0 + 0.02 || nearest <= full_corner_mm(15.0, 0.2), "{p:?}: {nearest}");
        seen += 1;
    }
    assert!(seen > 20, "only {seen} places were looked at");
    assert!(cut.ring.flatten(0.005).iter().all(|p| p.x >= -1e-6), "the fold stays the fold");
}

#[test]
fn a_curved_edge_cannot_be_folded_over_whole() {
    let half = with_arc(&[(0.0, 0.0), (5.0, 0.0)], (15.0, 0.0), -FRAC_PI_2, &[(15.0, 30.0), (0.0, 30.0)]);
    let refused = allow(&half, &[("B-C", Kind::Hem, 1.0)]).unwrap_err();
    assert!(refused.to_string().contains("turned edge"), "{refused}");
}
