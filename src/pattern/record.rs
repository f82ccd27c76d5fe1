//! What is written on every piece.

use crate::units::Length;

/// What a person says about a piece, for its label. The two finished dimensions, the scale square, FOLD and the
/// kind of line come from the pattern itself.
///
/// Fields after the trade's record on every piece: style, piece, "n of N", quantity, material and thickness,
/// allowance and where, grain, date, version, what it supersedes.
#[derive(Debug, Clone, PartialEq)]
pub struct Record {
    /// Style name or number.
    pub style: String,
    /// Piece name.
    pub piece: String,
    /// Which piece of how many: `1 of 1`.
    pub number: String,
    /// How many to cut, and how: `cut 1 on fold`.
    pub quantity: String,
    /// Material.
    pub material: String,
    /// Its thickness.
    pub thickness: Option<Length>,
    /// Allowance and where.
    pub allowance: String,
    /// Direction of grain or backbone: `along the fold`.
    pub grain: String,
    /// Date, year first.
    pub date: String,
    /// Version.
    pub version: String,
    /// What it supersedes.
    pub supersedes: String,
}

impl Default for Record {
    fn default() -> Self {
        Self {
            style: String::new(),
            piece: "body".to_owned(),
            number: "1 of 1".to_owned(),
            quantity: "cut 1 on fold".to_owned(),
            material: String::new(),
            thickness: None,
            allowance: "none: this is the finished line".to_owned(),
            grain: "along the fold".to_owned(),
            date: String::new(),
            version: "1".to_owned(),
            supersedes: String::new(),
        }
    }
}
