//! What must hold for any recipe of all kinds of steps.

use crate::{apron, recipe};
use onfold::pattern::{LineKind, Piece, check, draft};
use proptest::prelude::*;
use proptest::test_runner::{RngSeed, TestRunner};
use std::cell::Cell;

const SPOTS: &str = "along|back_along";

/// A step in words; many of them cannot be done, which must be told.
fn any_step() -> impl Strategy<Value = String> {
    let edge = || prop::sample::select(vec!["top", "armhole", "side", "hem", "E-A"]);
    let piece = || prop::sample::select(vec!["", "", " piece=pocket", " piece=part"]);
    let way = prop::sample::select(SPOTS.split('|').collect::<Vec<_>>());
    let spot = (1.0..300.0f64, way, edge()).prop_map(|(mm, way, edge)| format!("{mm:.1}mm_{way}_{edge}"));
    let spot = spot.boxed();
    prop_oneof![
        (-60.0..120.0f64, piece()).prop_map(|(mm, on)| format!("lengthen by={mm:.1}mm{on}")),
        (-30.0..60.0f64).prop_map(|mm| format!("widen each={mm:.1}mm")),
        (edge(), -60.0..60.0f64).prop_map(|(e, mm)| format!("rotate pivot=B edges={e} by={mm:.1}mm")),
        ("[B-D]", 3.0..60.0f64).prop_map(|(p, mm)| format!("round point={p} radius={mm:.1}mm")),
        (edge(), 3.0..40.0f64, piece(), prop::sample::select(vec!["seam", "turned", "hem", "turn-down"]))
            .prop_map(|(e, mm, on, kind)| format!("allowance edges={e} {kind}={mm:.1}mm{on}")),
        ("[A-E]", prop::sample::select(vec!["full", "square", "butted", "mitred", "folded-back"]))
            .prop_map(|(p, style)| format!("corner point={p} style={style}")),
        (spot.clone(), 5.0..60.0f64, 5.0..60.0f64)
            .prop_map(|(at, w, d)| format!("tab at={at} width={w:.1}mm depth={d:.1}mm taper=1mm")),
        (spot.clone(), piece()).prop_map(|(at, on)| format!("notch at={at} style=double{on}")),
        spot.clone().prop_map(|at| format!("match at={at}")),
        (edge(), edge(), 1.0..30.0f64)
            .prop_map(|(a, b, mm)| format!("stitch edges={a},{b} pitch=4mm inset={mm:.1}mm")),
        (edge(), 5.0..60.0f64).prop_map(|(e, mm)| format!("skive edges={e} width={mm:.1}mm")),
        edge().prop_map(|e| format!("slits edge={e}")),
        (spot.clone(), 1.0..40.0f64)
            .prop_map(|(at, mm)| format!("hole at={at} inset={mm:.1}mm diameter=4mm")),
        (20.0..200.0f64, 20.0..200.0f64)
            .prop_map(|(w, h)| format!("pocket width={w:.1}mm height={h:.1}mm radius=10mm flap=30mm")),
        (-50.0..300.0f64, 0.0..600.0f64)
            .prop_map(|(x, y)| format!("place what=pocket out={x:.1}mm down={y:.1}mm turn=10")),
        (edge(), 5.0..80.0f64).prop_map(|(e, mm)| format!("facing name=part edges={e} depth={mm:.1}mm")),
        (spot.clone(), spot, -30.0..30.0f64)
            .prop_map(|(a, b, bow)| format!("split name=part from={a} to={b} bow={bow:.1}mm")),
        Just("open".to_owned()),
        (edge(),).prop_map(|(e,)| format!("binding edges={e} finished=10mm")),
        (1.0..20.0f64,).prop_map(|(p,)| format!("shrinkage down={p:.1}")),
    ]
}

/// Every pair of chords that are not neighbours, by orientation signs: slow and plain.
fn crosses_itself(points: &[kurbo::Point]) -> bool {
    let n = points.len();
    let side = |a: kurbo::Point, b: kurbo::Point, c: kurbo::Point| (b - a).cross(c - a);
    let chord = |i: usize| (points[i], points[(i + 1) % n]);
    (0..n).any(|i| {
        (i + 2..n).filter(|j| (j + 1) % n != i).any(|j| {
            let ((a, b), (c, d)) = (chord(i), chord(j));
            side(a, b, c) * side(a, b, d) < 0.0 && side(c, d, a) * side(c, d, b) < 0.0
        })
    })
}

fn sound(piece: &Piece) -> Result<(), TestCaseError> {
    prop_assert!(
        !crosses_itself(&piece.outline.ring().flatten(0.1)),
        "{}: the finished line crosses",
        piece.record.piece
    );
    prop_assert!(piece.outline.area_mm2() > 0.0);
    if let Some(cut) = piece.cut_line().expect("every step was checked") {
        prop_assert!(!crosses_itself(&cut.ring.flatten(0.1)), "{}: the cut line crosses", piece.record.piece);
    }
    let made = piece.construction().expect("every step was checked");
    for line in made.lines.iter().filter(|l| l.kind == LineKind::Stitch) {
        prop_assert!(line.path.is_finite());
    }
    for stitching in &made.stitching {
        prop_assert!(stitching.count >= stitching.holes.len() && stitching.thread_mm > 0.0);
    }
    Ok(())
}

#[test]
fn a_thousand_recipes_are_done_or_refused_with_a_reason() {
    let (done, steps_done) = (Cell::new(0), Cell::new(0));
    let config = ProptestConfig { cases: 1000, rng_seed: RngSeed::Fixed(40), ..ProptestConfig::default() };
    let outcome = TestRunner::new(config).run(&prop::collection::vec(any_step(), 1..7), |words| {
        // Steps that are refused are left out, so that long sequences come about; each refusal names its step.
        let mut kept: Vec<&str> = Vec::new();
        for step in &words {
            kept.push(step);
            if let Err(error) = draft(&apron(), &recipe(&kept)) {
                let told = error.to_string();
                let kind = step.split(' ').next().unwrap_or_default();
                prop_assert!(told.starts_with(&format!("step {} ({kind}): ", kept.len())), "{told}");
                prop_assert!(told.len() > 30, "{told}");
                kept.pop();
            }
        }
        let drafted = draft(&apron(), &recipe(&kept)).expect("what was kept can be done");
        prop_assert_eq!(&draft(&apron(), &recipe(&kept)).expect("again"), &drafted, "the same again");
        for piece in &drafted.pieces {
            sound(piece)?;
        }
        let _ = check(&drafted);
        done.set(done.get() + usize::from(!kept.is_empty()));
        steps_done.set(steps_done.get() + kept.len());
        Ok(())
    });
    assert_eq!(outcome, Ok(()));
    assert!(done.get() > 700, "only {} recipes had a step that could be done", done.get());
    assert!(steps_done.get() > 1500, "only {} steps could be done", steps_done.get());
}
