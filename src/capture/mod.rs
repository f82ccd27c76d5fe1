//! From photographs to a traced piece and a report: the one call that commands, shelf and page share.
//!
//! Bytes of photographs enter; the outline as exact curves, the trace it was fitted to, a report and
//! pictures leave. Lengths in millimetres on the table.

mod advice;
mod locate;
mod look;
mod mats;
mod measure;
mod paper;
mod pictures;
mod report;
mod slivers;

pub use crate::photo::taken_at;
pub use locate::{LocateError, Located, SheetFound, locate};
pub use look::Looked;
pub use paper::{CapturedPaper, capture_paper, capture_paper_looked};
pub use pictures::{CapturePicture, TABLE, table_window};
pub use report::{Report, ReportCamera, ReportExpected, ReportHole, ReportSheet};

use crate::curve::{self, CurveError, Fitted, Tolerance};
use crate::geometry::Trace;
use crate::ink::InkError;
use crate::outline::{self, OutlineError, Scene, VisibleCorner, Wish};
use crate::photo::{self, Limits, Photo, PhotoError};
use crate::sheet::{Scale, layout};
use locate::locate_found;
use rayon::prelude::*;
use std::time::Instant;

/// What to capture and how.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Request {
    /// What the ruler says of the checked block, width and height, millimetres; `None` trusts the printer.
    pub measured_mm: Option<(f64, f64)>,
    /// How the garment is made and what to leave out.
    pub wish: Wish,
    /// How closely the curves follow the trace.
    pub tolerance: Tolerance,
}

/// A stage of the work, told as it begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stage {
    /// Decoding the photographs.
    Decode,
    /// Finding sheets and camera.
    Sheets,
    /// Tracing the outline.
    Outline,
    /// Fitting curves.
    Curves,
    /// Drawing the pictures.
    Pictures,
}

