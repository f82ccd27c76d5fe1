//! What can go wrong with a recipe.

use super::{AllowanceError, CorrectionProblem, nearest};
use crate::units::LengthError;

/// Why a recipe could not be replayed: which step, what is wrong, what to do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum PatternError {
    /// A step cannot be read or done.
    #[error("step {number} ({kind}): {problem}")]
    Step {
        /// Which step, from 1.
        number: usize,
        /// What it was to do, as written.
        kind: String,
        /// What is wrong.
        problem: Box<StepProblem>,
    },
    /// A name is given to an edge that is not there, or is no name.
    #[error("the edge name `{name}`: {problem}")]
    Name {
        /// The name.
        name: String,
        /// What is wrong.
        problem: Box<StepProblem>,
    },
}

/// What is wrong with one step.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum StepProblem {
    /// No such step.
    #[error("there is no step `{kind}`{}; the steps are {known}", meant(.nearest))]
    UnknownStep {
        /// As written.
        kind: String,
        /// The most likely one.
        nearest: Option<String>,
        /// All of them.
        known: String,
    },
    /// A key that this step does not have.
    #[error("there is no `{key}` here{}; known are {known}", meant(.nearest))]
    UnknownKey {
        /// As written.
        key: String,
        /// The most likely one.
        nearest: Option<String>,
        /// All of them.
        known: String,
    },
    /// A key given twice.
    #[error("`{key}` is given twice; keep one")]
    TwiceGiven {
        /// The key.
        key: String,
    },
    /// A key that must be there.
    #[error("`{key}` is missing; add {example}")]
    Missing {
        /// The key.
        key: String,
        /// What would be right.
        example: String,
    },
    /// A key that holds one value, given several, or the other way round.
    #[error("`{key}` is {found}; write {example}")]
    BadValue {
        /// The key.
        key: String,
        /// What was found.
        found: String,
        /// What would be right.
        example: String,
    },
    /// A length that does not read.
    #[error("`{key}`: {source}")]
    Length {
        /// The key.
        key: String,
        /// What is wrong with it.
        source: LengthError,
    },
    /// An edge that is not there.
    #[error("there is no edge `{name}`{}; the edges are {known}{}", meant(.nearest), if .nearest.is_none() { " (the step `name` gives one a name)" } else { "" })]
    NoEdge {
        /// As written.
        name: String,
        /// The most likely one.
        nearest: Option<String>,
        /// All of them.
        known: String,
    },
    /// A piece that is not there.
    #[error("there is no piece `{name}`{}; the pieces are {known}", meant(.nearest))]
    NoPiece {
        /// As written.
        name: String,
        /// The most likely one.
        nearest: Option<String>,
        /// All of them.
        known: String,
    },
    /// A name that cannot be given to a piece.
    #[error("{why}; choose another, for example name = \"pocket\"")]
    NotAPiece {
        /// Why not.
        why: String,
    },
    /// A mark cannot be drawn, or one of an earlier step has lost its place.
    #[error("{mark} cannot be drawn: {problem} (if an earlier step drew it, move that step behind this one)")]
    Mark {
        /// What was marked.
        mark: String,
        /// Why it cannot be.
        problem: Box<StepProblem>,
    },
    /// A point that is not there.
    #[error("there is no point `{name}`; the points are {known}")]
    NoPoint {
        /// As written.
        name: String,
        /// All of them.
        known: String,
    },
    /// A name that cannot be given to an edge.
    #[error("{why}; choose another, for example armhole")]
    NotAName {
        /// Why not.
        why: String,
    },
    /// A point that does not end the edge.
    #[error("{edge} does not end at {point}; it ends at {ends}: name one of these")]
    NotAnEnd {
        /// The edge, as a person says it.
        edge: String,
        /// The point's letter.
        point: String,
        /// The ends it has.
        ends: String,
    },
    /// The fold would have to move.
    #[error("{what} lies on the fold, which does not move; name an edge or a point away from the fold")]
    OnFold {
        /// The edge or point.
        what: String,
    },
    /// A level above or below the whole piece.
    #[error(
        "the line {level} lies {where_mm:.1} mm down from the fold's top, off the piece ({top_mm:.1} to {bottom_mm:.1} mm); move it onto the piece"
    )]
    OffPiece {
        /// As written.
        level: String,
        /// Where it lies.
        where_mm: f64,
        /// Top of the piece.
        top_mm: f64,
        /// Bottom of the piece.
        bottom_mm: f64,
    },
    /// The line runs along an edge instead of across it.
    #[error("the line {line} runs along {edge} instead of across it; move it to where it meets sides")]
    AlongEdge {
        /// As written.
        line: String,
        /// The edge.
        edge: String,
    },
    /// More is taken out than there is.
    #[error(
        "{edge} has only {room_mm:.1} mm to give across the line {line}; take out less, or move the line"
    )]
    TooShort {
        /// As written.
        line: String,
        /// The edge that runs out.
        edge: String,
        /// What it has, millimetres.
        room_mm: f64,
    },
    /// A line along the fold beyond the piece.
    #[error(
        "the line {line} lies beyond the piece, which is {wide_mm:.1} mm wide from the fold; move it nearer"
    )]
    TooWide {
        /// As written.
        line: String,
        /// Width of the half, millimetres.
        wide_mm: f64,
    },
    /// The two ends of an edge would meet.
    #[error("nothing of {edge} would be left; use a smaller amount")]
    Vanishes {
        /// The edge.
        edge: String,
    },
    /// A straight edge where a curve is needed.
    #[error("{edge} is straight, so it has no depth to change; name a curved edge")]
    NotCurved {
        /// The edge.
        edge: String,
    },
    /// A curve flattened past straight.
    #[error("{edge} is only {depth_mm:.1} mm deep; flatten it by less, or straighten it")]
    TooFlat {
        /// The edge.
        edge: String,
        /// Its depth, millimetres.
        depth_mm: f64,
    },
    /// A place past the end of an edge.
    #[error("{edge} is only {length_mm:.1} mm long; name a place on it, or leave `at` out for its middle")]
    PastEnd {
        /// The edge.
        edge: String,
        /// Its length, millimetres.
        length_mm: f64,
    },
    /// A slash along an edge.
    #[error(
        "the pivot {pivot} is an end of {edge}, so there is nothing to slash; name a point across the piece"
    )]
    PivotOnEdge {
        /// The point's letter.
        pivot: String,
        /// The edge.
        edge: String,
    },
    /// A slash that would have to swing all the way round.
    #[error("the slash is {radius_mm:.1} mm long and cannot open that far; use a smaller amount")]
    OpensTooFar {
        /// Its length, millimetres.
        radius_mm: f64,
    },
    /// The cut line cannot be made.
    #[error("{0}")]
    Allowance(#[from] AllowanceError),
    /// The traced line cannot be corrected so.
    #[error("{0}")]
    Correction(#[from] CorrectionProblem),
    /// An allowance is needed.
    #[error("{edge} has no allowance that could be turned; add one first (allowance), or say the width")]
    NoAllowance {
        /// The edge.
        edge: String,
    },
    /// A hole that does not lie in the cloth.
    #[error(
        "the hole at {across_mm:.1} mm across and {down_mm:.1} mm down is not within the cut line; move it inside"
    )]
    HoleOffPiece {
        /// Across, millimetres.
        across_mm: f64,
        /// Down, millimetres.
        down_mm: f64,
    },
    /// Something laid wholly on the other side of the fold.
    #[error("{what} would lie beyond the fold, off the half; move it out")]
    OffHalf {
        /// What.
        what: String,
    },
    /// An edge that does not meet a point.
    #[error("{edge} does not meet {point}; there meet {edges}: name one of these")]
    NotAtPoint {
        /// The edge, as a person says it.
        edge: String,
        /// The point's letter.
        point: String,
        /// The edges that do.
        edges: String,
    },
    /// A cut that parts nothing.
    #[error("the cut does not part the piece; name two places on different edges, not both on the fold")]
    NotParted,
    /// A cut through a tab.
    #[error("the cut goes through a tab on {edge}; move the cut, or make the tab after it")]
    ThroughTab {
        /// The edge, as a person says it.
        edge: String,
    },
    /// Edges that do not follow each other.
    #[error("{edges} do not follow each other; name edges that do, in one run")]
    NotARun {
        /// The edges.
        edges: String,
    },
    /// A piece without a fold where one is needed.
    #[error("the piece has no fold to open; it is whole already")]
    NoFold,
    /// Two tabs in one place.
    #[error("two tabs on {edge} would overlap; move one, or make it narrower")]
    TabsMeet {
        /// The edge, as a person says it.
        edge: String,
    },
    /// No corner where one is needed.
    #[error("the line runs on smoothly at {point}, so there is no corner to round; name a corner")]
    NoCorner {
        /// The point's letter.
        point: String,
    },
    /// The arc does not fit between the ends of the two edges.
    #[error(
        "a radius of {radius} does not fit at {point}: the arc would pass the ends of its edges; use a smaller one"
    )]
    RadiusTooLarge {
        /// The point's letter.
        point: String,
        /// As written.
        radius: String,
    },
    /// Two edges that run on without meeting.
    #[error(
        "{first} and {second} do not meet when they run straight on; move a point first, or straighten instead"
    )]
    NeverMeet {
        /// One edge.
        first: String,
        /// The other.
        second: String,
    },
    /// Two straight edges cannot run on into each other.
    #[error("both edges at {point} are straight, so the corner is a real one; round it, or move the point")]
    BothStraight {
        /// The point's letter.
        point: String,
    },
    /// The line would cross itself.
    #[error("{first} would cross {second}; use a smaller amount or another edge")]
    Crosses {
        /// One edge.
        first: String,
        /// The other.
        second: String,
    },
    /// The line would cross the fold.
    #[error("{edge} would cross the fold; use a smaller amount")]
    CrossesFold {
        /// The edge.
        edge: String,
    },
}

impl StepProblem {
    /// A kind of step that is not among the known ones, with the nearest of them.
    pub(super) fn unknown_step(kind: &str, known: impl Iterator<Item = &'static str>) -> Self {
        let known: Vec<&str> = known.collect();
        Self::UnknownStep {
            kind: kind.to_owned(),
            nearest: nearest(kind, known.iter().copied()).map(str::to_owned),
            known: known.join(", "),
        }
    }

    /// A key that is not among the known ones, with the nearest of them.
    #[must_use]
    pub fn unknown_key(key: &str, known: &[&str]) -> Self {
        Self::UnknownKey {
            key: key.to_owned(),
            nearest: nearest(key, known.iter().copied()).map(str::to_owned),
            known: known.join(", "),
        }
    }
}

fn meant(nearest: &Option<String>) -> String {
    nearest.as_ref().map_or(String::new(), |n| format!(" (did you mean `{n}`?)"))
}
