//! Corners and tabs: the shape that is cut, and the layers when it is folded.

use crate::{close, drafted, refused};
use kurbo::{Affine, BezPath, Point, Shape};
use onfold::pattern::{CutLine, Grade, Piece, check};

const WIDTH: f64 = 20.0;

/// A rectangle 100 × 80 whose right and bottom edges are turned by 20, its corner C (100, 80) styled.
fn sheet(style: &str) -> Piece {
    // Mitred to the very corner: what is left outside it would lie double.
    let corner = match style {
        "mitred" => "mitre piece=sheet point=C outside=0.001mm".to_owned(),
        "butted raw" => "corner piece=sheet point=C style=butted rim=0mm".to_owned(),
        style => format!("corner piece=sheet point=C style={style}"),
    };
    let done = drafted(&[
        "patch name=sheet width=100mm height=80mm",
        "allowance piece=sheet edges=right,bottom turned=20mm",
        &corner,
    ]);
    done.pieces[1].clone()
}

fn cut(piece: &Piece) -> CutLine {
    piece.cut_line().expect("it can be made").expect("there are allowances")
}

/// Layers at the places of the face near the corner when the parts beyond the two fold lines are folded in, first the
/// right one (or the bottom one), then the other: the paper is folded as a person folds it.
fn most_layers(piece: &Piece, right_first: bool) -> u32 {
    let path = cut(piece).ring.path();
    let covers = |path: &BezPath, p: Point| path.winding(p) != 0;
    let mirror_x = |p: Point| Point::new(200.0 - p.x, p.y);
    let mirror_y = |p: Point| Point::new(p.x, 160.0 - p.y);
    let mut most = 0;
    for i in 1..40 {
        for j in 1..40 {
            // Off the grid of the piece, so that no sample lies on an edge.
            let p = Point::new(100.0 - 0.61 * f64::from(i), 80.0 - 0.59 * f64::from(j));
            // Unfolding: a place of the face may be covered by the face, by either flap, and by what the first fold laid
            // on the second flap.
            let twice = if right_first { mirror_x(mirror_y(p)) } else { mirror_y(mirror_x(p)) };
            let unfolded = [p, mirror_x(p), mirror_y(p), twice];
            let layers = unfolded.iter().filter(|q| covers(&path, **q)).count();
            most = most.max(u32::try_from(layers).expect("a small count"));
        }
    }
    most
}

#[test]
fn layers_are_those_of_folded_paper() {
    for (style, expected) in
        [("full", 4), ("square", 3), ("butted", 3), ("butted raw", 2), ("mitred", 2), ("folded-back", 4)]
    {
        let piece = sheet(style);
        let edges = piece.outline.edges();
        let said = edges[2].corner.layers(edges[1].allowance, edges[2].allowance);
        assert_eq!(said, expected, "{style}");
        assert_eq!(most_layers(&piece, true), expected, "{style}, folded");
    }
}

#[test]
fn corners_take_away_what_they_should() {
    // The full corner keeps a square of 20 × 20; square takes it out; butted takes the same again off the second edge;
    // a mitre d outside the corner takes a triangle [G].
    let full = cut(&sheet("full")).ring.area_mm2();
    close(full, 120.0 * 100.0, 1e-9);
    close(full - cut(&sheet("square")).ring.area_mm2(), WIDTH * WIDTH, 1e-9);
    close(full - cut(&sheet("butted raw")).ring.area_mm2(), 2.0 * WIDTH * WIDTH, 1e-9);
    // With a rim of a third of the allowance, square at the corner, over the width of the first one.
    close(full - cut(&sheet("butted")).ring.area_mm2(), 2.0 * WIDTH * WIDTH - WIDTH * WIDTH / 3.0, 1e-9);
    // The line x + y = d√2 from the corner cuts a triangle whose legs are 2·20 - d√2 long; left to the thickness of 1.2 mm
    // it stands 1.5 mm outside.
    let done = drafted(&[
        "patch name=sheet width=100mm height=80mm",
        "allowance piece=sheet edges=right,bottom turned=20mm",
        "corner piece=sheet point=C style=mitred",
    ]);
    let leg = 2.0 * WIDTH - 1.5 * 2f64.sqrt();
    close(full - cut(&done.pieces[1]).ring.area_mm2(), leg * leg / 2.0, 1e-6);
}

