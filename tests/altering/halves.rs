//! Half pieces that steps are tried on, and short ways to try them.

use kurbo::{CubicBez, Line, PathSeg, Point};
use onfold::geometry::Ring;
use onfold::pattern::{Outline, PatternError, Piece, Recipe, Record, StepProblem, StepText, draft};

pub(crate) const IN: f64 = 25.4;

/// A half of straight edges through these points in inches, from the fold's top; the fold closes it.
pub(crate) fn straight_half(points: &[(f64, f64)]) -> Piece {
    let at = |i: usize| {
        let (x, y) = points[i % points.len()];
        Point::new(x * IN, y * IN)
    };
    piece((0..points.len()).map(|i| PathSeg::Line(Line::new(at(i), at(i + 1)))).collect())
}

/// A half whose every segment begins at a corner.
pub(crate) fn piece(segments: Vec<PathSeg>) -> Piece {
    let corners: Vec<usize> = (0..segments.len()).collect();
    let ring = Ring::new(segments).expect("the segments of a test piece meet");
    Piece::new(Outline::from_half(&ring, &corners), Record::default())
}

/// TRADE check 1: fold 29, hem 12, top 5, straight cut from the top end to a point 10 below the top at the side.
pub(crate) fn bib_apron() -> Piece {
    straight_half(&[(0.0, 0.0), (5.0, 0.0), (12.0, 10.0), (12.0, 29.0), (0.0, 29.0)])
}

/// A half with a curved top, a curved armhole and leaning sides, millimetres: like the demo's apron.
pub(crate) fn curved_apron() -> Piece {
    piece(vec![
        PathSeg::Cubic(CubicBez::new((0.0, 0.0), (50.0, 0.0), (87.5, -6.0), (125.0, -6.0))),
        PathSeg::Cubic(CubicBez::new((125.0, -6.0), (135.0, 126.5), (195.0, 240.45), (305.0, 259.0))),
        PathSeg::Line(Line::new((305.0, 259.0), (317.0, 774.0))),
        PathSeg::Line(Line::new((317.0, 774.0), (0.0, 774.0))),
        PathSeg::Line(Line::new((0.0, 774.0), (0.0, 0.0))),
    ])
}

pub(crate) fn recipe(steps: Vec<StepText>) -> Recipe {
    Recipe { names: vec![("armhole".into(), "B-C".into()), ("side".into(), "C-D".into())], steps }
}

pub(crate) fn drafted(half: &Piece, steps: Vec<StepText>) -> Piece {
    draft(half, &recipe(steps)).unwrap_or_else(|e| panic!("{e}")).body().clone()
}

pub(crate) fn problem(half: &Piece, step: StepText) -> (String, StepProblem) {
    match draft(half, &recipe(vec![step])) {
        Err(error @ PatternError::Step { number: 1, .. }) => {
            let text = error.to_string();
            let PatternError::Step { problem, .. } = error else { unreachable!() };
            (text, *problem)
        }
        other => panic!("a refusal of step 1 expected, not {other:?}"),
    }
}

pub(crate) fn close(value: f64, expected: f64, within: f64) {
    assert!((value - expected).abs() <= within, "{value} is not {expected} within {within}");
}

pub(crate) fn in2(mm2: f64) -> f64 {
    mm2 / (IN * IN)
}

pub(crate) fn drafted_unnamed(half: &Piece, step: StepText) -> Piece {
    let recipe = Recipe { names: Vec::new(), steps: vec![step] };
    draft(half, &recipe).unwrap_or_else(|e| panic!("{e}")).body().clone()
}
