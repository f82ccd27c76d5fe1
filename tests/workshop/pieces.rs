//! Pieces beyond the body, and the checks between them.

use crate::{close, drafted, refused};
use kurbo::Shape;
use onfold::pattern::{Finding, Grade, LineKind, check};

fn faults(steps: &[&str]) -> Vec<Finding> {
    check(&drafted(steps)).into_iter().filter(|f| f.grade == Grade::Fault).collect()
}

#[test]
fn a_pocket_has_its_size_and_its_flap() {
    let done = drafted(&[
        "pocket name=pocket width=180mm height=200mm radius=25mm flap=60mm pairs=1 material=linen",
        "place what=pocket out=150mm down=420mm",
    ]);
    let names: Vec<&str> = done.pieces.iter().map(|p| p.record.piece.as_str()).collect();
    assert_eq!(names, ["body", "pocket", "pocket flap"]);
    let pocket = &done.pieces[1];
    // A right corner rounded by r loses r²(1 - π/4) [G].
    let lost = 2.0 * 25.0 * 25.0 * (1.0 - std::f64::consts::FRAC_PI_4);
    close(pocket.measures().area_mm2, 180.0 * 200.0 - lost, 1e-2);
    assert_eq!((pocket.quantity.pieces(), pocket.record.material.as_str()), (2, "linen"));
    assert_eq!(pocket.record.number, "2 of 3");
    let made = done.body().construction().unwrap();
    let placed =
        made.lines.iter().find(|l| l.kind == LineKind::Placement).expect("a place").path.bounding_box();
    close(placed.x0, 60.0, 1e-9);
    close(placed.y0, 420.0, 1e-9);
    close(placed.height(), 200.0, 1e-9);
    // Edited afterwards, it is laid at its new size.
    let later = drafted(&[
        "pocket name=pocket width=180mm height=200mm",
        "place what=pocket out=20mm down=420mm",
        "lengthen piece=pocket by=30mm at=100mm",
    ]);
    let made = later.body().construction().unwrap();
    let placed =
        made.lines.iter().find(|l| l.kind == LineKind::Placement).expect("a place").path.bounding_box();
    close(placed.height(), 230.0, 1e-9);
    close(placed.x0, 0.0, 1e-6);
    assert!(refused(&["pocket width=1in height=1in", "pocket width=1in height=1in"]).contains("already"));
}

#[test]
fn a_split_loses_nothing() {
    let whole = drafted(&[]).body().measures().area_mm2;
    for bow in ["0mm", "25mm", "-25mm"] {
        let split = format!("split name=skirt from=100mm_along_side to=400mm_along_fold bow={bow}");
        let done = drafted(&[&split]);
        let parts: f64 = done.pieces.iter().map(|p| p.measures().area_mm2).sum();
        close(parts, whole, 1e-6);
        assert!(done.pieces.iter().all(|p| p.outline.on_fold()));
        let [a, b] = [0, 1].map(|i| {
            let outline = &done.pieces[i].outline;
            outline.edges()[outline.find_edge("cut").expect("a cut")].length_mm()
        });
        close(a, b, 1e-9);
        // The two are known to be sewn together, and walk.
        assert_eq!(done.sewn.len(), 1);
        let found = check(&done);
        let walked = found.iter().find(|f| f.place.contains("cut of body")).expect("they are walked");
        assert_eq!(walked.grade, Grade::Good, "{walked:?}");
    }
    // From side to top: the part away from the fold has none.
    let done = drafted(&["split name=panel from=100mm_along_top to=middle_of_hem"]);
    assert!(done.body().outline.on_fold() && !done.pieces[1].outline.on_fold());
    close(done.body().measures().area_mm2 + 2.0 * done.pieces[1].measures().area_mm2, whole, 1e-6);
    assert!(refused(&["split name=none from=C to=C"]).contains("does not part"));
}

