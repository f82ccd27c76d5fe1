//! Lines at their distance, holes in every corner, notches and matches, by geometry.

use crate::{close, drafted, refused};
use kurbo::{ParamCurve, ParamCurveNearest, Point, Shape};
use onfold::pattern::{Construction, LineKind, Piece, WorkLine};

fn construction(piece: &Piece) -> Construction {
    piece.construction().unwrap_or_else(|e| panic!("{e}"))
}

fn lines(construction: &Construction, kind: LineKind) -> Vec<&WorkLine> {
    construction.lines.iter().filter(|l| l.kind == kind).collect()
}

/// Distances of places along a path from a run of edges of a piece's finished line; places beyond its ends, where a line
/// is carried on to the neighbour, are left out.
fn distances(line: &WorkLine, piece: &Piece, edges: &[usize]) -> Vec<f64> {
    let run: Vec<_> = edges.iter().flat_map(|e| &piece.outline.edges()[*e].segments).collect();
    let near = |p: Point| {
        let feet = run.iter().enumerate().map(|(i, s)| (i, s.nearest(p, 1e-9)));
        let (i, foot) = feet.min_by(|a, b| a.1.distance_sq.total_cmp(&b.1.distance_sq)).expect("a segment");
        let beyond = (i == 0 && foot.t < 1e-4) || (i + 1 == run.len() && foot.t > 1.0 - 1e-4);
        (!beyond).then(|| foot.distance_sq.sqrt())
    };
    let mut out = Vec::new();
    for segment in line.path.segments() {
        for i in 1..16 {
            out.extend(near(segment.eval(f64::from(i) / 16.0)));
        }
    }
    out
}

#[test]
fn inner_lines_keep_their_distance() {
    // Skive: 2 × 12 from the cut edge, 12 inside the finished line [S: The Manufacture of Boots and Shoes]; cement ends
    // 1 mm before.
    let done = drafted(&[
        "allowance edges=armhole,side turned=12mm",
        "skive edges=armhole,side",
        "glue edges=armhole,side",
        "stitch edges=armhole,side pitch=4mm inset=5mm",
    ]);
    let made = construction(done.body());
    for (kind, expected) in [(LineKind::Skive, 12.0), (LineKind::Glue, 11.0), (LineKind::Stitch, 5.0)] {
        let list = lines(&made, kind);
        assert_eq!(list.len(), 1, "{kind:?}");
        let found = distances(list[0], done.body(), &[1, 2]);
        assert!(found.len() >= 30);
        assert!(found.iter().all(|d| (d - expected).abs() <= 0.02), "{kind:?}: {found:?}");
    }
    assert!(lines(&made, LineKind::Skive)[0].says.contains("24 mm"));
    assert!(refused(&["skive edges=side"]).contains("no allowance"));
}

#[test]
fn a_line_inside_a_tight_bulge_has_no_loop() {
    // A corner of radius 8 with a line 15 inside it: the true line is that of the sharp corner's arms, without a loop.
    let done = drafted(&["round point=D radius=8mm", "stitch edges=side,F-G,hem pitch=5mm inset=7mm"]);
    let line = construction(done.body());
    let path = &lines(&line, LineKind::Stitch)[0].path;
    assert!(path.segments().all(|s| kurbo::ParamCurveArclen::arclen(&s, 1e-6) > 0.5), "no slivers: {path:?}");
    let told = refused(&["round point=D radius=8mm", "stitch edges=F-G pitch=5mm inset=15mm"]);
    assert!(told.contains("put the line nearer"), "{told}");
}

#[test]
fn holes_stand_in_every_corner_and_evenly_between() {
    // All round a sheet 60 × 40, 4 inside: 52 and 32 long, pitch 4: 13 and 8 spaces.
    let done = drafted(&[
        "patch name=sheet width=60mm height=40mm",
        "stitch piece=sheet edges=top,right,bottom,left pitch=4mm inset=4mm through=3mm",
    ]);
    let made = construction(&done.pieces[1]);
    let stitching = &made.stitching[0];
    let spaces = 2 * 13 + 2 * 8;
    assert_eq!(
        (stitching.count, stitching.holes.len()),
        (spaces, spaces),
        "a closed line: as many holes as spaces"
    );
    for corner in [(4.0, 4.0), (56.0, 4.0), (56.0, 36.0), (4.0, 36.0)] {
        let corner = Point::from(corner);
        assert!(stitching.holes.iter().any(|h| h.distance(corner) < 1e-6), "{corner:?}");
    }
    close(stitching.length_mm, 168.0, 1e-9);
}

#[test]
fn a_half_is_laid_out_over_the_whole() {
    // The top, 125 on the half: the whole line runs from armhole to armhole, 5 down, and is symmetric about the fold.
    let done = drafted(&["straighten edge=armhole", "stitch edges=hem pitch=4mm inset=5mm through=3mm"]);
    let stitching = &construction(done.body()).stitching[0];
    // The hem is 610 on the whole, its line ends on the sides: 610 / 4 = 152.5, so 153 spaces, one hole more.
    let spaces: u32 = 153;
    assert_eq!(stitching.count, 154);
    close(stitching.length_mm, 610.0, 1e-6);
    close(stitching.pitch_mm.0, 610.0 / f64::from(spaces), 1e-9);
    let first = stitching.holes.iter().map(|h| h.x).fold(f64::INFINITY, f64::min);
    let expected = if spaces.is_multiple_of(2) { 0.0 } else { stitching.pitch_mm.0 / 2.0 };
    close(first, expected, 1e-6);
}

