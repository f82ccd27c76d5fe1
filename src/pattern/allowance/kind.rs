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
    /// Folded over whole (a hem, a turn-down, a facing in one piece): the allowance is the mirror image of the piece
    /// along the fold, so that it lies on it edge to edge. Straight edges only.
    Folded,
}