#[test]
fn a_copy_leaves_the_piece_whole() {
    let done = drafted(&["copy name=bib from=C to=300mm_back_along_fold part=other", "open piece=bib"]);
    assert_eq!(done.body().measures(), drafted(&[]).body().measures());
    let bib = &done.pieces[1];
    assert!(!bib.outline.on_fold() && bib.outline.find_edge("left armhole").is_ok());
    let twice = drafted(&["copy name=bib from=C to=300mm_back_along_fold part=other"]);
    close(bib.measures().area_mm2, twice.pieces[1].measures().area_mm2, 1e-6);
    assert!(refused(&["open", "open"]).contains("no fold"));
}

#[test]
fn a_facing_is_shaped_by_its_edge() {
    let done = drafted(&[
        "facing name=facing edges=armhole depth=40mm pairs=1",
        "facing edges=top,armhole depth=30mm name=bib",
    ]);
    let (body, facing) = (&done.body().outline, &done.pieces[1].outline);
    let length =
        |o: &onfold::pattern::Outline, e: &str| o.edges()[o.find_edge(e).expect("an edge")].length_mm();
    close(length(facing, "armhole"), length(body, "armhole"), 1e-9);
    assert!(!facing.on_fold() && done.pieces[2].outline.on_fold());
    // In its own frame every place of its inner edge stands 40 from the armhole.
    let inner = &facing.edges()[facing.find_edge("inner").expect("an inner edge")];
    let outer = &facing.edges()[facing.find_edge("armhole").expect("an outer edge")];
    let mut seen = 0;
    for segment in &inner.segments {
        for i in 1..10 {
            let p = kurbo::ParamCurve::eval(segment, f64::from(i) / 10.0);
            let away = outer
                .segments
                .iter()
                .map(|s| kurbo::ParamCurveNearest::nearest(s, p, 1e-9).distance_sq.sqrt());
            let away = away.fold(f64::INFINITY, f64::min);
            assert!(away >= 40.0 - 0.02, "{away}");
            seen += 1;
        }
    }
    assert!(seen >= 9);
    assert!(refused(&["facing edges=top,side depth=30mm"]).contains("do not follow"));
}

#[test]
fn a_binding_is_as_long_as_its_edges_on_both_sides() {
    let done = drafted(&[
        "binding edges=hem finished=10mm ends=20mm",
        "binding name=arm edges=armhole finished=10mm raw=yes",
    ]);
    close(done.pieces[1].measures().height_mm, 2.0 * 305.0 + 40.0, 1e-6);
    // Flat: four times its width, and three folds of π t / 2 of 1.2 mm cloth [G]; raw: twice, and one fold.
    let turn = std::f64::consts::PI * 1.2 / 2.0;
    close(done.pieces[1].measures().width_mm, 40.0 + 3.0 * turn, 1e-9);
    close(done.pieces[2].measures().width_mm, 20.0 + turn, 1e-9);
    close(done.pieces[2].measures().height_mm, done.body().outline.edges()[1].length_mm(), 1e-6);
}

#[test]
fn edges_turn_about_a_point() {
    let done = drafted(&["rotate pivot=B edges=armhole by=15mm"]);
    let before = drafted(&[]);
    let edge = |d: &onfold::pattern::Drafted, i: usize| d.body().outline.edges()[i].clone();
    close(edge(&done, 1).length_mm(), edge(&before, 1).length_mm(), 1e-9);
    close(edge(&done, 1).end().distance(edge(&before, 1).end()), 15.0, 1e-9);
    assert_eq!(edge(&done, 1).start(), edge(&before, 1).start());
    assert!(edge(&done, 2).is_straight() && edge(&done, 2).end() == edge(&before, 2).end());
    assert!(refused(&["rotate pivot=D edges=armhole by=15mm"]).contains("does not end at D"));
    assert!(refused(&["rotate pivot=B edges=top by=15mm"]).contains("lies on the fold"));
}

