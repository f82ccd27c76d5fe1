//! Photographs that were handed over, and the capture that is made of them.

use super::refusal::Refusal;
use crate::capture::{self, Captured, Request, Stage};
use crate::curve::Tolerance;
use crate::outline::{EdgeKind, Wish};
use crate::pattern::Record;
use crate::shelf::{self, DEPART_MM, PatternFile};
use crate::units::Length;
use axum::body::Bytes;
use serde::Deserialize;
use std::path::Path;
use std::time::Instant;

/// Photographs of one garment, at most.
pub(super) const PHOTOS_MOST: usize = 8;
/// Bytes of a photograph, at most: twice the largest JPEG of a phone.
pub(super) const PHOTO_BYTES_MOST: usize = 64 << 20;

/// How a capture stands.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Progress {
    /// None was begun.
    Idle,
    /// At a stage.
    At(Stage),
    /// Done: the pattern's number, and what would help.
    Done(usize, Vec<String>),
    /// Not done, and why.
    Failed(String),
}

/// A photograph in hand.
#[derive(Debug, Clone)]
pub(super) struct Photo {
    /// What the person calls it.
    pub(super) name: String,
    /// Its bytes as they came.
    pub(super) bytes: Bytes,
}

/// What the person says of the garment, lengths as typed; empty where nothing is said.
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub(super) struct Told {
    /// What it is called.
    pub(super) name: String,
    /// Thickness of its edge.
    pub(super) thickness: String,
    /// `folded` or `cut`.
    pub(super) edge: String,
    /// Straps narrower than this are left out.
    pub(super) trim_narrower: String,
    /// Width of the checked block by a ruler.
    pub(super) block_width: String,
    /// Its height.
    pub(super) block_height: String,
}

/// Thickness when none is told, millimetres: a hemmed canvas.
const USUAL_THICKNESS_MM: f64 = 1.0;

impl Told {
    fn length(what: &str, text: &str) -> Result<Option<Length>, Refusal> {
        if text.trim().is_empty() {
            return Ok(None);
        }
        Length::parse_positive(text).map(Some).map_err(|e| Refusal::cannot(format!("{what}: {e}")))
    }

    /// As the capture takes it, and the thickness as typed.
    pub(super) fn request(&self) -> Result<(Request, Option<Length>), Refusal> {
        let thickness = Self::length("thickness", &self.thickness)?;
        let trim = Self::length("straps", &self.trim_narrower)?;
        let width = Self::length("width of the checked block", &self.block_width)?;
        let height = Self::length("height of the checked block", &self.block_height)?;
        let measured_mm = match (&width, &height) {
            (Some(w), Some(h)) => Some((w.mm(), h.mm())),
            (None, None) => None,
            _ => return Err(Refusal::cannot("measure the checked block both ways, or leave both empty")),
        };
        let request = Request {
            measured_mm,
            wish: Wish {
                thickness_mm: thickness.as_ref().map_or(USUAL_THICKNESS_MM, Length::mm),
                edge: if self.edge == "cut" { EdgeKind::Cut } else { EdgeKind::Folded },
                trim_narrower_mm: trim.as_ref().map(Length::mm),
            },
            tolerance: Tolerance { depart_mm: DEPART_MM, ..Tolerance::default() },
        };
        Ok((request, thickness))
    }
}

/// Captures the photographs and keeps the pattern at its place. Words where it cannot be done.
pub(super) fn capture_into(
    place: &Path,
    photos: &[Photo],
    told: &Told,
    request: &Request,
    thickness: Option<Length>,
    tell: impl FnMut(Stage),
) -> Result<Captured, String> {
    let began = Instant::now();
    let bytes: Vec<Vec<u8>> = photos.iter().map(|p| p.bytes.to_vec()).collect();
    let mut captured = capture::capture(&bytes, request, tell).map_err(|e| e.to_string())?;
    let record = Record { style: told.name.trim().to_owned(), thickness, ..Record::default() };
    let file = PatternFile { record, ..PatternFile::default() };
    let names: Vec<String> = photos.iter().map(|p| p.name.clone()).collect();
    shelf::keep(place, &mut captured, file, &names, false, began).map_err(|e| e.to_string())?;
    Ok(captured)
}

/// The stage in a maker's words, and its number from 0.
pub(super) fn stage_words(stage: Stage) -> (usize, &'static str) {
    match stage {
        Stage::Decode => (0, "Reading the photograph"),
        Stage::Sheets => (1, "Looking for the sheets"),
        Stage::Outline => (2, "Tracing the outline"),
        Stage::Curves => (3, "Fitting lines and curves"),
        Stage::Pictures => (4, "Drawing it straight down"),
    }
}
