//! The outline: a photograph, its camera and the placed sheets enter; closed lines in millimetres on the
//! table leave, with a standard deviation at each point.
//!
//! What the paper looks like is known: every cell of the table that a sheet covers has an expected colour.
//! 1. `backdrop` draws the sheets as the camera should see them, in the light that the visible checker
//!    corners show.
//! 2. `region` decides cell by cell (a few millimetres) between cloth, sheet and floor, and joins the
//!    cells by the shortest boundary that the evidence allows.
//! 3. `edge` looks along the boundary's normals in the photograph itself, finds the way from cloth to
//!    sheet by dynamic programming, then the place of the step to a fraction of a pixel.
//! 4. `hole` keeps the region's openings that prove to show the sheets; their lines are found as the outer one is.
//!    `eyelet` looks in the photograph for round holes, punched or with a metal ring, and fits circles to them.

mod backdrop;
mod banded;
mod blur;
mod bridge;
mod chroma;
mod circle;
mod colour;
mod contour;
mod doubt;
mod edge;
mod edge_light;
mod evened;
mod eyelet;
mod flank;
mod half_way;
mod hole;
mod hull;
mod kink;
mod light;
mod look;
mod opening;
mod path;
mod region;
mod section;
mod segment;
mod shade;
mod smooth;
mod spot;
mod step;
mod step_costs;
mod strap;
mod table;
mod unplaced;
mod vertex;
mod views;

use crate::camera::{Camera, Place, Relief};
use crate::geometry::{Point, Rect, Trace};
use crate::photo::Photo;
use crate::sheet::Scale;

/// A sheet lying on the table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlacedSheet {
    /// Sheet number, from 0.
    pub number: usize,
    /// Its place.
    pub place: Place,
    /// How it departs from the table's plane.
    pub relief: Relief,
    /// The part of its frame, nominal millimetres, in which no other board is printed beside it.
    pub own: Rect,
}

/// A checker corner that the photograph shows: it proves sheet all round it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct VisibleCorner {
    /// Sheet number, from 0.
    pub sheet: usize,
    /// Column 0 to 9 and row 0 to 12 of the lattice.
    pub node: (i32, i32),
}

/// How the garment's edge is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EdgeKind {
    /// A hem or a turned edge: rounded.
    Folded,
    /// Cut square through, as leather is.
    Cut,
    /// Paper or card, cut: of one tint all over.
    Paper,
}

/// What the tracing needs to be told.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wish {
    /// Thickness of the garment's edge, millimetres.
    pub thickness_mm: f64,
    /// How its edge is made.
    pub edge: EdgeKind,
    /// Arms of the silhouette narrower than this are left out (straps), millimetres.
    pub trim_narrower_mm: Option<f64>,
}

/// What lies on the table.
#[derive(Debug, Clone)]
pub struct Scene<'a> {
    /// The photograph.
    pub photo: &'a Photo,
    /// Its camera.
    pub camera: &'a Camera,
    /// The sheets.
    pub sheets: &'a [PlacedSheet],
    /// Print scale of the sheets.
    pub scale: Scale,
    /// Corners seen.
    pub corners: &'a [VisibleCorner],
}

/// Why there is no outline.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum OutlineError {
    /// Nothing lies on the sheets.
    #[error(
        "the sheets are found, but no garment lies on them; lay it so that its outline runs over the sheets"
    )]
    Nothing,
    /// More than one thing lies there.
    #[error(
        "{count} separate things lie on the sheets, at {places}; photograph one garment at a time, with its straps tucked under"
    )]
    Several {
        /// How many.
        count: usize,
        /// Where, in words.
        places: String,
    },
    /// The garment leaves the picture.
    #[error(
        "the garment runs out of the photograph at the {side}; step back until all of it and a hand's breadth of sheet round it are in view"
    )]
    OutOfPhoto {
        /// Which side.
        side: String,
    },
    /// The garment leaves the sheets.
    #[error(
        "the garment runs off the sheets at the {side} ({off_mm:.0} mm of its outline); lay more sheets under its outline there"
    )]
    OffSheets {
        /// Which side.
        side: String,
        /// Length of outline off the sheets, millimetres.
        off_mm: f64,
    },
    /// Too much of the edge cannot be seen.
    #[error(
        "over {unseen_mm:.0} mm of {whole_mm:.0} mm the garment cannot be told from what lies beside it, most of it at the \
         {side}; lay sheets under all of its edge, or take the photograph in colour and in better light"
    )]
    Unseen {
        /// Length of outline without an edge, millimetres.
        unseen_mm: f64,
        /// Length of the outline, millimetres.
        whole_mm: f64,
        /// Where the longest stretch is.
        side: String,
    },
}

