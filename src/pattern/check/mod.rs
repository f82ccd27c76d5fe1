//! Checks of a drafted pattern: what a careful maker looks at before the knife.
//!
//! A drafted pattern enters; findings leave, each with its place, its figure, the rule and where the rule comes from: `G`
//! geometry, `CP` common practice without a source, `S` a published source, judgement where nobody has written a figure
//! down. Nothing is changed.

mod corners;
mod edges;
mod holes;
mod seams;
mod sight;

pub use sight::Sight;

use super::{Drafted, Piece};

/// How much a finding weighs.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Grade {
    /// As it should be; said so that one knows it was looked at.
    Good,
    /// To be looked at: it may be meant.
    Look,
    /// Wrong by its rule.
    Fault,
}

/// One thing that was looked at.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// How much it weighs.
    pub grade: Grade,
    /// Where: piece, and edge or point.
    pub place: String,
    /// The same to be looked at: one place for each piece it concerns; none where a whole piece is meant.
    pub sights: Vec<Sight>,
    /// What is there, with its figure.
    pub figure: String,
    /// The rule it is held against.
    pub rule: &'static str,
    /// Where the rule comes from: `G`, `CP`, `S: …`, `judgement`.
    pub mark: &'static str,
}

/// Looks at everything: pieces one by one, then what is sewn to what.
#[must_use]
pub fn check(drafted: &Drafted) -> Vec<Finding> {
    let mut out = Vec::new();
    for piece in &drafted.pieces {
        sound(piece, &mut out);
        corners::check(piece, &mut out);
        edges::check(piece, &mut out);
        holes::check(piece, &mut out);
    }
    holes::straps(&drafted.pieces, &mut out);
    for sewn in &drafted.sewn {
        seams::check(&drafted.pieces, sewn, &mut out);
    }
    out
}

/// Whether the cut line can be made at all and crosses itself nowhere; said of pieces that have one.
fn sound(piece: &Piece, out: &mut Vec<Finding>) {
    let (grade, figure) = match piece.cut_line() {
        Ok(None) => return,
        Ok(Some(_)) => (Grade::Good, "the cut line crosses itself nowhere".to_owned()),
        Err(error) => (Grade::Fault, error.to_string()),
    };
    out.push(Finding {
        grade,
        place: piece.record.piece.clone(),
        sights: Vec::new(),
        figure,
        rule: "an allowance may not cross itself or be wider than a hollow's radius",
        mark: "G",
    });
}
