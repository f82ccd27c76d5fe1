//! Marks, corners, tabs, pieces beyond the body, and checks, against the trade's own figures and against geometry.
//!
//! Rows named "TRADE check N" are the numbered check values of the trade notes that the project is built to; `[G]` marks a
//! value derived from geometry, `[S]` a published source, `[CP]` common practice.

mod any_recipe;
mod corners;
mod examples;
mod marks;
mod pieces;
mod trade;

use kurbo::{CubicBez, Line, PathSeg, Point};
use onfold::geometry::Ring;
use onfold::pattern::{Drafted, Outline, Piece, Recipe, Record, StepText, draft};

/// A half with a straight top, a curved armhole, a straight side and hem, millimetres; 1.2 mm thick.
fn apron() -> Piece {
    let mut record = Record::default();
    record.set("thickness", "1.2mm").expect("a length");
    half(
        vec![
            PathSeg::Line(Line::new((0.0, 0.0), (125.0, 0.0))),
            PathSeg::Cubic(CubicBez::new((125.0, 0.0), (135.0, 132.5), (195.0, 246.45), (305.0, 265.0))),
            PathSeg::Line(Line::new((305.0, 265.0), (305.0, 780.0))),
            PathSeg::Line(Line::new((305.0, 780.0), (0.0, 780.0))),
            PathSeg::Line(Line::new((0.0, 780.0), (0.0, 0.0))),
        ],
        record,
    )
}

fn half(segments: Vec<PathSeg>, record: Record) -> Piece {
    let corners: Vec<usize> = (0..segments.len()).collect();
    Piece::new(
        Outline::from_half(&Ring::new(segments).expect("the segments of a test piece meet"), &corners),
        record,
    )
}

fn straight_half(points: &[(f64, f64)]) -> Piece {
    let at = |i: usize| Point::from(points[i % points.len()]);
    half((0..points.len()).map(|i| PathSeg::Line(Line::new(at(i), at(i + 1)))).collect(), Record::default())
}

/// A step from the words that `onfold edit` takes; a list has commas, blanks within a value are written `_`.
fn step(words: &str) -> StepText {
    let mut words = words.split(' ');
    let mut step = StepText::new(words.next().expect("a kind"));
    for word in words {
        let (key, value) = word.split_once('=').expect("key=value");
        let value = value.replace('_', " ");
        step = if StepText::is_list(key) {
            step.with_list(key, &value.split(',').map(str::to_owned).collect::<Vec<_>>())
        } else {
            step.with(key, value)
        };
    }
    step
}

fn recipe(steps: &[&str]) -> Recipe {
    let names = [("top", "A-B"), ("armhole", "B-C"), ("side", "C-D"), ("hem", "D-E")];
    Recipe {
        names: names.map(|(name, edge)| (name.to_owned(), edge.to_owned())).into(),
        steps: steps.iter().map(|words| step(words)).collect(),
    }
}

fn drafted(steps: &[&str]) -> Drafted {
    draft(&apron(), &recipe(steps)).unwrap_or_else(|e| panic!("{e}"))
}

fn refused(steps: &[&str]) -> String {
    draft(&apron(), &recipe(steps)).expect_err("a refusal").to_string()
}

fn close(value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{value} is not {expected} within {within}");
}
