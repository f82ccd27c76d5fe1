//! Sheets and cameras from photographs: tags, corners, joint solve, then every corner that the solve
//! predicts, refined in the full photograph, and the solve again.

use super::mats::Mats;
use super::slivers;
use crate::camera::{CameraError, Observation, PhotoFacts, Place, Priors, Relief, Solution, relieve, solve};
use crate::geometry::{Point, Rect, Vec2};
use crate::outline::PlacedSheet;
use crate::photo::{Photo, edge_width_px};
use crate::sheet::{self, Finds, Scale, Tag, layout};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// Why no camera came of the photographs.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum LocateError {
    /// No tag was read.
    #[error(
        "no calibration sheet can be read in photograph {photo}; is the garment lying on the printed sheets, in focus, \
         and with light on them? Go nearer, or print the sheets with `onfold grid`"
    )]
    NoSheets {
        /// Photograph, from 1.
        photo: usize,
    },
    /// Too blurred to read the sheets.
    #[error(
        "photograph {photo} is blurred: its edges are {width_px:.1} px wide, 1 to 2 px is sharp; hold the camera still \
         against something, give it more light, tap to focus on the sheets, and take it again"
    )]
    Blurred {
        /// Photograph, from 1.
        photo: usize,
        /// Width of its edges, pixels.
        width_px: f64,
    },
    /// Some tags, too few to work with.
    #[error(
        "only {sheets} sheet(s) with {tags} marks can be read in photograph {photo}; lay a ring of sheets under the \
         garment's outline, so that each shows at least a few of its squares"
    )]
    TooFew {
        /// Photograph, from 1.
        photo: usize,
        /// Sheets read.
        sheets: usize,
        /// Tags read.
        tags: usize,
    },
    /// From the solve.
    #[error(transparent)]
    Camera(#[from] CameraError),
}

/// A sheet as found.
#[derive(Debug, Clone, PartialEq)]
pub struct SheetFound {
    /// Sheet number, from 0 (printed: from 1).
    pub number: usize,
    /// Its place on the table.
    pub place: Place,
    /// Corners used.
    pub corners: usize,
    /// How it departs from the table's plane.
    pub relief: Relief,
    /// Root mean square of its corners' residuals, pixels.
    pub residual_px: f64,
}

/// The outcome.
#[derive(Debug, Clone, PartialEq)]
pub struct Located {
    /// Cameras, places by sheet number, residuals.
    pub solution: Solution,
    /// The observations the solve used, in its order; a board's index is its sheet number.
    pub observations: Vec<Observation>,
    /// Sheets of which corners are seen, by number.
    pub sheets: Vec<SheetFound>,
    /// All sheets whose places are known, those under the garment too when a mat tells of them.
    pub placed: Vec<PlacedSheet>,
    /// Which lens took each photograph: those with the same number share one.
    pub lenses: Vec<usize>,
    /// Print scale used.
    pub scale: Scale,
    /// Tags read in all photographs.
    pub tags: usize,
}

/// Fewest tags in a photograph for a start.
const TAGS_LEAST: usize = 6;
/// Fewest sheets: one alone cannot surround a garment.
const SHEETS_LEAST: usize = 2;
/// With fewer tags than this the photograph's sharpness is looked at.
const TAGS_SURE: usize = 40;
/// Edges wider than this are blurred, pixels: sharp photographs have 1 to 2, and corners lose their hundredths.
const BLURRED_PX: f64 = 3.0;
/// Expected standard deviation of a refined corner, pixels (measured on renders: 0.03 to 0.1).
const CORNER_SIGMA_PX: f64 = 0.08;
/// A predicted corner is looked for within this part of its square's width.
const REACH: f64 = 0.08;
/// A corner whose saddle is weaker than this part of its sheet's median is covered or blurred.
const STRENGTH_LEAST: f64 = 0.35;
/// Largest turn of the light axis against the prediction, radians.
const AXIS_TURN: f64 = 0.35;