/// The outlines of one garment.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline {
    /// The outer line.
    pub outer: Trace,
    /// Inner lines (holes).
    pub holes: Vec<Trace>,
}

/// When more than this part of an outline shows no edge, it is not believed: sharp outlines that are right leave a tenth
/// at the most.
const UNSEEN_MOST: f64 = 0.3;

/// Traces the garment in photographs of one table: every scene has the same sheets and scale.
///
/// # Errors
/// [`OutlineError`], which says what was seen and what to do.
pub fn trace(scenes: &[Scene<'_>], wish: &Wish) -> Result<Outline, OutlineError> {
    if scenes.is_empty() {
        return Err(OutlineError::Nothing);
    }
    let mut backdrops: Vec<backdrop::Backdrop> = scenes.iter().map(backdrop::Backdrop::new).collect();
    // A corner that one photograph shows lies bare in all of them.
    let corners: Vec<Point> = backdrops.iter().flat_map(|b| b.corners.iter().copied()).collect();
    for backdrop in &mut backdrops {
        backdrop.corners.clone_from(&corners);
    }
    let tables: Vec<table::Table> =
        scenes.iter().zip(&backdrops).map(|(scene, backdrop)| table::Table::new(scene, backdrop)).collect();
    let mut region = region::find(scenes, &backdrops, &tables, wish)?;
    for (backdrop, unplaced) in backdrops.iter_mut().zip(std::mem::take(&mut region.unplaced)) {
        backdrop.unplaced = Some(unplaced);
    }
    let mut views = views::Views::new(scenes, &backdrops, &mut region, wish);
    let outer = edge::refine(&mut views, &region);
    if outer.bridged_mm() > UNSEEN_MOST * outer.length_mm() {
        let side = outer.longest(|p| p.bridged).map_or_else(|| "edge".into(), |b| side_in_words(scenes, b.0));
        return Err(OutlineError::Unseen {
            unseen_mm: outer.bridged_mm(),
            whole_mm: outer.length_mm(),
            side,
        });
    }
    let mut holes: Vec<Trace> = Vec::new();
    for opening in std::mem::take(&mut region.openings) {
        // Views learn the rim of each line they follow; an opening's rim is not to change another's.
        let ring = edge::refine(&mut views.clone(), &region::Region::of_opening(opening));
        if ring.bridged_mm() <= UNSEEN_MOST * ring.length_mm() {
            holes.push(ring);
        }
    }
    holes.extend(eyelet::find(scenes, &backdrops, &region.cloth, wish));
    Ok(Outline { outer, holes })
}

/// Words for where a place lies as seen in the first upright photograph that shows it.
pub(crate) fn side_in_words(scenes: &[Scene<'_>], at: Point) -> String {
    let seen: Vec<(&Camera, Point)> =
        scenes.iter().filter_map(|s| Some((s.camera, s.camera.pixel_from_table(at, 0.0)?))).collect();
    let shown = seen.iter().find(|(camera, pixel)| camera.sees(*pixel)).or(seen.first());
    let Some(&(camera, pixel)) = shown else { return "edge".into() };
    #[expect(clippy::cast_precision_loss, reason = "picture sizes are far below 2^52")]
    let (u, v) = (pixel.x / camera.width as f64 - 0.5, pixel.y / camera.height as f64 - 0.5);
    let across = if u < 0.0 { "left" } else { "right" };
    let down = if v < 0.0 { "top" } else { "bottom" };
    // Near a corner both words are told.
    if u.abs() > 2.0 * v.abs() {
        across.into()
    } else if v.abs() > 2.0 * u.abs() {
        down.into()
    } else {
        format!("{down} {across}")
    }
}
