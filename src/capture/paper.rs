//! A paper pattern: its outer line, inner lines and marks; or, of a card cut to shape, its silhouette with what is drawn
//! on it.

use super::{
    CaptureError, Captured, CapturedRing, Clock, Located, Looked, Request, Stage, fitted, locate, located_of,
    pictures, report, scale, visible_corners,
};
use crate::geometry::{Point, Trace, Vec2};
use crate::ink::{self, Ink, InkError, Inner};
use crate::outline::{self, EdgeKind, Scene, Wish};
use crate::photo::{self, Limits, Photo};

/// What the capture of a paper pattern gives.
#[derive(Debug, Clone, PartialEq)]
pub struct CapturedPaper {
    /// The outer line, report and pictures, as of a garment.
    pub captured: Captured,
    /// Inner lines and marks, on the table.
    pub inner: Vec<Inner>,
    /// True when the outer line is drawn, false when the paper is cut to shape.
    pub drawn: bool,
    /// The way on the table that is up in the first photograph, of length 1.
    pub up: Vec2,
    /// Strokes left out as handwriting or stains.
    pub left_out: usize,
    /// Length of the paper's own edge in the outer line, where that is the drawing's fold, millimetres.
    pub paper_fold_mm: Option<f64>,
}

/// A silhouette with corners for more than this part of its length straight is a sheet of paper, not a shape.
const SHEET_CORNERS: usize = 4;

/// Captures a paper pattern; several photographs must show the same table, the drawing is read in the first.
///
/// # Errors
/// [`CaptureError`], which says what was seen and what to do.
pub fn capture_paper(
    photos: &[Vec<u8>],
    request: &Request,
    mut tell: impl FnMut(Stage),
) -> Result<CapturedPaper, CaptureError> {
    if photos.is_empty() {
        return Err(CaptureError::NoPhotos);
    }
    let scale = scale(request)?;
    let mut clock = Clock::start();
    tell(Stage::Decode);
    let photos = photos
        .iter()
        .enumerate()
        .map(|(k, bytes)| {
            photo::decode(bytes, Limits::default())
                .map_err(|error| CaptureError::Photo { photo: k + 1, error })
        })
        .collect::<Result<Vec<_>, _>>()?;
    clock.lap("decode");
    tell(Stage::Sheets);
    let located = locate(&photos, scale)?;
    clock.lap("sheets");
    read(&photos, &located, request, clock, tell)
}

/// The same of photographs that were looked at already.
///
/// # Errors
/// As [`capture_paper`].
pub fn capture_paper_looked(
    looked: Vec<Looked>,
    request: &Request,
    tell: impl FnMut(Stage),
) -> Result<CapturedPaper, CaptureError> {
    let (photos, located, clock) = located_of(looked, request)?;
    read(&photos, &located, request, clock, tell)
}

/// From the sheets' places to what is drawn.
fn read(
    photos: &[Photo],
    located: &Located,
    request: &Request,
    mut clock: Clock,
    mut tell: impl FnMut(Stage),
) -> Result<CapturedPaper, CaptureError> {
    let scale = located.scale;
    tell(Stage::Outline);
    let corners: Vec<_> = (0..photos.len()).map(|photo| visible_corners(located, photo)).collect();
    let scenes: Vec<Scene<'_>> = photos
        .iter()
        .zip(&located.solution.cameras)
        .zip(&corners)
        .map(|((photo, camera), corners)| Scene { photo, camera, sheets: &located.placed, scale, corners })
        .collect();
    let wish = Wish { edge: EdgeKind::Paper, trim_narrower_mm: None, ..request.wish };
    let silhouette = outline::trace(&scenes, &wish)?;
    clock.lap("outline");
    let Ink { outer, inner, left_out, paper_fold_mm, .. } =
        ink::read(&scenes[0], &silhouette.outer.polyline(), request.wish.thickness_mm)?;
    clock.lap("ink");
    tell(Stage::Curves);
    let drawn = outer.is_some();
    let trace: Trace = match outer {
        Some(trace) => trace,
        None => silhouette.outer,
    };
    let outer = CapturedRing { fitted: fitted(&trace, &request.tolerance)?, trace };
    if !drawn && inner.is_empty() && is_sheet(&outer) {
        return Err(InkError::Nothing.into());
    }
    let fit = |trace: &Trace| -> Result<CapturedRing, CaptureError> {
        Ok(CapturedRing { fitted: fitted(trace, &request.tolerance)?, trace: trace.clone() })
    };
    let holes: Vec<CapturedRing> =
        if drawn { Vec::new() } else { silhouette.holes.iter().map(fit).collect::<Result<_, _>>()? };
    clock.lap("curves");
    tell(Stage::Pictures);
    let mut pictures = pictures::draw(&scenes, located, &outer, &holes);
    pictures.extend(pictures::lines(&scenes, &outer, &inner));
    clock.lap("pictures");
    let up = up(&scenes[0], outer.fitted.ring.bounds().center());
    let report = report::report(&scenes, located, request, (&outer, &holes), clock.seconds);
    Ok(CapturedPaper {
        captured: Captured { outer, holes, report, pictures },
        inner,
        drawn,
        up,
        left_out,
        paper_fold_mm,
    })
}

/// The way on the table that is up in a photograph, at a place.
fn up(scene: &Scene<'_>, at: Point) -> Vec2 {
    let pixel = scene.camera.pixel_from_table(at, 0.0);
    let above = pixel.and_then(|p| scene.camera.table_from_pixel(p - Vec2::new(0.0, 50.0), 0.0));
    above.map_or(Vec2::new(0.0, -1.0), |p| (p - at).normalize())
}

/// Whether a silhouette is a plain sheet: four corners and its bounds nearly filled.
fn is_sheet(outer: &CapturedRing) -> bool {
    let (height, width) = super::measure::height_and_width(&outer.fitted.ring.flatten(0.05));
    outer.fitted.corners.len() <= SHEET_CORNERS && outer.fitted.ring.area_mm2() > 0.97 * height * width
}
