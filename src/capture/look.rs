//! A first look at one photograph of a drawer: decoded, its sheets' tags read; and whether two such photographs show one
//! garment.
//!
//! Two photographs show one garment when they were taken from different places over the same sheets, lying alike, and what
//! of the sheets is covered in one is covered in the other. A garment that was taken away, turned or changed for another
//! covers other squares.

use super::Request;
use super::locate::{facts, from_tags, node_place};
use crate::camera::{Camera, Priors, Solution, solve};
use crate::geometry::{Point, Vec2};
use crate::photo::{self, Limits, Photo, PhotoError};
use crate::sheet::{self, Finds, Scale, layout};
use std::collections::BTreeSet;
use std::time::Instant;

/// A photograph looked at.
#[derive(Debug)]
pub struct Looked {
    pub(super) photo: Photo,
    pub(super) finds: Finds,
    /// Seconds that decoding and reading the tags took.
    pub(super) seconds: [f64; 2],
}

/// Sheets that both photographs show, at the least: one alone tells nothing of how the others lie.
const COMMON_LEAST: usize = 2;
/// Corners of common sheets that lie alike depart from one place by less than this in the median, millimetres. Sheets that lay
/// still depart by 0.02 to 0.03, a bent one among them; nobody lays paper down again so well.
const ALIKE_MM: f64 = 0.2;
/// Cameras nearer to each other than this stood on one stand, millimetres: their photographs tell nothing more together.
const APART_MM: f64 = 25.0;
/// Squares' corners looked at, at the least.
const CORNERS_LEAST: usize = 60;
/// At most this part of the corners that both photographs could show is seen in one alone and covered in the other: along an
/// edge, where a thick garment hides another strip from each place. An apron 45 mm longer at its hem differs by 0.057.
const CONTRARY_MOST: f64 = 0.02;
/// A corner counts as seen when one was found within this part of its square.
const NEAR_PART: f64 = 0.2;
/// Light is looked at so far from a corner both ways, parts of a tag's white margin: all of it is one square's own.
const BESIDE: [f64; 3] = [0.4, 0.6, 0.8];
/// Squares differ by at least this part of their light where they are seen; half of what dim print leaves of it.
const STEP_LEAST: f64 = 0.15;
/// Nearer than this to a picture's edge nothing is said of a corner, part of the picture's width.
const EDGE_PART: f64 = 0.02;

impl Looked {
    /// Looks at the bytes of a picture file.
    ///
    /// # Errors
    /// [`PhotoError`].
    pub fn at(bytes: &[u8]) -> Result<Self, PhotoError> {
        let began = Instant::now();
        let photo = photo::decode(bytes, Limits::default())?;
        let decoded = began.elapsed().as_secs_f64();
        let finds = sheet::find(&photo);
        Ok(Self { photo, finds, seconds: [decoded, began.elapsed().as_secs_f64() - decoded] })
    }

    /// Seconds that the look took.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        self.seconds.iter().sum()
    }

    /// Numbers of its sheets, from 0.
    fn sheets(&self) -> BTreeSet<usize> {
        self.finds.tags.iter().map(|t| t.sheet).collect()
    }

    /// Over how many common sheets both photographs show one garment; `None` when they do not.
    #[must_use]
    pub fn one_garment_with(&self, other: &Self, request: &Request) -> Option<usize> {
        let scale = super::scale(request).ok()?;
        let common: BTreeSet<usize> = self.sheets().intersection(&other.sheets()).copied().collect();
        if common.len() < COMMON_LEAST {
            return None;
        }
        let both = [self, other];
        let mut seen = Vec::new();
        for (k, looked) in both.iter().enumerate() {
            seen.extend(from_tags(&looked.photo, k, &looked.finds.tags, scale));
        }
        let facts = facts(&both.map(|looked| &looked.photo));
        let solution = solve(&facts, layout::SHEETS, &seen, &Priors::default()).ok()?;
        let [a, b] = [0, 1].map(|k| solution.cameras[k]);
        if (a.centre() - b.centre()).norm() < APART_MM {
            return None;
        }
        let mut off: Vec<f64> = seen
            .iter()
            .zip(&solution.residuals)
            .filter(|(o, _)| common.contains(&o.board))
            .filter_map(|(o, r)| Some(r.hypot() / pixels_per_mm(&solution.cameras[o.photo], o.pixel)?))
            .collect();
        off.sort_by(f64::total_cmp);
        if off.get(off.len() / 2).is_none_or(|median| *median > ALIKE_MM) {
            return None;
        }
        let (alike, contrary) = compare(both, &common, &solution, scale);
        #[expect(clippy::cast_precision_loss, reason = "a few thousand corners")]
        let part = contrary as f64 / (alike + contrary).max(1) as f64;
        (alike >= CORNERS_LEAST && part <= CONTRARY_MOST).then_some(common.len())
    }
}

