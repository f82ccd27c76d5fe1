//! The joint solve: all photographs' lenses and poses and all boards' places together.
//!
//! Least squares on the pixel residuals with weak priors on the lens, by Levenberg-Marquardt with analytic
//! derivatives (B. Triggs, P. McLauchlan, R. Hartley and A. Fitzgibbon, "Bundle adjustment: a modern
//! synthesis", 2000, doi:10.1007/3-540-44480-7_21); outliers are weighed down by Cauchy's weights whose
//! scale follows the residuals' median.

use super::problem::Problem;
use super::{Camera, Lens, Place, Relief, start};
use crate::geometry::{Point, Rect, Vec2};

/// One board corner seen in one photograph.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Observation {
    /// Which photograph.
    pub photo: usize,
    /// Which board.
    pub board: usize,
    /// Where on the board, true millimetres (print scale already applied).
    pub on_board: Point,
    /// Where in the photograph, pixels.
    pub pixel: Point,
    /// Its expected standard deviation, pixels.
    pub sigma_px: f64,
}

/// What is known of a photograph before the solve.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct PhotoFacts {
    /// Width, pixels.
    pub width: usize,
    /// Height, pixels.
    pub height: usize,
    /// Which lens took it: photographs with the same number share one.
    pub lens: usize,
    /// Focal length as if on 36 x 24 mm film, millimetres.
    pub focal_35mm: Option<u16>,
}

/// Standard deviations of what is believed of a lens beforehand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Priors {
    /// Focal length, relative to what EXIF says: whole millimetres and cropping make it 10 % at best.
    pub focal: f64,
    /// Principal point, relative to the longer side: stabilised lenses wander by a percent.
    pub centre: f64,
    /// k1, k2, k3: phones correct their pictures before they save them, so these are small.
    pub radial: [f64; 3],
    /// p1 and p2.
    pub tangential: f64,
    /// Departure from square pixels.
    pub aspect: f64,
}

impl Default for Priors {
    fn default() -> Self {
        Self { focal: 0.1, centre: 0.01, radial: [0.3, 0.3, 0.1], tangential: 0.002, aspect: 2e-4 }
    }
}

/// Why the camera could not be found.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum CameraError {
    /// Too few corners for the unknowns.
    #[error(
        "only {seen} sheet corners are seen in photograph {photo}; at least {needed} are needed: lay more sheets, or go nearer"
    )]
    TooFew {
        /// Photograph, from 1.
        photo: usize,
        /// Corners seen.
        seen: usize,
        /// Corners needed.
        needed: usize,
    },
    /// A photograph shares no sheet with the others.
    #[error(
        "photograph {photo} shares no sheet with the others; let neighbouring photographs show two of the same sheets"
    )]
    Apart {
        /// Photograph, from 1.
        photo: usize,
    },
    /// The solve did not settle on a camera.
    #[error(
        "the sheets in the photograph do not agree with any camera; check that they lie flat and that no number is used twice"
    )]
    NoAgreement,
}

/// The solved cameras and boards.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// A camera for each photograph.
    pub cameras: Vec<Camera>,
    /// A place for each board; `None` for a board that was not seen.
    pub places: Vec<Option<Place>>,
    /// How each board departs from the table's plane.
    pub reliefs: Vec<Relief>,
    /// Residual of each observation, pixels, in the order given: seen less predicted.
    pub residuals: Vec<Vec2>,
    /// Weight of each observation at the end, 0 (outlier) to 1.
    pub weights: Vec<f64>,
    /// Root mean square length of the weighted residuals, pixels.
    pub rms_px: f64,
    /// Weighted squares of the residuals over their degrees of freedom, in the observations' variances.
    pub misfit: f64,
    /// Standard deviation of each lens's focal length, pixels.
    pub focal_sigma_px: Vec<f64>,
}

/// Fewest corners of a photograph: two squares' worth beyond the nine unknowns of lens and pose.
const CORNERS_LEAST: usize = 12;
/// Focal lengths tried when EXIF tells none, over the longer side: from a wide phone to a short tele.
const FOCALS_TRIED: [f64; 5] = [0.6, 0.75, 0.95, 1.2, 1.6];

