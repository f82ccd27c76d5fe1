//! A reader of AprilGrids in photographs: tags of the family 36h11 with a border of two modules in a regular net,
//! a small black square at every corner of every tag, so that each corner of a tag is a saddle.
//!
//! The product reads its own sheets only; this serves to try its corner refinement on real photographs.
//! Plane frame: side of a tag 1, gap 0.3, x right, y down, origin at the top-left tag's corner.
//! Method: dark against the local mean, shrunk so that tags part from the corner squares, four corners of each
//! convex piece, code read through its homography; then one lens and one homography for the whole grid say where
//! every corner is to be looked for.

use super::least_squares::soft_l1;
use super::saddle::Grey;
use onfold::geometry::{Homography, Point, Vec2};
use onfold::sheet::family;

/// A tag's side with its two-module border, in modules.
const MODULES: usize = 10;
/// Gap between tags in sides of a tag.
pub(crate) const GAP: f64 = 0.3;
/// Pictures are reduced to about this width before tags are looked for.
const REDUCED_WIDTH: usize = 1000;
/// Side of the square over which the local mean is taken, as a share of the width.
const MEAN_SHARE: usize = 10;
/// Dark is this much below the local mean, levels.
const DARKER: f64 = 6.0;
/// Pieces of fewer reduced pixels are no tags.
const LEAST_AREA: usize = 150;
/// Bits that may be misread; any two codes differ in at least 11.
const MISREAD: usize = 2;

/// One grid of tags: their first number, how many to a row, how many rows. Numbers grow to the right and upwards.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Grid {
    pub(crate) first: usize,
    pub(crate) across: usize,
    pub(crate) down: usize,
}

/// A tag seen: its number and its four corners, roughly.
#[derive(Debug, Clone)]
pub(crate) struct Seen {
    pub(crate) id: usize,
    pub(crate) quad: [Point; 4],
}

impl Grid {
    /// The corners of a tag on the plane, going round.
    pub(crate) fn corners(&self, id: usize) -> Option<[Point; 4]> {
        let k = id.checked_sub(self.first).filter(|k| *k < self.across * self.down)?;
        #[expect(clippy::cast_precision_loss, reason = "a few tags")]
        let (column, row) = ((k % self.across) as f64, (self.down - 1 - k / self.across) as f64);
        let at = Point::new(column * (1.0 + GAP), row * (1.0 + GAP));
        Some([(0.0, 0.0), (1.0, 0.0), (1.0, 1.0), (0.0, 1.0)].map(|(x, y)| at + Vec2::new(x, y)))
    }
}

/// Every tag of the family found in a picture, each number once.
pub(crate) fn find(grey: &Grey) -> Vec<Seen> {
    let factor = (grey.width.min(grey.height) / REDUCED_WIDTH).max(1);
    let small = reduce(grey, factor);
    let dark = shrink(&dark(&small), small.width);
    let mut found: Vec<Seen> = Vec::new();
    for piece in pieces(&dark, small.width) {
        let Some(quad) = quad(&piece) else { continue };
        // The piece was shrunk by one reduced pixel all round.
        let middle = quad.iter().fold(Vec2::ZERO, |s, p| s + p.to_vec2()) / 4.0;
        #[expect(clippy::cast_precision_loss, reason = "small")]
        let f = factor as f64;
        let quad = quad.map(|p| {
            let out = p.to_vec2() - middle;
            let grown = middle + out * (1.0 + 1.9 / out.hypot());
            (grown * f + Vec2::new(0.5, 0.5) * (f - 1.0)).to_point()
        });
        if let Some(id) = read(grey, quad)
            && !found.iter().any(|s| s.id == id)
        {
            found.push(Seen { id, quad });
        }
    }
    found.sort_by_key(|s| s.id);
    found
}

#[expect(clippy::cast_precision_loss, reason = "small")]
fn reduce(grey: &Grey, factor: usize) -> Grey {
    let (width, height) = (grey.width / factor, grey.height / factor);
    let mut levels = Vec::with_capacity(width * height);
    for y in 0..height {
        for x in 0..width {
            let mut sum = 0.0;
            for j in 0..factor {
                for i in 0..factor {
                    sum += grey.levels[(y * factor + j) * grey.width + x * factor + i];
                }
            }
            levels.push(sum / (factor * factor) as f32);
        }
    }
    Grey { width, height, levels }
}

