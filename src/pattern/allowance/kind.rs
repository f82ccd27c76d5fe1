//! The kinds of allowance.

/// What is added at one edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Allowance {
    /// Its kind.
    pub kind: Kind,
    /// How far the cut line lies outside the finished line, millimetres.
    pub width_mm: f64,
}

/// Why something is added, which decides the shape at its ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Sewn to another edge: the cut line runs on to meet its neighbours'.
    Seam,
    /// Rolled over and fastened: as a seam, with a report of stretch or excess on curves.
    Turned,
    /// Folded over whole at the bottom: the allowance is the mirror image of the piece along the fold, so that it lies on
    /// it edge to edge. Straight edges only.
    Hem,
    /// Folded over whole at the top, a facing in one piece: as a hem.
    TurnDown,
}

impl Kind {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::Seam, Self::Turned, Self::Hem, Self::TurnDown];

    /// Its word in a recipe.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Seam => "seam",
            Self::Turned => "turned",
            Self::Hem => "hem",
            Self::TurnDown => "turn-down",
        }
    }

    /// Whether it is folded over whole.
    #[must_use]
    pub const fn is_folded(self) -> bool {
        matches!(self, Self::Hem | Self::TurnDown)
    }
}