/// Finds the sheets in all photographs and solves for the cameras.
///
/// # Errors
/// [`LocateError`], which says which photograph and what to do.
pub fn locate(photos: &[Photo], scale: Scale) -> Result<Located, LocateError> {
    let finds: Vec<Finds> = photos.iter().map(sheet::find).collect();
    locate_found(photos, &finds, scale)
}

/// The same with the tags of each photograph read already.
pub(super) fn locate_found(photos: &[Photo], finds: &[Finds], scale: Scale) -> Result<Located, LocateError> {
    let facts: Vec<PhotoFacts> = facts(&photos.iter().collect::<Vec<_>>());
    for (i, found) in finds.iter().map(|f| &f.tags).enumerate() {
        let mut sheets: Vec<usize> = found.iter().map(|t| t.sheet).collect();
        sheets.dedup();
        if found.len() < TAGS_SURE {
            // Before the layout is blamed: a blurred picture shows few tags too.
            if let Some(width_px) = edge_width_px(&photos[i]).filter(|w| *w > BLURRED_PX) {
                return Err(LocateError::Blurred { photo: i + 1, width_px });
            }
        }
        if found.is_empty() {
            return Err(LocateError::NoSheets { photo: i + 1 });
        }
        if found.len() < TAGS_LEAST || sheets.len() < SHEETS_LEAST {
            return Err(LocateError::TooFew { photo: i + 1, sheets: sheets.len(), tags: found.len() });
        }
    }
    let mut seen = Vec::new();
    for (photo, found) in finds.iter().enumerate() {
        seen.extend(from_tags(&photos[photo], photo, &found.tags, scale));
    }
    let priors = Priors::default();
    let mut first = solve(&facts, layout::SHEETS, &seen, &priors)?;
    for photo in 0..photos.len() {
        for (sheet, place) in slivers::slivers(&photos[photo], &finds[photo].corners, &first, photo, scale) {
            first.places[sheet] = first.places[sheet].or(Some(place));
        }
    }
    let mut refined = Vec::new();
    for photo in 0..photos.len() {
        refined.extend(predicted(&photos[photo], photo, &first, scale));
    }
    let (solution, mats) = joint(&facts, &priors, photos, &mut refined, scale)?;
    let sheets = (0..layout::SHEETS).filter_map(|number| sheet_found(number, &solution, &refined)).collect();
    let place = |number: usize| -> Option<PlacedSheet> {
        let (place, relief) = (solution.places[number]?, solution.reliefs[number]);
        Some(PlacedSheet { number, place, relief, own: mats.own(number) })
    };
    let placed = (0..layout::SHEETS).filter_map(place).collect();
    Ok(Located {
        solution,
        observations: refined,
        sheets,
        placed,
        lenses: facts.iter().map(|f| f.lens).collect(),
        scale,
        tags: finds.iter().map(|f| f.tags.len()).sum(),
    })
}

/// The solve from all corners: boards of one mat as one, then the sheets' heights and curls when the residuals ask for
/// them; corners that curl had kept out of reach are then looked for again. The observations stay those of sheets.
fn joint(
    facts: &[PhotoFacts],
    priors: &Priors,
    photos: &[Photo],
    refined: &mut Vec<Observation>,
    scale: Scale,
) -> Result<(Solution, Mats), LocateError> {
    let mut solution = solve(facts, layout::SHEETS, refined, priors)?;
    let mats = Mats::of(&solution.places, scale);
    let joined = |seen: &[Observation]| -> Vec<Observation> { seen.iter().map(|o| mats.joined(o)).collect() };
    let mut seen = joined(refined);
    if !mats.is_empty() {
        solution = solve(facts, layout::SHEETS, &seen, priors)?;
    }
    // A mat lies flat by its own weight.
    let pages: Vec<Option<Rect>> =
        (0..layout::SHEETS).map(|s| (!mats.holds(s)).then(|| page(scale))).collect();
    if let Some(relieved) = relieve(facts, &pages, &seen, priors, &solution) {
        let parted = part(relieved, &mats);
        let again: Vec<Observation> =
            (0..photos.len()).flat_map(|k| predicted(&photos[k], k, &parted, scale)).collect();
        seen = joined(&again);
        // With more of the curled corners seen the flat table fits no better: only what is solved counts.
        let flat = Solution { misfit: f64::INFINITY, ..parted };
        if let Some(second) = relieve(facts, &pages, &seen, priors, &flat) {
            *refined = again;
            return Ok((part(second, &mats), mats));
        }
    }
    Ok((part(solution, &mats), mats))
}

