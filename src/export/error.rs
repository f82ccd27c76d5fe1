//! Why something could not be written.

use crate::pattern::{AllowanceError, StepProblem};

/// Why something could not be written, and what to do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum ExportError {
    /// Nothing to write.
    #[error("there is nothing to write: no page and no piece")]
    Nothing,
    /// A page longer than common viewers can show.
    #[error(
        "the page would be {width_mm:.0} x {height_mm:.0} mm, but a PDF page ends at {limit_mm:.0} mm; \
         print on a4 or letter, or on fewer boards"
    )]
    PageTooLarge {
        /// Width, millimetres.
        width_mm: f64,
        /// Height, millimetres.
        height_mm: f64,
        /// The limit, millimetres.
        limit_mm: f64,
    },
    /// A picture of too many pixels.
    #[error("the picture would have {width} x {height} pixels; choose a lower resolution")]
    PictureTooLarge {
        /// Pixels across.
        width: u64,
        /// Pixels down.
        height: u64,
    },
    /// The roll is narrower than the piece in both directions.
    #[error(
        "`{piece}` is {piece_width_mm:.0} x {piece_height_mm:.0} mm and does not fit on a roll of {roll_mm:.0} mm, \
         which takes {free_mm:.0} mm beside its margins; use a wider roll, or print on a4 or letter"
    )]
    RollTooNarrow {
        /// Which piece.
        piece: String,
        /// Its width, millimetres.
        piece_width_mm: f64,
        /// Its height, millimetres.
        piece_height_mm: f64,
        /// The roll's width, millimetres.
        roll_mm: f64,
        /// What the roll leaves for the piece, millimetres.
        free_mm: f64,
    },
    /// A number that is no length, or the like: a fault of the input.
    #[error("`{piece}` has a place that is no number; trace it again")]
    NotFinite {
        /// Which piece.
        piece: String,
    },
    /// The cut line cannot be made.
    #[error("{0}")]
    Allowance(#[from] AllowanceError),
    /// A construction line cannot be made.
    #[error("{0}")]
    Construction(Box<StepProblem>),
    /// A piece that is to be opened out has no fold.
    #[error("this outline has no fold on x = 0 to open it out at; export it without --whole")]
    NotHalf,
    /// What it was written to took no more.
    #[error("the file could not be written: {}", std::io::Error::from(*.0))]
    Unwritten(std::io::ErrorKind),
    /// The font did not go into the file.
    #[error(
        "the letters could not be put into the file ({0}); this is a fault of the program, please report it"
    )]
    Font(String),
}

impl From<std::io::Error> for ExportError {
    fn from(error: std::io::Error) -> Self {
        Self::Unwritten(error.kind())
    }
}