/// Why nothing was captured.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CaptureError {
    /// No photograph was given.
    #[error("no photograph was given")]
    NoPhotos,
    /// A photograph cannot be read.
    #[error("photograph {photo}: {error}")]
    Photo {
        /// Which, from 1.
        photo: usize,
        /// Why.
        error: PhotoError,
    },
    /// The measured block is not near its size.
    #[error(
        "the checked block cannot measure {width_mm} x {height_mm} mm when it is printed as 180 x 240 mm; measure along \
         the ticks, first the width, then the height"
    )]
    Measured {
        /// As given.
        width_mm: f64,
        /// As given.
        height_mm: f64,
    },
    /// The sheets.
    #[error(transparent)]
    Locate(#[from] LocateError),
    /// The outline.
    #[error(transparent)]
    Outline(#[from] OutlineError),
    /// The drawing on a paper.
    #[error(transparent)]
    Ink(#[from] InkError),
    /// The curves.
    #[error(transparent)]
    Curve(#[from] CurveError),
}

/// A ring with the trace it was fitted to.
#[derive(Debug, Clone, PartialEq)]
pub struct CapturedRing {
    /// Lines and cubics.
    pub fitted: Fitted,
    /// Dense places with their standard deviations.
    pub trace: Trace,
}

/// What a capture gives.
#[derive(Debug, Clone, PartialEq)]
pub struct Captured {
    /// The outer line.
    pub outer: CapturedRing,
    /// Inner lines.
    pub holes: Vec<CapturedRing>,
    /// The report.
    pub report: Report,
    /// Pictures.
    pub pictures: Vec<CapturePicture>,
}

/// A print measured farther off than this was measured wrong.
const SCALE_OFF_MOST: f64 = 0.12;
/// Curves that stray more than this, in tolerances, root mean square, missed the trace somewhere.
const FIT_RMS_MOST: f64 = 0.7;
/// Corners with a smaller weight in the solve do not prove that the sheet shows.
const CORNER_WEIGHT_LEAST: f64 = 0.2;

/// Captures one garment from one photograph or several.
///
/// # Errors
/// [`CaptureError`], which says what was seen and what to do.
pub fn capture(
    photos: &[Vec<u8>],
    request: &Request,
    mut tell: impl FnMut(Stage),
) -> Result<Captured, CaptureError> {
    if photos.is_empty() {
        return Err(CaptureError::NoPhotos);
    }
    let scale = scale(request)?;
    let mut clock = Clock::start();
    tell(Stage::Decode);
    let decoded: Vec<_> = photos.par_iter().map(|bytes| photo::decode(bytes, Limits::default())).collect();
    let photos = decoded
        .into_iter()
        .enumerate()
        .map(|(k, decoded)| decoded.map_err(|error| CaptureError::Photo { photo: k + 1, error }))
        .collect::<Result<Vec<_>, _>>()?;
    clock.lap("decode");
    tell(Stage::Sheets);
    let located = locate(&photos, scale)?;
    clock.lap("sheets");
    traced(&photos, &located, request, clock, tell)
}

/// The same of photographs that were looked at already.
///
/// # Errors
/// As [`capture`].
pub fn capture_looked(
    looked: Vec<Looked>,
    request: &Request,
    tell: impl FnMut(Stage),
) -> Result<Captured, CaptureError> {
    let (photos, located, clock) = located_of(looked, request)?;
    traced(&photos, &located, request, clock, tell)
}

fn located_of(looked: Vec<Looked>, request: &Request) -> Result<(Vec<Photo>, Located, Clock), CaptureError> {
    if looked.is_empty() {
        return Err(CaptureError::NoPhotos);
    }
    let scale = scale(request)?;
    let [decode, find] = [0, 1].map(|k| looked.iter().map(|l| l.seconds[k]).sum::<f64>());
    let (photos, finds): (Vec<Photo>, Vec<_>) = looked.into_iter().map(|l| (l.photo, l.finds)).unzip();
    let mut clock = Clock::start();
    let located = locate_found(&photos, &finds, scale)?;
    clock.lap("sheets");
    clock.seconds[0].1 += find;
    clock.seconds.insert(0, ("decode", decode));
    Ok((photos, located, clock))
}

/// From the sheets' places to the captured piece.
fn traced(
    photos: &[Photo],
    located: &Located,
    request: &Request,
    mut clock: Clock,
    mut tell: impl FnMut(Stage),
) -> Result<Captured, CaptureError> {
    let scale = located.scale;
    tell(Stage::Outline);
    let corners: Vec<Vec<VisibleCorner>> =
        (0..photos.len()).map(|photo| visible_corners(located, photo)).collect();
    let scenes: Vec<Scene<'_>> = photos
        .iter()
        .zip(&located.solution.cameras)
        .zip(&corners)
        .map(|((photo, camera), corners)| Scene { photo, camera, sheets: &located.placed, scale, corners })
        .collect();
    let outline = outline::trace(&scenes, &request.wish)?;
    clock.lap("outline");
    tell(Stage::Curves);
    let fit = |trace: &Trace| -> Result<CapturedRing, CurveError> {
        Ok(CapturedRing { fitted: fitted(trace, &request.tolerance)?, trace: trace.clone() })
    };
    let outer = fit(&outline.outer)?;
    let holes = outline.holes.iter().map(fit).collect::<Result<Vec<_>, _>>()?;
    clock.lap("curves");
    tell(Stage::Pictures);
    let pictures = pictures::draw(&scenes, located, &outer, &holes);
    clock.lap("pictures");
    let report = report::report(&scenes, located, request, (&outer, &holes), clock.seconds);
    Ok(Captured { outer, holes, report, pictures })
}

/// Curves within the tolerance; where they depart from the trace by far more than that at some place, wider
/// tolerances are tried and the nearest curves are kept.
fn fitted(trace: &Trace, tolerance: &Tolerance) -> Result<Fitted, CurveError> {
    let mut best = curve::fit(trace, tolerance)?;
    for wider in [1.5, 2.0, 3.0] {
        if best.rms_mm <= FIT_RMS_MOST * tolerance.depart_mm {
            break;
        }
        let next = curve::fit(trace, &Tolerance { depart_mm: wider * tolerance.depart_mm, ..*tolerance })?;
        if next.rms_mm < best.rms_mm {
            best = next;
        }
    }
    Ok(best)
}

fn scale(request: &Request) -> Result<Scale, CaptureError> {
    let Some((width_mm, height_mm)) = request.measured_mm else { return Ok(Scale::TRUE) };
    let scale = Scale::measured(width_mm, height_mm);
    let near = |s: f64| (s - 1.0).abs() <= SCALE_OFF_MOST;
    if near(scale.across) && near(scale.down) {
        Ok(scale)
    } else {
        Err(CaptureError::Measured { width_mm, height_mm })
    }
}

/// Corners of one photograph that the solve believed, as nodes of their sheets.
fn visible_corners(located: &Located, photo: usize) -> Vec<VisibleCorner> {
    located
        .observations
        .iter()
        .zip(&located.solution.weights)
        .filter(|(o, weight)| o.photo == photo && **weight > CORNER_WEIGHT_LEAST)
        .map(|(o, _)| {
            let p = located.scale.nominal_from_true(o.on_board);
            #[expect(clippy::cast_possible_truncation, reason = "0 to 12")]
            let index = |v: f64| (v / layout::SQUARE_MM).round() as i32;
            VisibleCorner { sheet: o.board, node: (index(p.x), index(p.y)) }
        })
        .collect()
}

/// Seconds of each stage.
struct Clock {
    last: Instant,
    seconds: Vec<(&'static str, f64)>,
}

impl Clock {
    fn start() -> Self {
        Self { last: Instant::now(), seconds: Vec::new() }
    }

    fn lap(&mut self, stage: &'static str) {
        let now = Instant::now();
        self.seconds.push((stage, (now - self.last).as_secs_f64()));
        self.last = now;
    }
}