/// Solves for everything together. Boards are numbered from 0 to `boards` - 1. The table frame is that of
/// the board with the most corners, turned so that the first photograph's right is the table's right.
///
/// # Errors
/// [`CameraError`], which says which photograph and what to do.
pub fn solve(
    photos: &[PhotoFacts],
    boards: usize,
    seen: &[Observation],
    priors: &Priors,
) -> Result<Solution, CameraError> {
    for photo in 0..photos.len() {
        let count = seen.iter().filter(|o| o.photo == photo).count();
        if count < CORNERS_LEAST {
            return Err(CameraError::TooFew { photo: photo + 1, seen: count, needed: CORNERS_LEAST });
        }
    }
    let home = home(boards, seen).ok_or(CameraError::NoAgreement)?;
    let lens_count = photos.iter().map(|p| p.lens + 1).max().unwrap_or(0);
    let known = photos.iter().find_map(expected_focal_px);
    let tries: Vec<f64> = if known.is_some() { vec![1.0] } else { FOCALS_TRIED.to_vec() };
    let mut best: Option<(f64, Problem<'_>)> = None;
    let mut apart = None;
    for focal in tries {
        let lenses: Vec<Lens> = (0..lens_count)
            .map(|lens| {
                let photo = photos.iter().find(|p| p.lens == lens).unwrap_or(&photos[0]);
                first_lens(
                    photo,
                    known.or_else(|| expected_focal_px(photo)).unwrap_or(focal * longer_side(photo)),
                )
            })
            .collect();
        let begun = start::start(photos, boards, seen, &lenses, home);
        if let Some(photo) = begun.cameras.iter().position(Option::is_none) {
            apart = Some(photo + 1);
            continue;
        }
        let cameras: Vec<Camera> = begun.cameras.into_iter().flatten().collect();
        let mut problem = Problem::new(photos, seen, priors, lenses, cameras, begun.places, home);
        let cost = problem.settle();
        if cost.is_finite() && best.as_ref().is_none_or(|b| cost < b.0) {
            best = Some((cost, problem));
        }
    }
    match (best, apart) {
        (Some((_, problem)), _) => Ok(problem.finish()),
        (None, Some(photo)) => Err(CameraError::Apart { photo }),
        (None, None) => Err(CameraError::NoAgreement),
    }
}

/// The board with the most corners.
fn home(boards: usize, seen: &[Observation]) -> Option<usize> {
    (0..boards).max_by_key(|&b| (seen.iter().filter(|o| o.board == b).count(), usize::MAX - b))
}

/// The residuals must fall to this part of what they are on a flat table before boards are believed to lie higher or to
/// be curled. Raising it lets noise bend flat sheets, which costs the camera some of its certainty.
const RELIEF_GAIN: f64 = 0.97;

/// Solves once more from a solution, with every board's height and the lifts of its corners unknown too: sheets lie
/// on one another, and paper curls. `pages` are the boards' pages in their frames, for those that may curl. `None` when
/// the residuals do not ask for it. The table's plane is then that of the highest boards.
#[must_use]
pub fn relieve(
    photos: &[PhotoFacts],
    pages: &[Option<Rect>],
    seen: &[Observation],
    priors: &Priors,
    from: &Solution,
) -> Option<Solution> {
    let home = home(pages.len(), seen)?;
    let lens_count = photos.iter().map(|p| p.lens + 1).max().unwrap_or(0);
    let lenses = (0..lens_count)
        .map(|lens| {
            let k = photos.iter().position(|p| p.lens == lens).unwrap_or(0);
            let known = expected_focal_px(&photos[k]).or_else(|| photos.iter().find_map(expected_focal_px));
            first_lens(&photos[k], known.unwrap_or(from.cameras[k].lens.focal_px))
        })
        .collect();
    let observed = |board: usize| seen.iter().any(|o| o.board == board);
    let places = (0..pages.len()).map(|b| from.places[b].filter(|_| observed(b))).collect();
    let problem = Problem::new(photos, seen, priors, lenses, from.cameras.clone(), places, home);
    let mut problem = problem.relieved(from, pages);
    problem.settle();
    let solution = problem.finish();
    (solution.misfit < RELIEF_GAIN * from.misfit).then_some(solution)
}

#[expect(clippy::cast_precision_loss, reason = "picture sizes are far below 2^52")]
pub(super) fn longer_side(photo: &PhotoFacts) -> f64 {
    photo.width.max(photo.height) as f64
}

/// Focal length in pixels by EXIF: the diagonal of 36 x 24 mm film is 43.27 mm (CIPA DCG-001).
#[expect(clippy::cast_precision_loss, reason = "picture sizes are far below 2^52")]
pub(super) fn expected_focal_px(photo: &PhotoFacts) -> Option<f64> {
    let diagonal = (photo.width as f64).hypot(photo.height as f64);
    photo.focal_35mm.map(|f| f64::from(f) * diagonal / 36f64.hypot(24.0))
}

#[expect(clippy::cast_precision_loss, reason = "picture sizes are far below 2^52")]
fn first_lens(photo: &PhotoFacts, focal_px: f64) -> Lens {
    Lens {
        focal_px,
        aspect: 0.0,
        centre: Point::new((photo.width - 1) as f64 / 2.0, (photo.height - 1) as f64 / 2.0),
        radial: [0.0; 3],
        tangential: [0.0; 2],
    }
}
