//! Sheets found in a photograph: tags first.

use super::cells::{self, Tag};
use super::corners;
use crate::photo::{Grey, Photo};

/// The first look works on at most this many reduced pixels: more is slower, fewer misses tags whose
/// squares are under 22 pixels wide there.
const FIRST_LOOK_PIXELS: usize = 3_600_000;
/// Fewer tags than this at the first look and a finer and a coarser one follow.
const TAGS_ENOUGH: usize = 12;

/// All tags of the sheets in the photograph.
#[must_use]
pub fn find_tags(photo: &Photo) -> Vec<Tag> {
    let mut factor = 1;
    while (photo.width / factor) * (photo.height / factor) > FIRST_LOOK_PIXELS {
        factor += 1;
    }
    let mut best = look(photo, factor);
    for other in [factor.div_ceil(2), 2 * factor] {
        if best.len() < TAGS_ENOUGH && other != factor {
            let found = look(photo, other);
            if found.len() > best.len() {
                best = found;
            }
        }
    }
    best
}

fn look(photo: &Photo, factor: usize) -> Vec<Tag> {
    let grey = Grey::of(photo, factor);
    cells::tags(photo, &grey, &corners::corners(&grey))
}
