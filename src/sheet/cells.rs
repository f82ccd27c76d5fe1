//! Tags read in the cells between checker corners.
//!
//! Corners are linked to their neighbours along the edges between dark and light squares; four links that
//! close round a light square make a cell; the cell's modules are read in the photograph and compared
//! with the family (E. Olson, "AprilTag: A robust and flexible visual fiducial system", ICRA 2011,
//! doi:10.1109/ICRA.2011.5979561, for the code and its decoding by Hamming distance).

use super::corners::Corner;
use super::{family, layout};
use crate::geometry::{Homography, Point};
use crate::photo::{Grey, Photo};
use rayon::prelude::*;
use std::collections::{BTreeMap, HashSet};
use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, PI};

/// A tag read in its square.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tag {
    /// Sheet number, from 0.
    pub sheet: usize,
    /// Tag number on the sheet, from 0 in reading order.
    pub tag: usize,
    /// The corners of its 20 mm square in the photograph, pixels: top left, top right, bottom right,
    /// bottom left of the upright tag.
    pub corners: [Point; 4],
    /// Payload and border modules that disagree with the code.
    pub wrong: u32,
}

/// Farthest neighbour looked at, reduced pixels; a square wider than this is a photograph so near that
/// a coarser picture should be used.
const REACH: f64 = 120.0;
/// Widest angle between where a neighbour should lie and where it does, radians: perspective and shear.
const LINK_ANGLE: f64 = 0.6;
/// Neighbours tried in each direction, nearest first.
const TRIES: usize = 5;
/// Least grey difference across an edge for a link.
const EDGE_CONTRAST: f64 = 10.0;
/// Payload modules that may be misread: the family's distance is 11, so up to 5 could be mended; 3 keeps
/// the odds of a false tag below one in a million cells together with the border's vote.
const PAYLOAD_WRONG_MOST: u32 = 3;
/// Border modules (of 28) that may be misread, under a crease or a fingertip's edge.
const BORDER_WRONG_MOST: u32 = 3;

/// All tags of the photograph in the cells between these corners; for each tag the best reading.
pub(super) fn tags(photo: &Photo, grey: &Grey, corners: &[Corner]) -> Vec<Tag> {
    let links = link(grey, corners);
    let mut seen = HashSet::new();
    let mut quads = Vec::new();
    for (i, l) in links.iter().enumerate() {
        // The light quadrants lie between links 3 and 0, and between links 1 and 2.
        for (before, after) in [(3, 0), (1, 2)] {
            let (Some(a), Some(b)) = (l[before], l[after]) else { continue };
            let opposite = links[a].iter().flatten().find(|&&m| m != i && links[b].contains(&Some(m)));
            if let Some(&m) = opposite {
                let mut key = [i, a, b, m];
                key.sort_unstable();
                if seen.insert(key) {
                    quads.push([i, a, m, b]);
                }
            }
        }
    }
    let read: Vec<Tag> = quads
        .par_iter()
        .filter_map(|q| {
            let at = q.map(|k| {
                let c = &corners[k];
                Point::new(grey.photo_from_grey(c.x), grey.photo_from_grey(c.y))
            });
            decode(photo, at)
        })
        .collect();
    let mut best: BTreeMap<(usize, usize), Tag> = BTreeMap::new();
    for tag in read {
        let entry = best.entry((tag.sheet, tag.tag)).or_insert(tag);
        if tag.wrong < entry.wrong {
            *entry = tag;
        }
    }
    best.into_values().collect()
}

/// For each corner its neighbour along each of its four edges, in order of angle from the light axis
/// plus 45 degrees on.
fn link(grey: &Grey, corners: &[Corner]) -> Vec<[Option<usize>; 4]> {
    let bins = Bins::new(corners, grey.width, grey.height);
    corners
        .par_iter()
        .enumerate()
        .map(|(i, c)| {
            let mut near: [Vec<(f64, usize)>; 4] = Default::default();
            bins.each_near(c.x, c.y, |j| {
                let d = &corners[j];
                let (dx, dy) = (d.x - c.x, d.y - c.y);
                let distance = dx.hypot(dy);
                if j == i
                    || distance > REACH
                    || axis_difference(d.light_axis, c.light_axis + FRAC_PI_2) > LINK_ANGLE
                {
                    return;
                }
                let turn = (dy.atan2(dx) - c.light_axis).rem_euclid(2.0 * PI);
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 4")]
                let side = (turn / FRAC_PI_2) as usize % 4;
                let off = (turn - (FRAC_PI_4 + FRAC_PI_2 * [0.0, 1.0, 2.0, 3.0][side])).abs();
                if off < LINK_ANGLE {
                    near[side].push((distance, j));
                }
            });
            std::array::from_fn(|side| {
                near[side].sort_by(|a, b| a.0.total_cmp(&b.0));
                near[side].iter().take(TRIES).map(|n| n.1).find(|&j| {
                    // Light lies towards smaller angles of the even edges, larger ones of the odd.
                    edge_between(grey, c, &corners[j], if side % 2 == 0 { -1.0 } else { 1.0 })
                })
            })
        })
        .collect()
}

/// True when an edge runs from one corner to the other with its light side where it should be.
fn edge_between(grey: &Grey, a: &Corner, b: &Corner, light: f64) -> bool {
    let (dx, dy) = (b.x - a.x, b.y - a.y);
    let length = dx.hypot(dy);
    // 2 mm of white stand beside the edge before the tag: two pixels, or a tenth of a larger square.
    let off = 2f64.max(0.06 * length);
    let (nx, ny) = (-dy / length * off * light, dx / length * off * light);
    [0.2, 0.4, 0.6, 0.8].iter().all(|t| {
        let (x, y) = (a.x + t * dx, a.y + t * dy);
        match (grey.sample(x + nx, y + ny), grey.sample(x - nx, y - ny)) {
            (Some(white), Some(black)) => white - black > EDGE_CONTRAST,
            _ => false,
        }
    })
}

