//! Sheets found in a photograph: tags first.

use super::cells::{self, Tag};
use super::corners;
use crate::geometry::Point;
use crate::photo::{Grey, Photo};

/// The first look works on at most this many reduced pixels: more is slower, fewer misses tags whose
/// squares are under 22 pixels wide there.
const FIRST_LOOK_PIXELS: usize = 3_600_000;
/// Fewer tags than this at the first look and a finer and a coarser one follow.
const TAGS_ENOUGH: usize = 12;

/// What a first look at a photograph finds of the sheets.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Finds {
    /// The tags read.
    pub tags: Vec<Tag>,
    /// All places that look like checker corners, of tags read or not, photograph pixels (to about half a pixel).
    pub corners: Vec<LooseCorner>,
}

/// A checker corner not yet known to be of any sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LooseCorner {
    /// Place, photograph pixels.
    pub at: Point,
    /// Direction of the light squares' diagonal, radians, 0 to π.
    pub light_axis: f64,
    /// Luma half way between the dark and the light squares.
    pub middle: f64,
}

/// All tags and checker corners of the sheets in the photograph.
#[must_use]
pub fn find(photo: &Photo) -> Finds {
    let mut factor = 1;
    while (photo.width / factor) * (photo.height / factor) > FIRST_LOOK_PIXELS {
        factor += 1;
    }
    let mut best = look(photo, factor);
    for other in [factor.div_ceil(2), 2 * factor] {
        if best.tags.len() < TAGS_ENOUGH && other != factor {
            let found = look(photo, other);
            if found.tags.len() > best.tags.len() {
                best = found;
            }
        }
    }
    best
}

fn look(photo: &Photo, factor: usize) -> Finds {
    let grey = Grey::of(photo, factor);
    let corners = corners::corners(&grey);
    let tags = cells::tags(photo, &grey, &corners);
    let corners = corners
        .iter()
        .map(|c| LooseCorner {
            at: Point::new(grey.photo_from_grey(c.x), grey.photo_from_grey(c.y)),
            light_axis: c.light_axis,
            middle: c.middle,
        })
        .collect();
    Finds { tags, corners }
}
