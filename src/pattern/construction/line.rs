//! Lines, holes and words as they are drawn.

use crate::geometry::{BezPath, Layer, Point};

/// What a construction line is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum LineKind {
    /// Folded here.
    Fold,
    /// Thinned from the cut edge to here.
    Skive,
    /// Cemented to here and no farther.
    Glue,
    /// The needle's way.
    Stitch,
    /// Where another piece is laid.
    Placement,
    /// The middle of the piece.
    Centre,
    /// A notch: cut or drawn from the cut edge inward.
    Notch,
    /// A mark on both sides of a fold that must meet when it is folded.
    Match,
    /// A slit or the sides of a V-cut in an allowance.
    Slit,
}

impl LineKind {
    /// All of them.
    pub const ALL: [Self; 9] = [
        Self::Fold,
        Self::Skive,
        Self::Glue,
        Self::Stitch,
        Self::Placement,
        Self::Centre,
        Self::Notch,
        Self::Match,
        Self::Slit,
    ];

    /// The layer of a drawing that it belongs to.
    #[must_use]
    pub const fn layer(self) -> Layer {
        match self {
            Self::Fold => Layer::Fold,
            Self::Skive | Self::Glue => Layer::Skive,
            Self::Stitch => Layer::Stitch,
            Self::Slit => Layer::Cut,
            Self::Placement | Self::Centre | Self::Notch | Self::Match => Layer::Marks,
        }
    }

    /// A short name, fit for an id.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Fold => "fold",
            Self::Skive => "skive",
            Self::Glue => "glue",
            Self::Stitch => "stitch",
            Self::Placement => "placement",
            Self::Centre => "centre",
            Self::Notch => "notch",
            Self::Match => "match",
            Self::Slit => "slit",
        }
    }
}

/// A line to be drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct WorkLine {
    /// What it is for.
    pub kind: LineKind,
    /// What it says, short: `skive 24 mm`, `pocket`; empty where the line speaks for itself.
    pub says: String,
    /// The line in the piece's frame, millimetres.
    pub path: BezPath,
}

/// A hole to punch or drill.
#[derive(Debug, Clone, PartialEq)]
pub struct WorkHole {
    /// Its middle in the piece's frame, millimetres.
    pub at: Point,
    /// Its diameter, millimetres.
    pub diameter_mm: f64,
    /// Drilled as a mark through all layers (true), or punched for a rivet, a lace or a stud (false).
    pub drilled: bool,
    /// What goes in: `rivet 9 mm`; empty for nothing.
    pub holds: String,
    /// From its middle to the nearest place of the cut edge, millimetres.
    pub to_edge_mm: f64,
    /// How many of it the whole piece has: two on a half, one where it lies on the fold or the piece has none.
    pub count: u32,
}

/// Words that the maker asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct WorkWords {
    /// Where the baseline begins, in the piece's frame, millimetres.
    pub at: Point,
    /// The words.
    pub words: String,
    /// Size of the letters, millimetres.
    pub size_mm: f64,
    /// Turn of the baseline, degrees clockwise as seen.
    pub turn_deg: f64,
}
