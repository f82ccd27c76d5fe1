//! Check values 12, 13, 15 to 19, 22 and 23 of the trade notes.

use crate::{close, drafted, half, straight_half};
use kurbo::{Arc, CubicBez, Line, ParamCurve, PathSeg, Point, Shape};
use onfold::pattern::{
    Piece, Recipe, Record, StepText, draft, lockstitch_thread, respaced, ring_tab_length, saddle_thread,
    turn_of_cloth_mm,
};
use std::f64::consts::{FRAC_PI_2, PI};

/// A piece between two radii about the origin, so many radians of a circle: a part of a circle skirt, inches.
fn skirt(radius: f64, length: f64, sweep: f64) -> Piece {
    let arc = |r: f64, from: f64, by: f64| -> Vec<PathSeg> {
        Arc::new(Point::ZERO, (r, r), from, by, 0.0).path_segments(1e-7).collect()
    };
    // The fold is the last straight edge, on x = 0; clockwise as seen: out along the fold's foot, back along the waist.
    let outer = radius + length;
    let waist: Vec<PathSeg> = arc(radius, FRAC_PI_2, -sweep);
    let end = waist[waist.len() - 1].end();
    let far = Point::new(end.x / radius * outer, end.y / radius * outer);
    let mut segments = waist;
    segments.push(PathSeg::Line(Line::new(end, far)));
    segments.extend(arc(outer, FRAC_PI_2 - sweep, sweep));
    let foot = segments[segments.len() - 1].end();
    let top = segments[0].start();
    segments.push(PathSeg::Line(Line::new(foot, top)));
    half(segments, Record::default())
}

#[test]
fn check_12_circle_skirt() {
    // TRADE check 12 [G]: r = W / φ, waist 26: full 4.138, half 8.276, third 12.414, quarter 16.552.
    for (parts, expected) in [(1.0, 4.138), (2.0, 8.276), (3.0, 12.414), (4.0, 16.552)] {
        let radius = 26.0 * parts / (2.0 * PI);
        close(radius, expected, 5e-4);
        // An eighth of the circle drawn with the table's radius has its part of the waist.
        let piece = skirt(expected, 24.0, PI / 4.0);
        let ring = piece.outline.ring();
        let drawn: f64 = piece.outline.edges().iter().map(|e| e.length_mm()).sum::<f64>()
            - 48.0
            - (expected + 24.0) * PI / 4.0;
        close(drawn * 8.0 / parts, 26.0, 4e-3);
        assert!(ring.area_mm2() > 0.0);
    }
}

#[test]
fn check_13_quarter_annulus() {
    // TRADE check 13 [G]: r 16.552, length 24: 1076.4; hem 63.70. Drawn as half of it, opened out.
    let piece = skirt(16.552, 24.0, PI / 4.0);
    close(piece.measures().area_mm2, 1076.4, 0.05);
    close(2.0 * piece.outline.ring().length_mm() - 96.0 - 26.0, 63.70, 5e-3);
}

#[test]
fn check_15_lockstitch_thread() {
    // TRADE check 15 [S: textile engineering texts]: T 0.11 in, S 6 to the inch: 3.32 in per in.
    close(lockstitch_thread(25.4, 0.11 * 25.4, 25.4 / 6.0), 3.32 * 25.4, 1e-9);
}

#[test]
fn check_16_saddle_thread() {
    // TRADE check 16 [G]: T 3, p 4 mm: 3.5 times the length, tails on top.
    close(saddle_thread(100.0, 3.0, 4.0), 350.0, 1e-9);
}

#[test]
fn check_17_holes_of_a_run() {
    // TRADE check 17 [CP]: a run of 9.5 in at 4 mm: pitch 4.022 mm, 61 holes.
    let (spaces, pitch) = respaced(9.5 * 25.4, 4.0);
    assert_eq!(spaces + 1, 61);
    close(pitch, 4.022, 5e-4);
    // The same as a stitch line: a tab 9.5 in long, its right edge stitched from end to end.
    let done = drafted(&[
        "patch name=strip width=30mm height=9.5in",
        "stitch piece=strip edges=right pitch=4mm through=3mm inset=5mm",
    ]);
    let stitching = &done.pieces[1].construction().unwrap().stitching[0];
    assert_eq!((stitching.count, stitching.holes.len()), (61, 61));
    close(stitching.pitch_mm.0, 4.022, 5e-4);
    close(stitching.thread_mm, 2.0 * (1.0 + 3.0 / stitching.pitch_mm.0) * 241.3 + 200.0, 1e-6);
}

#[test]
fn check_18_fold() {
    // TRADE check 18 [G]: fold, t 1.6 mm, 180°: 2.51 mm.
    close(turn_of_cloth_mm(1.6), 2.51, 5e-3);
    // An allowance that has it added is wider by it: t is 1.2 mm here.
    let done = drafted(&["allowance edges=side turned=12mm turn=added"]);
    let cut = done.body().cut_line().unwrap().unwrap();
    close(cut.ring.bounds().x1 - 305.0, 12.0 + PI * 1.2 / 2.0, 1e-9);
}

