//! How many of a piece are cut, what is bought for it, and how it is stitched.

use std::fmt;

/// How many of a piece are cut.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Quantity {
    /// How many, or how many pairs.
    pub count: u32,
    /// Whether each is cut once as drawn and once mirrored, a left and a right one.
    pub pairs: bool,
}

impl Default for Quantity {
    fn default() -> Self {
        Self { count: 1, pairs: false }
    }
}

impl Quantity {
    /// Pieces in all.
    #[must_use]
    pub const fn pieces(self) -> u32 {
        if self.pairs { 2 * self.count } else { self.count }
    }
}

/// `cut 2`, `cut 1 pair`.
impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.pairs, self.count) {
            (false, count) => write!(f, "cut {count}"),
            (true, 1) => write!(f, "cut 1 pair (one mirrored)"),
            (true, count) => write!(f, "cut {count} pairs (one of each mirrored)"),
        }
    }
}

/// Something that is bought: rings, rivets, studs.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Hardware {
    /// What: `ring 42 mm inside, rod 4 mm`, `rivet 9 mm`.
    pub what: String,
    /// How many for one piece as it is cut.
    pub count: u32,
}

/// How a line is stitched; classes after ISO 4915.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Stitch {
    /// By hand, two needles through every hole, which are pricked or punched beforehand.
    #[default]
    Saddle,
    /// By machine, lockstitch 301.
    Lockstitch,
}

impl Stitch {
    /// Its word in a recipe.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Saddle => "saddle",
            Self::Lockstitch => "lockstitch",
        }
    }
}

/// A ring that a strip of material holds.
#[derive(Debug, Clone, PartialEq)]
pub struct StrapRing {
    /// Its inside width, millimetres.
    pub inside_mm: f64,
    /// Width of the strip that holds it, millimetres.
    pub strip_mm: f64,
    /// The piece that it takes, by name; `None` for a strap as wide as the strip.
    pub strap: Option<String>,
}
