//! What must hold for any piece and any recipe.

use crate::halves::{IN, drafted_unnamed, piece, recipe, straight_half};
use kurbo::{CubicBez, Line, PathSeg, Point};
use onfold::pattern::{Kind, Piece, StepText, draft};
use proptest::prelude::*;
use proptest::test_runner::{RngSeed, TestRunner};
use std::cell::Cell;

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
