//! The whole print of a drafted pattern: tiles and workshop sheets, or pages of a roll, as one PDF.

use super::tiles::{self, Window};
use super::workshop::{self, Workshop};
use super::{ExportError, pdf, roll};
use crate::geometry::Drawing;
use crate::pattern::Drafted;
use crate::sheet::Paper;

/// What a pattern is printed on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum PrintOn {
    /// Pages that are joined.
    Pages(Paper),
    /// One page a piece, as wide as the roll.
    Roll {
        /// Width of the roll, millimetres.
        width_mm: f64,
        /// Paper of the workshop sheets after them.
        sheets: Paper,
    },
}

impl PrintOn {
    /// The commonest roll of wide printers, 36 in.
    pub const USUAL_ROLL: Self = Self::Roll { width_mm: 914.0, sheets: Paper::A4 };

    /// A roll of this width, millimetres. Whoever says it in inches has Letter for the workshop sheets.
    #[must_use]
    pub fn roll(width_mm: f64, inches: bool) -> Self {
        Self::Roll { width_mm, sheets: if inches { Paper::Letter } else { Paper::A4 } }
    }
}

/// The pages of a print: the pattern's, then the workshop sheets.
///
/// # Errors
/// [`ExportError`], for example a roll that is too narrow.
pub fn pages(drafted: &Drafted, on: PrintOn) -> Result<Vec<Drawing>, ExportError> {
    Ok(cut(drafted, on)?.0)
}

/// The pages as [`pages`] has them, and where those that are joined lie on every piece.
///
/// # Errors
/// As [`pages`].
pub fn cut(drafted: &Drafted, on: PrintOn) -> Result<(Vec<Drawing>, Vec<Vec<Window>>), ExportError> {
    let pieces = &drafted.pieces;
    let ((mut pages, windows), sheets) = match on {
        PrintOn::Pages(paper) => (tiles::cut(pieces, paper)?, paper),
        PrintOn::Roll { width_mm, sheets } => {
            let pages = pieces.iter().map(|piece| roll::page(piece, width_mm)).collect::<Result<_, _>>()?;
            ((pages, Vec::new()), sheets)
        }
    };
    pages.extend(workshop::pages(&Workshop::new(drafted)?, sheets));
    Ok((pages, windows))
}

/// The print as a PDF.
///
/// # Errors
/// As [`pages`].
pub fn pdf(drafted: &Drafted, on: PrintOn) -> Result<Vec<u8>, ExportError> {
    let pages = pages(drafted, on)?;
    let title = match drafted.pieces.first().map(|piece| piece.record.style.as_str()) {
        None | Some("") => "pattern",
        Some(style) => style,
    };
    pdf::write(&pdf::About { title, subject: "full-scale pattern" }, &pages)
}