#[test]
fn notches_go_in_from_the_cut_edge_and_matches_meet() {
    let done = drafted(&[
        "allowance edges=side seam=12mm",
        "notch at=100mm_along_side",
        "notch at=middle_of_side style=double depth=4mm",
        "notch at=50mm_along_armhole",
        "allowance edges=hem hem=30mm",
        "match at=100mm_along_hem",
    ]);
    let made = construction(done.body());
    let notches: Vec<_> = lines(&made, LineKind::Notch).iter().map(|l| l.path.bounding_box()).collect();
    assert_eq!(notches.len(), 4, "a double notch is two lines");
    close(notches[0].x1, 317.0, 1e-9);
    close(notches[0].x0, 311.0, 1e-9);
    close(notches[0].y0, 365.0, 1e-6);
    close(notches[2].y0 - notches[1].y0, 6.0, 1e-6);
    close(notches[1].x0, 313.0, 1e-9);
    let marks: Vec<_> = lines(&made, LineKind::Match).iter().map(|l| l.path.bounding_box()).collect();
    assert_eq!(marks.len(), 3);
    // Folded on the hem at 780 the mark at the cut edge lies on the one inside.
    let mirrored = |y: f64| 2.0 * 780.0 - y;
    close(mirrored(marks[0].y0), marks[1].y1, 1e-9);
    close(mirrored(marks[0].y1), marks[1].y0, 1e-9);
    close(marks[0].x0, marks[1].x0, 1e-9);
    // An edit of the finished line takes them along.
    let longer = drafted(&["notch at=40mm_back_along_side", "lengthen by=100mm at=C"]);
    close(lines(&construction(longer.body()), LineKind::Notch)[0].path.bounding_box().y0, 840.0, 1e-6);
}

#[test]
fn slits_are_for_hollows_and_v_cuts_for_bulges() {
    let count_points = |line: &WorkLine| line.path.elements().len();
    let done = drafted(&[
        "deepen edge=armhole by=20mm",
        "allowance edges=armhole turned=14mm",
        "slits edge=armhole",
        "round point=D radius=30mm",
        "allowance edges=F-G turned=14mm",
        "slits edge=F-G",
    ]);
    let made = construction(done.body());
    let slits = lines(&made, LineKind::Slit);
    let (hollow, bulge): (Vec<&WorkLine>, Vec<&WorkLine>) =
        slits.iter().copied().partition(|l| l.path.bounding_box().y0 < 400.0);
    assert!(hollow.len() >= 3 && bulge.len() >= 3, "{} and {}", hollow.len(), bulge.len());
    assert!(hollow.iter().all(|l| count_points(l) == 2), "straight slits in the armhole");
    assert!(bulge.iter().all(|l| count_points(l) == 3), "V-cuts at the corner");
    // Their mouths lie on the cut line.
    let cut = made.cut.as_ref().expect("there are allowances").ring.segments();
    for slit in &slits {
        let ends = slit.path.segments().flat_map(|s| [s.start(), s.end()]);
        let off = |p: Point| {
            cut.iter().map(|s| s.nearest(p, 1e-9).distance_sq.sqrt()).fold(f64::INFINITY, f64::min)
        };
        let on = ends.filter(|p| off(*p) < 0.02).count();
        assert_eq!(on, slit.path.segments().count(), "{:?}", slit.path);
    }
    // They end 1.5 thicknesses short of the fold (1.2 mm cloth).
    let found = distances(bulge[0], done.body(), &[3]);
    close(found.iter().copied().fold(f64::INFINITY, f64::min), 1.8, 0.8);
}

#[test]
fn holes_know_their_edge_and_their_count() {
    let done = drafted(&[
        "hole at=20mm_along_top inset=15mm diameter=4mm holds=rivet",
        "hole down=300mm diameter=3mm how=drill",
    ]);
    let holes = construction(done.body()).holes;
    close(holes[0].to_edge_mm, 15.0, 1e-6);
    assert_eq!((holes[0].count, holes[1].count), (2, 1), "two on a half, one on the fold");
    assert!(refused(&["hole out=400mm down=100mm diameter=4mm"]).contains("not within the cut line"));
}

#[test]
fn a_mark_whose_edge_is_gone_is_told() {
    let told = refused(&["round point=C radius=20mm", "notch at=10mm_along_C-D"]);
    assert!(told.contains("no edge `C-D`"), "{told}");
    let told = refused(&["round point=D radius=20mm", "notch at=10mm_along_F-G", "square edge=F-G"]);
    assert!(told.contains("step 3 (square): a notch cannot be drawn"), "{told}");
    let told = refused(&["notch at=300mm_along_side", "lengthen by=-300mm at=C"]);
    assert!(told.contains("cannot be drawn") && told.contains("only"), "{told}");
    assert!(refused(&["notch at=10mm_along_sidee"]).contains("did you mean `side`"));
    assert!(refused(&["notch piece=pocet at=10mm_along_side"]).contains("there is no piece `pocet`"));
    assert!(refused(&["notch at=10mm_along_side stile=double"]).contains("did you mean `style`"));
}