/// A solution of mats as one of sheets.
fn part(solution: Solution, mats: &Mats) -> Solution {
    let places = mats.parted(&solution.places);
    let relief = |s: usize| match mats.holds(s) {
        true => Relief::level(solution.reliefs[mats.stands_for(s)].height_mm),
        false => solution.reliefs[s],
    };
    let reliefs = (0..layout::SHEETS).map(relief).collect();
    Solution { places, reliefs, ..solution }
}

/// The page that may curl, in the board's frame, true millimetres: the smaller of the two papers' everywhere.
fn page(scale: Scale) -> Rect {
    let side = |k: fn(Point) -> f64| {
        [layout::Paper::A4, layout::Paper::Letter]
            .map(|p| k(p.board_origin_mm()))
            .into_iter()
            .fold(f64::MAX, f64::min)
    };
    let (x, y) = (side(|p| p.x), side(|p| p.y));
    let corner = |x: f64, y: f64| scale.true_from_nominal(Point::new(x, y));
    Rect::from_points(corner(-x, -y), corner(layout::BOARD_WIDTH_MM + x, layout::BOARD_HEIGHT_MM + y))
}

/// Photographs of one size, taken with the same camera, lens and focal length, share a lens.
pub(super) fn facts(photos: &[&Photo]) -> Vec<PhotoFacts> {
    let same = |a: &Photo, b: &Photo| {
        let kind = |p: &Photo| (p.width, p.height, p.focal_35mm);
        a.taken_with.is_some() && a.taken_with == b.taken_with && kind(a) == kind(b)
    };
    let mut first_of_lens: Vec<&Photo> = Vec::new();
    photos
        .iter()
        .map(|p| {
            let lens = first_of_lens.iter().position(|f| same(f, p)).unwrap_or_else(|| {
                first_of_lens.push(p);
                first_of_lens.len() - 1
            });
            PhotoFacts { width: p.width, height: p.height, lens, focal_35mm: p.focal_35mm }
        })
        .collect()
}

/// Nodes of the checker lattice: column 0 to 9, row 0 to 12.
pub(super) fn node_place(node: (i32, i32)) -> Point {
    Point::new(f64::from(node.0) * layout::SQUARE_MM, f64::from(node.1) * layout::SQUARE_MM)
}

/// The corners of the squares that tags were read in, each once, refined.
pub(super) fn from_tags(photo: &Photo, index: usize, tags: &[Tag], scale: Scale) -> Vec<Observation> {
    let mut nodes: BTreeMap<(usize, (i32, i32)), (Point, f64)> = BTreeMap::new();
    for tag in tags {
        let (column, row) = layout::tag_cell(tag.tag);
        let width =
            (0..4).map(|k| tag.corners[k].distance(tag.corners[(k + 1) % 4])).fold(f64::INFINITY, f64::min);
        for (k, (dx, dy)) in [(0, 0), (1, 0), (1, 1), (0, 1)].into_iter().enumerate() {
            nodes.insert((tag.sheet, (column + dx, row + dy)), (tag.corners[k], width));
        }
    }
    let nodes: Vec<_> = nodes.into_iter().collect();
    nodes
        .into_par_iter()
        .filter_map(|((sheet, node), (at, width))| {
            let found = sheet::refine_corner(photo, at, sheet::window_px(width), 0.12 * width)?;
            let on_board = scale.true_from_nominal(node_place(node));
            Some(Observation {
                photo: index,
                board: sheet,
                on_board,
                pixel: found.at,
                sigma_px: CORNER_SIGMA_PX,
            })
        })
        .collect()
}

