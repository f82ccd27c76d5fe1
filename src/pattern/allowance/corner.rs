//! What becomes of two allowances where they meet at a corner.

use super::Allowance;

/// How the allowances of two edges end at the corner between them.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Corner {
    /// Both run on until they meet: the full corner.
    #[default]
    Full,
    /// Cut off along one line across the corner, so far outside it, millimetres: folded in, they meet edge to edge.
    Mitred {
        /// Distance of the cut from the corner.
        outside_mm: f64,
    },
    /// The corner between them is cut out square to both edges, so that each folds by itself and they lie on each other.
    Square,
    /// One runs through to the end of its edge, the other begins where that one comes to lie: they meet edge to edge.
    /// Over the end of the first the other keeps a narrow rim, which is turned over both raw edges there.
    Butted {
        /// Whether the edge that ends at the corner runs through; if not, the one that begins there.
        first_through: bool,
        /// Width of the rim, millimetres; 0 leaves the edge raw for the width of the first allowance, to be dressed; `None`
        /// is a third of the other's allowance.
        rim_mm: Option<f64>,
    },
    /// One ends in the mirror image of the adjoining edge with its allowance, is folded first, and the other is folded
    /// over both.
    FoldedBack {
        /// Whether the edge that ends at the corner is folded first; if not, the one that begins there.
        first_back: bool,
    },
}

impl Corner {
    /// The words of all of them.
    pub const WORDS: [&str; 5] = ["full", "mitred", "square", "butted", "folded-back"];

    /// Its word in a recipe.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Full => "full",
            Self::Mitred { .. } => "mitred",
            Self::Square => "square",
            Self::Butted { .. } => "butted",
            Self::FoldedBack { .. } => "folded-back",
        }
    }

    /// Layers that lie on each other at the corner when both allowances are folded in, the face counted: what the needle
    /// and the hammer meet there. (Geometry: fold one allowance, then the other, and count.)
    #[must_use]
    pub const fn layers(self, before: Option<Allowance>, after: Option<Allowance>) -> u32 {
        match (before, after) {
            (None, None) => 1,
            (Some(_), Some(_)) => match self {
                Self::Full | Self::FoldedBack { .. } => 4,
                Self::Butted { rim_mm: Some(0.0), .. } | Self::Mitred { .. } => 2,
                Self::Square | Self::Butted { .. } => 3,
            },
            _ => 2,
        }
    }
}