/// Darker than the mean about it.
#[expect(clippy::cast_precision_loss, reason = "small")]
fn dark(grey: &Grey) -> Vec<bool> {
    let (w, h) = (grey.width, grey.height);
    let mut sums = vec![0.0_f64; (w + 1) * (h + 1)];
    for y in 0..h {
        let mut row = 0.0;
        for x in 0..w {
            row += f64::from(grey.levels[y * w + x]);
            sums[(y + 1) * (w + 1) + x + 1] = sums[y * (w + 1) + x + 1] + row;
        }
    }
    let reach = w / MEAN_SHARE / 2;
    let mut out = Vec::with_capacity(w * h);
    for y in 0..h {
        let (top, bottom) = (y.saturating_sub(reach), (y + reach + 1).min(h));
        for x in 0..w {
            let (left, right) = (x.saturating_sub(reach), (x + reach + 1).min(w));
            let at = |x: usize, y: usize| sums[y * (w + 1) + x];
            let sum = at(right, bottom) - at(left, bottom) - at(right, top) + at(left, top);
            let mean = sum / ((right - left) * (bottom - top)) as f64;
            out.push(f64::from(grey.levels[y * w + x]) < mean - DARKER);
        }
    }
    out
}

/// Dark only where all nine pixels about are dark.
fn shrink(dark: &[bool], width: usize) -> Vec<bool> {
    let height = dark.len() / width;
    let mut out = vec![false; dark.len()];
    for y in 1..height - 1 {
        for x in 1..width - 1 {
            out[y * width + x] =
                (y - 1..=y + 1).all(|v| dark[v * width + x - 1..=v * width + x + 1].iter().all(|d| *d));
        }
    }
    out
}

/// Connected dark pieces that do not touch the border, as points.
#[expect(clippy::cast_precision_loss, reason = "small")]
fn pieces(dark: &[bool], width: usize) -> Vec<Vec<Point>> {
    let height = dark.len() / width;
    let mut seen = vec![false; dark.len()];
    let mut out = Vec::new();
    for start in 0..dark.len() {
        if !dark[start] || seen[start] {
            continue;
        }
        seen[start] = true;
        let (mut stack, mut piece, mut cut) = (vec![start], Vec::new(), false);
        while let Some(k) = stack.pop() {
            let (x, y) = (k % width, k / width);
            piece.push(Point::new(x as f64, y as f64));
            cut |= x <= 2 || y <= 2 || x + 3 >= width || y + 3 >= height;
            for next in [k - 1, k + 1, k - width, k + width] {
                if dark[next] && !seen[next] {
                    seen[next] = true;
                    stack.push(next);
                }
            }
        }
        if piece.len() >= LEAST_AREA && !cut {
            out.push(piece);
        }
    }
    out
}

/// The four corners of a piece that is nearly a quadrilateral, clockwise as seen.
fn quad(piece: &[Point]) -> Option<[Point; 4]> {
    let far = |from: Point| {
        *piece.iter().max_by(|a, b| a.distance(from).total_cmp(&b.distance(from))).expect("not empty")
    };
    let a = far(piece[0]);
    let c = far(a);
    let line = c - a;
    let side = |p: &Point| line.cross(*p - a);
    let b = *piece.iter().min_by(|p, q| side(p).total_cmp(&side(q)))?;
    let d = *piece.iter().max_by(|p, q| side(p).total_cmp(&side(q)))?;
    let quad = [a, b, c, d];
    let area = (0..4).map(|i| quad[i].to_vec2().cross(quad[(i + 1) % 4].to_vec2())).sum::<f64>() / 2.0;
    let sides: Vec<f64> = (0..4).map(|i| quad[i].distance(quad[(i + 1) % 4])).collect();
    let (short, long) =
        (sides.iter().copied().fold(f64::MAX, f64::min), sides.iter().copied().fold(0.0, f64::max));
    // The border alone is 64 of the 100 modules; the rest may be white or black.
    #[expect(clippy::cast_precision_loss, reason = "small")]
    let filled = piece.len() as f64 / area;
    (short > 8.0 && long < 3.0 * short && (0.4..1.15).contains(&filled)).then_some(quad)
}

/// The number of the tag in a quadrilateral; `None` when no code fits.
fn read(grey: &Grey, quad: [Point; 4]) -> Option<usize> {
    let modules = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)].map(Point::from);
    let map = Homography::of_quads(modules, quad)?;
    let mut levels = [[0.0; MODULES]; MODULES];
    for (row, levels) in levels.iter_mut().enumerate() {
        for (column, level) in levels.iter_mut().enumerate() {
            #[expect(clippy::cast_precision_loss, reason = "0 to 9")]
            let at = Point::new(column as f64 + 0.5, row as f64 + 0.5);
            *level = grey.at(map.apply(at))?;
        }
    }
    let payload = |k: usize| (2..8).contains(&k);
    let inner = || levels[2..8].iter().flat_map(|row| row[2..8].iter().copied());
    let (low, high) = (inner().fold(f64::MAX, f64::min), inner().fold(0.0, f64::max));
    let middle = f64::midpoint(low, high);
    if high - low < 20.0 {
        return None;
    }
    let mut light_in_border = 0;
    for (row, levels) in levels.iter().enumerate() {
        for (column, level) in levels.iter().enumerate() {
            light_in_border += usize::from(!(payload(row) && payload(column)) && *level > middle);
        }
    }
    if light_in_border > 4 {
        return None;
    }
    for turn in 0..4 {
        for id in 0..family::TAGS {
            let mut wrong = 0;
            for row in 0..6 {
                for column in 0..6 {
                    let (x, y) = match turn {
                        0 => (column, row),
                        1 => (5 - row, column),
                        2 => (5 - column, 5 - row),
                        _ => (row, 5 - column),
                    };
                    let black = levels[row + 2][column + 2] < middle;
                    wrong += usize::from(black != family::module_is_black(id, x + 1, y + 1));
                }
            }
            if wrong <= MISREAD {
                return Some(id);
            }
        }
    }
    None
}

