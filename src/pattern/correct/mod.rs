//! Corrections of the traced line, done before the fold.
//!
//! A fitted outline enters, millimetres on the table, with the steps of a recipe that correct it; the corrected outline
//! leaves, with a report of each. They are steps like any others, and stand in one list with them; wherever they stand, they
//! are done first, in their own order, because they say what the photograph should have shown. What was traced is never
//! written over: away from a correction the line is the traced one to the last digit.
//!
//! To add one: a file here with a struct that reads itself from a [`StepText`] and is a [`Correction`], a line for it in
//! [`KINDS`], and one in the guide to the steps.

mod corner;
mod curve;
mod line;
mod place;
mod problem;
mod pull;
mod redraw;
mod replace;
mod spline;

pub use place::Place as TracedPlace;
pub use problem::CorrectionProblem;

use super::{PatternError, Recipe, StepProblem, StepText};
use crate::curve::Fitted;
use crate::units::Unit;
use line::TracedLine;

/// A step that corrects the traced line.
trait Correction {
    /// What it does, as a person says it.
    fn spoken(&self) -> String;
    /// The unit its amount is written in; `None` for a step without an amount.
    fn unit(&self) -> Option<Unit>;
    /// Does it.
    fn apply(&self, line: &TracedLine) -> Result<TracedLine, CorrectionProblem>;
}

/// Reads a correction of one kind from its words.
type Read = fn(&StepText) -> Result<Box<dyn Correction>, StepProblem>;

/// Every kind of correction, as it is written, and its reader.
const KINDS: &[(&str, Read)] = &[
    (pull::Pull::KIND, |t| Ok(Box::new(pull::Pull::read(t)?))),
    (corner::ToCorner::KIND, |t| Ok(Box::new(corner::ToCorner::read(t)?))),
    (curve::ToCurve::KIND, |t| Ok(Box::new(curve::ToCurve::read(t)?))),
    (replace::Replace::KINDS[0], |t| Ok(Box::new(replace::Replace::read(t)?))),
    (replace::Replace::KINDS[1], |t| Ok(Box::new(replace::Replace::read(t)?))),
    (redraw::Redraw::KIND, |t| Ok(Box::new(redraw::Redraw::read(t)?))),
];

/// Every kind of correction, as it is written.
pub(super) fn kinds() -> impl Iterator<Item = &'static str> {
    KINDS.iter().map(|(kind, _)| *kind)
}

impl StepText {
    /// Whether it corrects the traced line, and so is done before the fold.
    #[must_use]
    pub fn is_correction(&self) -> bool {
        kinds().any(|kind| kind == self.kind)
    }
}

/// The outline after all corrections.
#[derive(Debug, Clone, PartialEq)]
pub struct Corrected {
    /// The outline; what was measured of the fit is still that of the traced one.
    pub outer: Fitted,
    /// One report a correction; none for one that is switched off.
    pub reports: Vec<CorrectionReport>,
}

/// What one correction changed.
#[derive(Debug, Clone, PartialEq)]
pub struct CorrectionReport {
    /// Which step of the recipe, from 1.
    pub number: usize,
    /// What it did, as a person says it.
    pub spoken: String,
    /// The unit that its amount was written in; millimetres without one.
    pub unit: Unit,
    /// Length round the outline before and after, millimetres.
    pub round_mm: [f64; 2],
    /// Area within the outline before and after, mm².
    pub area_mm2: [f64; 2],
}

impl CorrectionReport {
    /// The report in words, one line each, in the unit of the step.
    #[must_use]
    pub fn lines(&self) -> Vec<String> {
        let ([r0, r1], [a0, a1]) = (self.round_mm, self.area_mm2);
        let lengths = [r0, r1].map(|mm| self.unit.show(mm));
        let areas = [a0, a1].map(|mm2| self.unit.show_area(mm2));
        let mut out = Vec::new();
        if lengths[0] != lengths[1] {
            let change = self.unit.show_change(r1 - r0);
            out.push(format!("traced line round {} -> {} ({change})", lengths[0], lengths[1]));
        }
        if areas[0] != areas[1] {
            out.push(format!("traced area {} -> {}", areas[0], areas[1]));
        }
        out
    }
}

/// Corrects a traced outline by those steps of a recipe that do so. Nothing but the two arguments decides the outcome.
///
/// # Errors
/// [`PatternError::Step`], naming the step and what to do.
pub fn correct(outer: &Fitted, recipe: &Recipe) -> Result<Corrected, PatternError> {
    let mut out = Corrected { outer: outer.clone(), reports: Vec::new() };
    let steps = recipe.steps.iter().enumerate().filter(|(_, step)| step.is_correction() && !step.is_off());
    for (index, text) in steps {
        let number = index + 1;
        let (fitted, report) = take_step(&out.outer, text, number).map_err(|problem| PatternError::Step {
            number,
            kind: text.kind.clone(),
            problem: Box::new(problem),
        })?;
        out.outer = fitted;
        out.reports.push(report);
    }
    Ok(out)
}

fn take_step(
    outer: &Fitted,
    text: &StepText,
    number: usize,
) -> Result<(Fitted, CorrectionReport), StepProblem> {
    let read = KINDS.iter().find(|(kind, _)| *kind == text.kind).map(|(_, read)| read);
    let Some(read) = read else { return Err(StepProblem::unknown_step(&text.kind, kinds())) };
    let step = read(text)?;
    let before = TracedLine::of(outer);
    let after = step.apply(&before)?.sound(&before)?;
    let fitted = after.into_fitted(outer)?;
    let report = CorrectionReport {
        number,
        spoken: step.spoken(),
        unit: step.unit().unwrap_or(Unit::Millimetre),
        round_mm: [outer.ring.length_mm(), fitted.ring.length_mm()],
        area_mm2: [outer.ring.area_mm2().abs(), fitted.ring.area_mm2().abs()],
    };
    Ok((fitted, report))
}
