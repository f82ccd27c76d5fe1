//! How sharp a photograph is.

use super::Photo;

/// Half length of the line on which an edge is measured, pixels.
const REACH: usize = 14;
/// Rows and columns between the places looked at, in a small picture.
const STRIDE: usize = 7;
/// Places looked at in a large one: enough edges for a quartile, and soon done.
const PLACES_MOST: usize = 60_000;
/// Least difference across an edge that is measured, grey levels.
const CONTRAST: i32 = 60;

/// Width of the photograph's sharper edges in pixels: the run from 20 % to 80 % of a strong edge's height,
/// the lower quartile over all that are found along rows and columns. A sharp photograph has 1 to 2; `None`
/// when there are too few strong edges to tell.
#[must_use]
pub fn edge_width_px(photo: &Photo) -> Option<f64> {
    let mut widths = Vec::new();
    let (w, h) = (photo.width, photo.height);
    let stride = (w * h / PLACES_MOST).isqrt().max(STRIDE);
    for y in (REACH..h.saturating_sub(REACH)).step_by(stride) {
        for x in (REACH..w.saturating_sub(REACH)).step_by(stride) {
            for (dx, dy) in [(1usize, 0usize), (0, 1)] {
                let at = |k: usize| i32::from(photo.at(x + k * dx - REACH * dx, y + k * dy - REACH * dy)[0]);
                widths.extend(width_of_edge(&at));
            }
        }
    }
    if widths.len() < 50 {
        return None;
    }
    widths.sort_by(f64::total_cmp);
    Some(widths[widths.len() / 4])
}

/// Width of the edge through the middle of a line of samples; `None` where no single strong edge is.
fn width_of_edge(at: &impl Fn(usize) -> i32) -> Option<f64> {
    let n = 2 * REACH + 1;
    if (at(REACH + 2) - at(REACH - 2)).abs() < CONTRAST / 5 {
        return None;
    }
    let (first, last) = (at(0), at(n - 1));
    let height = last - first;
    if height.abs() < CONTRAST {
        return None;
    }
    // One edge only: never back by more than a tenth of the height.
    let sign = height.signum();
    let mut highest = sign * first;
    for k in 0..n {
        let v = sign * at(k);
        if v < highest - height.abs() / 8 {
            return None;
        }
        highest = highest.max(v);
    }
    let crossing = |part: f64| {
        let level = f64::from(first) + part * f64::from(height);
        (1..n).find_map(|k| {
            let (a, b) = (f64::from(at(k - 1)), f64::from(at(k)));
            let hit = (a - level) * (b - level) <= 0.0 && (b - a).abs() > 0.0;
            #[expect(clippy::cast_precision_loss, reason = "a few samples")]
            hit.then(|| (k - 1) as f64 + (level - a) / (b - a))
        })
    };
    Some(crossing(0.8)? - crossing(0.2)?)
}