/// Every place of the finished edges near the corner is a fold: material lies on both sides of the line.
#[test]
fn a_butted_corner_leaves_nothing_raw() {
    for (steps, corner) in [
        // At a right angle, at an acute corner, at a blunt one.
        (vec![], Point::new(100.0, 80.0)),
        (vec!["move-point piece=sheet point=C out=40mm"], Point::new(140.0, 80.0)),
        (vec!["move-point piece=sheet point=C out=-40mm"], Point::new(60.0, 80.0)),
    ] {
        for first in ["right", "bottom"] {
            let mut all = vec!["patch name=sheet width=100mm height=80mm"];
            all.extend(&steps);
            all.push("allowance piece=sheet edges=right,bottom turned=12mm");
            let style = format!("corner piece=sheet point=C style=butted first={first}");
            all.push(&style);
            let piece = drafted(&all).pieces[1].clone();
            let path = cut(&piece).ring.path();
            let mut looked_at = 0;
            for edge in [1, 2] {
                let segments = &piece.outline.edges()[edge].segments;
                for i in 1..200 {
                    let segment = segments[i * segments.len() / 200];
                    let at = kurbo::ParamCurve::eval(&segment, (i * segments.len() % 200) as f64 / 200.0);
                    if at.distance(corner) > 30.0 || at.distance(corner) < 1.0 {
                        continue;
                    }
                    let away = (at - piece.outline.ring().bounds().center()).normalize();
                    assert!(path.winding(at + 0.3 * away) != 0, "raw at {at}, {first} first, {steps:?}");
                    looked_at += 1;
                }
            }
            assert!(looked_at > 30, "{looked_at} places");
        }
    }
    // A rim of nothing is asked for, and told.
    let raw = drafted(&[
        "patch name=sheet width=100mm height=80mm",
        "allowance piece=sheet edges=right,bottom turned=12mm",
        "corner piece=sheet point=C style=butted rim=0mm",
    ]);
    let told = check(&raw).into_iter().find(|f| f.place == "sheet, corner C").expect("it is looked at");
    assert!(told.grade == Grade::Look && told.figure.contains("raw"), "{told:?}");
    let told = refused(&["allowance edges=side,hem turned=10mm", "corner point=D style=square rim=3mm"]);
    assert!(told.contains("at a butted corner alone"), "{told}");
}

#[test]
fn a_butted_corner_can_run_the_other_way() {
    let other = drafted(&[
        "patch name=sheet width=100mm height=80mm",
        "allowance piece=sheet edges=right,bottom turned=20mm",
        "corner piece=sheet point=C style=butted first=bottom",
    ]);
    let ring = cut(&other.pieces[1]).ring;
    let vertices: Vec<Point> = ring.segments().iter().map(kurbo::ParamCurve::start).collect();
    let has = |x: f64, y: f64| vertices.iter().any(|v| v.distance(Point::new(x, y)) < 1e-6);
    assert!(has(100.0, 100.0) && has(100.0, 80.0) && has(120.0, 60.0), "{vertices:?}");
    // The rim of a third of 20 over the first flap's end.
    assert!(has(100.0 + WIDTH / 3.0, 80.0) && has(100.0 + WIDTH / 3.0, 60.0), "{vertices:?}");
    let told = refused(&["allowance edges=side seam=10mm", "corner point=C style=butted first=hem"]);
    assert!(told.contains("does not meet C"), "{told}");
}