/// One plane seen through one lens: a homography, then k1 k2 p1 p2 k3 about the picture's centre.
#[derive(Debug, Clone)]
pub(crate) struct PlaneView {
    /// The homography's first eight entries (the ninth is 1), then k1 k2 p1 p2 k3.
    numbers: Vec<f64>,
    centre: Point,
    scale: f64,
}

impl PlaneView {
    /// Fits pairs of plane and pixel with the soft-L1 loss (1 px), centre fixed at the picture's centre.
    #[expect(clippy::cast_precision_loss, reason = "picture sizes are small")]
    pub(crate) fn fit(pairs: &[(Point, Point)], (width, height): (usize, usize)) -> Option<Self> {
        let centre = Point::new((width as f64 - 1.0) / 2.0, (height as f64 - 1.0) / 2.0);
        let scale = width.max(height) as f64;
        let flat: Vec<(Point, Point)> =
            pairs.iter().map(|(p, q)| (*p, ((*q - centre) / scale).to_point())).collect();
        let first = Homography::fit(&flat)?.matrix;
        let first = first / first[(2, 2)];
        let mut start: Vec<f64> = first.transpose().iter().take(8).copied().collect();
        start.extend([0.0; 5]);
        let unit: Vec<f64> = (0..13).map(|k| if k < 8 { start[k].abs().max(1e-3) } else { 0.1 }).collect();
        let view = |numbers: &[f64]| Self { numbers: numbers.to_vec(), centre, scale };
        let numbers = soft_l1(&start, &unit, |numbers| {
            let view = view(numbers);
            pairs
                .iter()
                .flat_map(|(p, q)| {
                    let e = view.pixel(*p) - *q;
                    [e.x, e.y]
                })
                .collect()
        });
        Some(view(&numbers))
    }

    /// Where a place of the plane is seen.
    pub(crate) fn pixel(&self, at: Point) -> Point {
        let [a, b, c, d, e, f, g, h, k1, k2, p1, p2, k3] = self.numbers[..] else {
            unreachable!("thirteen numbers")
        };
        let w = g * at.x + h * at.y + 1.0;
        let (x, y) = ((a * at.x + b * at.y + c) / w, (d * at.x + e * at.y + f) / w);
        let r2 = x * x + y * y;
        let gain = 1.0 + r2 * (k1 + r2 * (k2 + r2 * k3));
        let u = x * gain + 2.0 * p1 * x * y + p2 * (r2 + 2.0 * x * x);
        let v = y * gain + p1 * (r2 + 2.0 * y * y) + 2.0 * p2 * x * y;
        self.centre + self.scale * Vec2::new(u, v)
    }

    /// Distances of the pixels from where the view puts them.
    pub(crate) fn residuals(&self, pairs: &[(Point, Point)]) -> Vec<f64> {
        pairs.iter().map(|(p, q)| self.pixel(*p).distance(*q)).collect()
    }
}

/// Pairs of plane and rough pixel for the tags of a grid: corners are told apart by the net of the tags' middles,
/// so it does not matter which way up a printer of grids draws a tag.
pub(crate) fn rough_pairs(seen: &[Seen], grid: Grid) -> Option<Vec<(Point, Point)>> {
    let middle =
        |corners: &[Point; 4]| (corners.iter().fold(Vec2::ZERO, |s, p| s + p.to_vec2()) / 4.0).to_point();
    let own: Vec<(&Seen, [Point; 4])> =
        seen.iter().filter_map(|s| grid.corners(s.id).map(|corners| (s, corners))).collect();
    let middles: Vec<(Point, Point)> =
        own.iter().map(|(s, plane)| (middle(plane), middle(&s.quad))).collect();
    let net = Homography::fit(&middles)?;
    Some(
        own.iter()
            .flat_map(|(s, plane)| {
                plane.map(|p| {
                    let expected = net.apply(p);
                    let nearest =
                        s.quad.iter().min_by(|a, b| a.distance(expected).total_cmp(&b.distance(expected)));
                    (p, *nearest.expect("four corners"))
                })
            })
            .collect(),
    )
}