#[test]
fn check_19_ring_tab() {
    // TRADE check 19 [G]: ring tab d 4, t 1.4, lap 38 mm: 84.5 mm.
    close(ring_tab_length(38.0, 4.0, 1.4), 84.5, 0.05);
    let done = drafted(&["ring-tab width=28mm lap=38mm rod=4mm ring=30mm thickness=1.4mm cut=2"]);
    let tab = &done.pieces[1];
    close(tab.measures().height_mm, 84.5, 0.05);
    assert_eq!(tab.hardware[0].what, "ring 30mm inside, rod 4mm");
    assert_eq!(tab.quantity.pieces(), 2);
    // Its two folds stand a lap from either end.
    let folds = tab.construction().unwrap().lines;
    let down: Vec<f64> = folds.iter().map(|l| l.path.bounding_box().y0).collect();
    assert_eq!(down.len(), 2);
    close(down[0], 38.0, 1e-9);
    close(tab.measures().height_mm - down[1], 38.0, 1e-9);
}

#[test]
fn check_22_shrinkage() {
    // TRADE check 22 [G]: shrink 20 %, finished 10: cut 12.5.
    let half = straight_half(&[(0.0, 0.0), (5.0, 0.0), (5.0, 10.0), (0.0, 10.0)]);
    let steps = vec![StepText::new("shrinkage").with("down", "20%")];
    let done = draft(&half, &Recipe { names: Vec::new(), steps }).unwrap();
    close(done.body().measures().height_mm, 12.5, 1e-12);
    close(done.body().measures().width_mm, 10.0, 1e-12);
}

/// Marks lie where they must so that they are right after the material has shrunk [G]: shrunk again, the cloth has every one
/// of them where it was.
#[test]
fn marks_grow_with_the_cloth() {
    let marks = [
        "notch at=120mm_along_armhole",
        "notch at=80mm_back_along_side",
        "hole at=40mm_along_armhole inset=30mm diameter=3mm",
        "hole out=60mm down=300mm diameter=3mm",
        "text words=here from=B out=-30mm down=40mm",
        "tab at=20mm_along_top width=40mm depth=30mm",
    ];
    let grown = [&marks[..], &["shrinkage down=8 across=3"]].concat();
    let [before, after] = [&marks[..], &grown].map(|steps| drafted(steps).body().construction().unwrap());
    let shrunk = |p: Point| Point::new(p.x * (1.0 - 0.03), p.y * (1.0 - 0.08));
    assert_eq!((before.holes.len(), before.words.len()), (2, 1));
    for (a, b) in before.holes.iter().zip(&after.holes) {
        // A hole told from a slanted edge is measured square to it, which shrinkage does not keep to the last tenth.
        assert!(a.at.distance(shrunk(b.at)) < 0.5, "{} and {}", a.at, shrunk(b.at));
    }
    close(before.words[0].at.distance(shrunk(after.words[0].at)), 0.0, 1e-6);
    let notches = |c: &onfold::pattern::Construction| -> Vec<Point> {
        let lines = c.lines.iter().filter(|l| l.kind == onfold::pattern::LineKind::Notch);
        lines.filter_map(|l| l.path.segments().next()).map(|s| s.start()).collect()
    };
    let pairs: Vec<_> = notches(&before).into_iter().zip(notches(&after)).collect();
    assert_eq!(pairs.len(), 2);
    for (a, b) in pairs {
        close(a.distance(shrunk(b)), 0.0, 1e-4);
    }
    let tab = |c: &onfold::pattern::Construction| {
        let says = c.lines.iter().find(|l| l.says == "fold the tab");
        says.expect("the tab folds").path.bounding_box()
    };
    close(tab(&before).x0, 0.97 * tab(&after).x0, 1e-6);
    close(tab(&before).x1, 0.97 * tab(&after).x1, 1e-6);
}

#[test]
fn check_23_quarter_circle_as_cubics() {
    // TRADE check 23 [G]: a quarter circle as 1 / 2 / 4 cubics: max radial error 2.7e-4, 4.2e-6, 6.6e-8 of r.
    for (count, expected) in [(1_u32, 2.7e-4), (2, 4.2e-6), (4, 6.6e-8)] {
        let step = FRAC_PI_2 / f64::from(count);
        let handle = 4.0 / 3.0 * (step / 4.0).tan();
        let arc = CubicBez::new(
            (1.0, 0.0),
            (1.0, handle),
            (step.cos() + handle * step.sin(), step.sin() - handle * step.cos()),
            (step.cos(), step.sin()),
        );
        let worst = (0..=1000)
            .map(|i| (arc.eval(f64::from(i) / 1000.0).to_vec2().hypot() - 1.0).abs())
            .fold(0.0, f64::max);
        assert!((0.97..1.03).contains(&(worst / expected)), "{worst} for {count}");
    }
    // A corner rounded by the program stays within its own promise of the circle: 1e-4 mm on 100 mm.
    let half = straight_half(&[(0.0, 0.0), (200.0, 0.0), (200.0, 300.0), (0.0, 300.0)]);
    let steps = vec![StepText::new("round").with("point", "C").with("radius", "100mm")];
    let done = draft(&half, &Recipe { names: Vec::new(), steps }).unwrap();
    let centre = Point::new(100.0, 200.0);
    let mut seen = 0;
    for segment in &done.body().outline.edges()[2].segments {
        for i in 0..=100 {
            let off = (segment.eval(f64::from(i) / 100.0).distance(centre) - 100.0).abs();
            assert!(off <= 1e-4, "{off}");
            seen += 1;
        }
    }
    assert!(seen > 100);
}