#[test]
fn a_folded_back_flap_lies_on_the_neighbour() {
    // A corner of 60 degrees: the flap that is folded first ends in the mirror image of the other edge's cut line.
    let piece = drafted(&["move-point point=C out=-60mm", "allowance edges=side,armhole turned=15mm"]);
    assert!(piece.body().cut_line().unwrap().is_some());
    let done = drafted(&[
        "patch name=sheet width=100mm height=80mm",
        "move-point piece=sheet point=C out=30mm",
        "allowance piece=sheet edges=bottom turned=10mm",
        "corner piece=sheet point=C style=folded-back first=bottom",
    ]);
    let ring = cut(&done.pieces[1]).ring;
    // The right edge runs from (100, 0) to (130, 80); mirrored in y = 80, at 90 it lies where the edge was at 70.
    let expected = Point::new(100.0 + 30.0 * 70.0 / 80.0, 90.0);
    let nearest = ring.segments().iter().map(|s| kurbo::ParamCurve::start(s).distance(expected));
    close(nearest.fold(f64::INFINITY, f64::min), 0.0, 1e-6);
}

#[test]
fn a_tab_stands_out_and_folds_in() {
    let done = drafted(&[
        "allowance edges=top seam=10mm",
        "tab at=15mm_along_top width=40mm depth=50mm taper=4mm",
        "tab at=10mm_back_along_side width=30mm depth=25mm",
    ]);
    let with = cut(done.body()).ring.area_mm2();
    let without = cut(drafted(&["allowance edges=top seam=10mm"]).body()).ring.area_mm2();
    // A trapezium from the seam's cut edge on: at 10 its sides have tapered by 4·0/50... they run from the root at the cut
    // edge to 4 in at the end, so it is 40 wide there and 32 at the end [G].
    close(with - without, 40.0 * (40.0 + 32.0) / 2.0 + 30.0 * 25.0, 1e-6);
    let folds: Vec<_> =
        done.body().construction().unwrap().lines.into_iter().map(|l| l.path.bounding_box()).collect();
    assert!(
        folds.iter().any(|b| (b.x0 - 15.0).abs() < 1e-6 && (b.x1 - 55.0).abs() < 1e-6 && b.y0.abs() < 1e-6)
    );
    assert!(folds.iter().any(|b| (b.y1 - 770.0).abs() < 1e-6 && (b.y0 - 740.0).abs() < 1e-6));
    for (steps, told) in [
        (vec!["tab at=100mm_along_top width=40mm depth=50mm"], "past the end"),
        (vec!["tab at=50mm_along_armhole width=60mm depth=50mm"], "is curved where"),
        (
            vec!["allowance edges=top seam=60mm", "tab at=15mm_along_top width=40mm depth=50mm"],
            "does not stand out",
        ),
        (
            vec![
                "tab at=15mm_along_top width=40mm depth=50mm",
                "tab at=50mm_along_top width=40mm depth=50mm",
            ],
            "would overlap",
        ),
    ] {
        let error = refused(&steps);
        assert!(error.contains(told), "{error}");
    }
}

#[test]
fn opened_out_the_cut_line_is_symmetric() {
    let done = drafted(&[
        "allowance edges=top turn-down=30mm",
        "allowance edges=side turned=12mm",
        "tab at=15mm_along_top width=40mm depth=50mm",
        "corner point=C style=square",
        "open",
    ]);
    let half = cut(drafted(&[
        "allowance edges=top turn-down=30mm",
        "allowance edges=side turned=12mm",
        "tab at=15mm_along_top width=40mm depth=50mm",
        "corner point=C style=square",
    ])
    .body());
    let whole = cut(done.body());
    close(whole.ring.area_mm2(), 2.0 * half.ring.area_mm2(), 1e-6);
    let mirrored = whole.ring.transformed(Affine::FLIP_X);
    for p in mirrored.flatten(0.5) {
        let nearest =
            whole.ring.segments().iter().map(|s| kurbo::ParamCurveNearest::nearest(s, p, 1e-9).distance_sq);
        assert!(nearest.fold(f64::INFINITY, f64::min) < 1e-10, "{p:?}");
    }
}