/// Difference of two directions without sense, radians, 0 to π/2.
fn axis_difference(a: f64, b: f64) -> f64 {
    let d = (a - b).rem_euclid(PI);
    d.min(PI - d)
}

/// Reads the tag in a square given by its corners in order round it; the order says how it is turned.
fn decode(photo: &Photo, at: [Point; 4]) -> Option<Tag> {
    let s = layout::SQUARE_MM;
    let square = [(0.0, 0.0), (s, 0.0), (s, s), (0.0, s)].map(Point::from);
    let clockwise = (at[1] - at[0]).cross(at[2] - at[0]) > 0.0;
    let at = if clockwise { at } else { [at[0], at[3], at[2], at[1]] };
    let photo_from_square = Homography::of_quads(square, at)?;
    let n = family::MODULES;
    let sample = |x: f64, y: f64| {
        let p = photo_from_square.apply(Point::new(x, y));
        photo.luma(p.x, p.y)
    };
    let module = |col: usize, row: usize| {
        #[expect(clippy::cast_precision_loss, reason = "0 to 7")]
        let place = |k: usize| layout::QUIET_MM + (k as f64 + 0.5) * layout::MODULE_MM;
        sample(place(col), place(row))
    };
    let mut grid = [[0.0; family::MODULES]; family::MODULES];
    for (row, line) in grid.iter_mut().enumerate() {
        for (col, v) in line.iter_mut().enumerate() {
            *v = module(col, row)?;
        }
    }
    let is_border = |col: usize, row: usize| col == 0 || row == 0 || col == n - 1 || row == n - 1;
    // The levels: black from the border, white from the quiet zone's middle.
    let mut black = 0.0;
    for (row, line) in grid.iter().enumerate() {
        for (col, v) in line.iter().enumerate() {
            if is_border(col, row) {
                black += v / 28.0;
            }
        }
    }
    let mut white = 0.0;
    let q = layout::QUIET_MM / 2.0;
    for k in 0..8 {
        let t = s * (f64::from(k) + 0.5) / 8.0;
        white += (sample(t, q)? + sample(t, s - q)? + sample(q, t)? + sample(s - q, t)?) / 32.0;
    }
    if white - black < EDGE_CONTRAST {
        return None;
    }
    let middle = (white + black) / 2.0;
    let is_black = |col: usize, row: usize| grid[row][col] < middle;
    let border_wrong = (0..n * n).filter(|k| is_border(k % n, k / n) && !is_black(k % n, k / n)).count();
    let border_wrong = u32::try_from(border_wrong).ok()?;
    if border_wrong > BORDER_WRONG_MOST {
        return None;
    }
    for turn in 0..4 {
        // Module (col, row) of the upright tag as it lies when the square's corner 0 is its corner `turn`.
        let turned = |col: usize, row: usize| match turn {
            0 => (col, row),
            1 => (row, n - 1 - col),
            2 => (n - 1 - col, n - 1 - row),
            _ => (n - 1 - row, col),
        };
        let mut code = 0u64;
        for row in 0..family::PAYLOAD {
            for col in 0..family::PAYLOAD {
                let (c, r) = turned(col + 1, row + 1);
                if !is_black(c, r) {
                    code |= 1 << (family::BITS - 1 - family::BIT_AT[row][col]);
                }
            }
        }
        let nearest = family::CODES.iter().enumerate().map(|(id, c)| ((c ^ code).count_ones(), id)).min()?;
        if nearest.0 <= PAYLOAD_WRONG_MOST {
            let (sheet, tag) = layout::sheet_and_tag(nearest.1)?;
            // Upright corner j is the square's corner found by turning its place the same way.
            let first = match turn {
                0 => 0,
                1 => 3,
                2 => 2,
                _ => 1,
            };
            let corners = std::array::from_fn(|j| at[(first + j) % 4]);
            return Some(Tag { sheet, tag, corners, wrong: nearest.0 + border_wrong });
        }
    }
    None
}

/// Corners sorted into square bins of [`REACH`], to find those near a place.
struct Bins {
    across: usize,
    down: usize,
    bins: Vec<Vec<usize>>,
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "places inside a picture")]
#[expect(clippy::cast_precision_loss, reason = "picture sizes are far below 2^52")]
impl Bins {
    fn new(corners: &[Corner], width: usize, height: usize) -> Self {
        let (across, down) = ((width as f64 / REACH) as usize + 1, (height as f64 / REACH) as usize + 1);
        let mut bins = vec![Vec::new(); across * down];
        for (i, c) in corners.iter().enumerate() {
            bins[(c.y / REACH) as usize * across + (c.x / REACH) as usize].push(i);
        }
        Self { across, down, bins }
    }

    fn each_near(&self, x: f64, y: f64, mut visit: impl FnMut(usize)) {
        let (bx, by) = ((x / REACH) as usize, (y / REACH) as usize);
        for j in by.saturating_sub(1)..(by + 2).min(self.down) {
            for i in bx.saturating_sub(1)..(bx + 2).min(self.across) {
                self.bins[j * self.across + i].iter().for_each(|&k| visit(k));
            }
        }
    }
}