/// Every corner of the placed sheets that the photograph shows, refined from where the solve predicts it.
fn predicted(photo: &Photo, index: usize, solution: &Solution, scale: Scale) -> Vec<Observation> {
    let camera = &solution.cameras[index];
    let nodes: Vec<(usize, (i32, i32))> = (0..layout::SHEETS)
        .filter(|&s| solution.places[s].is_some())
        .flat_map(|s| (0..=layout::ROWS).flat_map(move |r| (0..=layout::COLUMNS).map(move |c| (s, (c, r)))))
        .collect();
    let found: Vec<(usize, f64, Observation)> = nodes
        .into_par_iter()
        .filter_map(|(sheet, node)| {
            let place = solution.places[sheet]?;
            let on_board = scale.true_from_nominal(node_place(node));
            let relief = solution.reliefs[sheet];
            let at = |d: Vec2| {
                let on_board = on_board + d;
                camera.pixel_from_table(place.table_from_board(on_board), relief.height_at(on_board))
            };
            let start = at(Vec2::ZERO)?;
            if !camera.sees(start) {
                return None;
            }
            let half = layout::SQUARE_MM / 2.0;
            let across = at(Vec2::new(half, 0.0))? - at(Vec2::new(-half, 0.0))?;
            let down = at(Vec2::new(0.0, half))? - at(Vec2::new(0.0, -half))?;
            let width = across.hypot().min(down.hypot());
            let refined = sheet::refine_corner(photo, start, sheet::window_px(width), REACH * width)?;
            // Light squares lie up-right and down-left of nodes whose column and row add up to an even number.
            let sign = if (node.0 + node.1) % 2 == 0 { -1.0 } else { 1.0 };
            // However the square is foreshortened, the axis halves the angle of its sides: it is not their diagonal.
            let axis = across.normalize() + sign * down.normalize();
            let turn = (refined.light_axis - axis.atan2()).rem_euclid(std::f64::consts::PI);
            let turn = turn.min(std::f64::consts::PI - turn);
            let observation = Observation {
                photo: index,
                board: sheet,
                on_board,
                pixel: refined.at,
                sigma_px: CORNER_SIGMA_PX,
            };
            (turn < AXIS_TURN).then_some((sheet, refined.strength, observation))
        })
        .collect();
    let mut medians = BTreeMap::new();
    for sheet in 0..layout::SHEETS {
        let mut strengths: Vec<f64> = found.iter().filter(|f| f.0 == sheet).map(|f| f.1).collect();
        strengths.sort_by(f64::total_cmp);
        if !strengths.is_empty() {
            medians.insert(sheet, strengths[strengths.len() / 2]);
        }
    }
    found.into_iter().filter(|f| f.1 > STRENGTH_LEAST * medians[&f.0]).map(|f| f.2).collect()
}

fn sheet_found(number: usize, solution: &Solution, seen: &[Observation]) -> Option<SheetFound> {
    let place = solution.places[number]?;
    let mine: Vec<usize> = (0..seen.len()).filter(|&i| seen[i].board == number).collect();
    if mine.is_empty() {
        return None;
    }
    let squares: f64 = mine.iter().map(|&i| solution.weights[i] * solution.residuals[i].hypot2()).sum();
    let total: f64 = mine.iter().map(|&i| solution.weights[i]).sum();
    let residual_px = (squares / total.max(1e-9)).sqrt();
    Some(SheetFound { number, place, relief: solution.reliefs[number], corners: mine.len(), residual_px })
}