/// Pixels to a millimetre on the table at a pixel.
fn pixels_per_mm(camera: &Camera, pixel: Point) -> Option<f64> {
    let at = camera.table_from_pixel(pixel, 0.0)?;
    Some(camera.pixels_per_mm(at)?.determinant().abs().sqrt())
}

/// Of the corners of common sheets that both pictures could show: how many both do show, and how many only one, while the
/// other shows something else there. A corner that was missed although its squares are there is neither.
fn compare(
    both: [&Looked; 2],
    common: &BTreeSet<usize>,
    solution: &Solution,
    scale: Scale,
) -> (usize, usize) {
    let (mut alike, mut contrary) = (0, 0);
    for (sheet, row, column) in common
        .iter()
        .flat_map(|s| (1..layout::ROWS).flat_map(move |r| (1..layout::COLUMNS).map(move |c| (*s, r, c))))
    {
        let Some(place) = solution.places[sheet] else { continue };
        let on_table =
            |off: Vec2| place.table_from_board(scale.true_from_nominal(node_place((column, row)) + off));
        let shown = [0, 1].map(|k| shows(both[k], &solution.cameras[k], on_table(Vec2::ZERO)));
        if let [Some(a), Some(b)] = shown {
            alike += usize::from(a && b);
            if a != b {
                let step = [0, 1].map(|k| checks(both[k], &solution.cameras[k], &on_table));
                let there =
                    matches!(step, [Some(x), Some(y)] if x * y > 0.0 && x.abs().min(y.abs()) > STEP_LEAST);
                contrary += usize::from(!there);
            }
        }
    }
    (alike, contrary)
}

/// How much lighter the squares left above and right below a corner are than the other two, as a part of all their light; `None`
/// out of the picture. The sign says which of them are white.
fn checks(looked: &Looked, camera: &Camera, on_table: &impl Fn(Vec2) -> Point) -> Option<f64> {
    let (mut difference, mut sum) = (0.0, 0.0);
    for (x, y) in [(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)] {
        for part in BESIDE {
            let off = Vec2::new(x, y) * (part * layout::QUIET_MM);
            let at = camera.pixel_from_table(on_table(off), 0.0)?;
            let light = looked.photo.luma(at.x, at.y)?;
            difference += light * x * y;
            sum += light;
        }
    }
    Some(difference / f64::max(sum, 1.0))
}

/// Whether a photograph shows a checker corner at a place of the table; `None` out of its picture.
fn shows(looked: &Looked, camera: &Camera, at: Point) -> Option<bool> {
    let pixel = camera.pixel_from_table(at, 0.0)?;
    #[expect(clippy::cast_precision_loss, reason = "picture sizes are small")]
    let (right, bottom) = (looked.photo.width as f64, looked.photo.height as f64);
    let margin = EDGE_PART * right;
    let inside =
        pixel.x > margin && pixel.y > margin && pixel.x < right - margin && pixel.y < bottom - margin;
    let square_px = camera.pixels_per_mm(at)?.determinant().abs().sqrt() * layout::SQUARE_MM;
    inside.then(|| looked.finds.corners.iter().any(|c| c.at.distance(pixel) < NEAR_PART * square_px))
}