#[test]
fn each_fault_is_found_with_its_rule() {
    let sewn = ["facing name=facing edges=armhole depth=40mm", "sew first=armhole to=facing:_armhole"];
    assert_eq!(faults(&sewn), Vec::new());
    for (more, place, figure, mark) in [
        (
            vec![sewn[0], sewn[1], "deepen edge=armhole by=20mm"],
            "armhole of body to armhole of facing",
            "mm against",
            "CP",
        ),
        (
            vec![sewn[0], sewn[1], "notch at=50mm_along_armhole"],
            "armhole of body",
            "1 notches against 0",
            "CP",
        ),
        (
            vec![sewn[0], sewn[1], "notch at=50mm_along_armhole", "notch piece=facing at=60mm_along_armhole"],
            "armhole of body",
            "10.0 mm off",
            "CP",
        ),
        (vec!["move-point point=B down=10mm"], "point A at the fold", "4.57°", "CP"),
        (vec!["hole at=20mm_along_top inset=5mm diameter=4mm"], "hole 20.0 mm across", "5.0 mm from", "CP"),
        (
            vec!["allowance edges=side turned=10mm", "stitch edges=side inset=9mm pitch=4mm"],
            "stitch line along side",
            "turned by 10.0",
            "CP",
        ),
        (vec!["ring-tab width=28mm lap=38mm rod=4mm ring=28mm"], "ring tab, its ring", "28.0 mm", "CP"),
    ] {
        let found = faults(&more);
        assert_eq!(found.len(), 1, "{more:?}: {found:?}");
        assert!(found[0].place.contains(place) && found[0].figure.contains(figure), "{found:?}");
        assert_eq!(found[0].mark, mark);
        assert!(!found[0].rule.is_empty());
    }
    // A ring is held against the strap that it is said to take, too.
    let straps = [
        "strap name=belt length=600mm width=32mm",
        "ring-tab width=28mm lap=38mm rod=4mm ring=30mm strap=belt",
    ];
    let found = faults(&straps);
    assert_eq!(found.len(), 1, "{found:?}");
    assert_eq!(found[0].figure, "30.0 mm inside for belt, 32.0 mm wide");
    let told = refused(&[straps[0], "ring-tab width=28mm lap=38mm rod=4mm ring=30mm strap=bolt"]);
    assert!(told.contains("did you mean `belt`"), "{told}");
    // Corners of every seam: the facing's are the body's own; deepened, the body's are others.
    let corners = |steps: &[&str]| -> Vec<Finding> {
        check(&drafted(steps)).into_iter().filter(|f| f.rule.contains("180")).collect()
    };
    let alike = corners(&sewn);
    assert_eq!(alike.len(), 2, "{alike:?}");
    assert!(alike.iter().all(|f| f.grade == Grade::Good && f.figure.contains("0.0° apart")), "{alike:?}");
    let apart = corners(&[sewn[0], sewn[1], "deepen edge=armhole by=20mm"]);
    assert!(apart.len() == 2 && apart.iter().all(|f| f.grade == Grade::Look), "{apart:?}");
    let free = corners(&[sewn[0], "sew first=armhole to=facing:_armhole corners=free"]);
    assert_eq!(free, Vec::new());
    // Corners that run on: a slanted cut across the side gives two angles that sum to 180 degrees [G].
    let done = drafted(&["split name=skirt from=100mm_along_side to=300mm_along_fold"]);
    let found = check(&done);
    let sums: Vec<_> = found.iter().filter(|f| f.figure.contains("sum to")).collect();
    assert_eq!(sums.len(), 1);
    assert!(sums[0].figure.contains("180.0°") && sums[0].grade == Grade::Good, "{sums:?}");
}

#[test]
fn tables_have_every_edge_and_width() {
    let done = drafted(&["allowance edges=side seam=15mm"]);
    let edges = done.body().edge_measures().unwrap();
    assert_eq!(edges.len(), 4);
    close(edges[2].finished_mm, 515.0, 1e-9);
    let widths = done.body().width_measures().unwrap();
    let at_d = widths.iter().find(|w| w.at == "D").expect("the width at D");
    close(at_d.finished_mm, 610.0, 1e-3);
    close(at_d.cut_mm, 640.0, 1e-3);
}
