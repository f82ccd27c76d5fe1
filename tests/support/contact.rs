//! Light that the edge of a piece takes from the table beside it, and the light on the edge itself.
//!
//! Two parts: a wall of height t hides a share ½ (1 − d / √(d² + t²)) of an even sky at distance d (the form factor of a long
//! wall, R. Siegel and J. Howell, "Thermal Radiation Heat Transfer", from memory), and a lamp of some breadth throws a soft shadow.
//! A surface that leans outward sees less of the sky and more of the table, and the lamp by the cosine of Lambert's law.

use onfold::geometry::{Point, Vec2};
use rayon::prelude::*;

/// Side of the cells that the light is kept in, millimetres.
const CELL_MM: f64 = 0.5;
/// How far from an edge light is reckoned, millimetres.
const REACH_MM: f64 = 20.0;
/// Places on the lamp, and heights of the edge.
const LAMP: u32 = 9;
const LEVELS: u32 = 6;

/// Light left at every place, 0 to 1.
#[derive(Debug, Clone)]
pub(crate) struct Contact {
    from: Point,
    across: usize,
    left: Vec<f64>,
    /// Which way the edge nearest to every place faces.
    faces: Vec<Vec2>,
    lamp: Lamp,
    thickness_mm: f64,
}

/// The lamp: where its middle stands seen from the table (horizontal run for each rise), how broad it is in the same
/// measure, and its share of the whole light.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Lamp {
    pub(crate) towards: Vec2,
    pub(crate) breadth: f64,
    pub(crate) share: f64,
    /// Exponent of the light on an edge: 1 for a matt one, less for one of standing fibres, which scatter light to its limb (J. Koenderink
    /// and S. Pont, "The secret of velvety skin", 2003).
    pub(crate) shading: f64,
}

impl Contact {
    /// The light left beside a piece whose edge stands `thickness_mm` high.
    #[expect(clippy::cast_precision_loss, reason = "a table's cells")]
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a table's cells")]
    pub(crate) fn of(ring: &[Point], thickness_mm: f64, lamp: Lamp) -> Self {
        let start = kurbo::Rect::from_points(ring[0], ring[0]);
        let bounds = ring.iter().fold(start, |r, p| r.union_pt(*p)).inflate(2.0 * REACH_MM, 2.0 * REACH_MM);
        let from = bounds.origin();
        let (across, down) =
            ((bounds.width() / CELL_MM) as usize + 2, (bounds.height() / CELL_MM) as usize + 2);
        let (near, faces) = nearest(ring, from, (across, down));
        let inside = covered(ring, from, (across, down));
        let hides = |p: Vec2| {
            let (x, y) = ((p.x / CELL_MM).round(), (p.y / CELL_MM).round());
            x >= 0.0 && y >= 0.0 && (x as usize) < across && (y as usize) < down && {
                inside[y as usize * across + x as usize]
            }
        };
        let golden = std::f64::consts::PI * (3.0 - 5f64.sqrt());
        let lit = |at: Vec2, place: u32| {
            let out = (f64::from(place) / f64::from(LAMP)).sqrt() * lamp.breadth;
            let towards = lamp.towards + out * Vec2::from_angle(f64::from(place) * golden);
            let level = |h: u32| thickness_mm * (f64::from(h) + 0.5) / f64::from(LEVELS);
            !(0..LEVELS).any(|h| hides(at + towards * level(h)))
        };
        let left = (0..across * down)
            .into_par_iter()
            .map(|k| {
                // Under the edge it is as dark as at its foot.
                let d = if inside[k] { 0.0 } else { near[k] };
                if near[k] > REACH_MM {
                    return 1.0;
                }
                let at = Vec2::new((k % across) as f64, (k / across) as f64) * CELL_MM;
                let sky = 1.0 - 0.5 * (1.0 - d / d.hypot(thickness_mm).max(1e-9));
                let lit = (0..LAMP).filter(|&place| lit(at, place)).count() as f64 / f64::from(LAMP);
                lamp.share * lit + (1.0 - lamp.share) * sky
            })
            .collect();
        Self { from, across, left, faces, lamp, thickness_mm }
    }

    /// Light on the edge nearest to a place of the table, where its surface leans outward from facing up by `lean` radians, as a part of
    /// what a level one gets; `ground` tells what part of its light a place of the table sends back.
    pub(crate) fn on_edge(&self, p: Point, lean: f64, ground: impl Fn(Point) -> f64) -> f64 {
        /// Part of the full light that falls on the table at the edge's foot, about.
        const AT_FOOT: f64 = 0.5;
        let Some(&outward) = self.cell(p).and_then(|k| self.faces.get(k)) else { return 1.0 };
        let (sin, cos) = lean.sin_cos();
        let back = AT_FOOT * ground(p + outward * self.thickness_mm);
        let sky = 0.5 * (1.0 + cos) + 0.5 * (1.0 - cos) * back;
        let lit = (cos + sin * self.lamp.towards.dot(outward)).max(0.0);
        (self.lamp.share * lit + (1.0 - self.lamp.share) * sky).powf(self.lamp.shading)
    }

    /// The cell whose place is nearest.
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a table's cells")]
    fn cell(&self, p: Point) -> Option<usize> {
        let at = (p - self.from) / CELL_MM;
        let (x, y) = (at.x.round(), at.y.round());
        (x >= 0.0 && y >= 0.0 && (x as usize) < self.across).then(|| y as usize * self.across + x as usize)
    }

    /// Light left at a place of the table.
    #[expect(clippy::cast_precision_loss, reason = "a table's cells")]
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a table's cells")]
    pub(crate) fn at(&self, p: Point) -> f64 {
        let (x, y) = ((p.x - self.from.x) / CELL_MM, (p.y - self.from.y) / CELL_MM);
        let down = self.left.len() / self.across;
        if x < 0.0 || y < 0.0 || x as usize + 1 >= self.across || y as usize + 1 >= down {
            return 1.0;
        }
        let (i, j) = (x as usize, y as usize);
        let (u, v) = (x - i as f64, y - j as f64);
        let cell = |i: usize, j: usize| self.left[j * self.across + i];
        let top = cell(i, j) * (1.0 - u) + cell(i + 1, j) * u;
        let low = cell(i, j + 1) * (1.0 - u) + cell(i + 1, j + 1) * u;
        top * (1.0 - v) + low * v
    }
}

/// Distance of every cell to the ring, millimetres, and the way the ring faces there; beyond reach anything larger, and none.
#[expect(clippy::cast_precision_loss, reason = "a table's cells")]
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a table's cells")]
fn nearest(ring: &[Point], from: Point, (across, down): (usize, usize)) -> (Vec<f64>, Vec<Vec2>) {
    let reach = (REACH_MM / CELL_MM) as usize;
    let mut near = vec![f64::MAX; across * down];
    let mut faces = vec![Vec2::ZERO; across * down];
    let area: f64 =
        (0..ring.len()).map(|i| ring[i].to_vec2().cross(ring[(i + 1) % ring.len()].to_vec2())).sum();
    for i in 0..ring.len() {
        let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
        let along = (b - a).normalize() * area.signum();
        let outward = Vec2::new(along.y, -along.x);
        let steps = (b - a).hypot().ceil().max(1.0) as usize;
        for k in 0..steps {
            let p = (a.lerp(b, k as f64 / steps as f64) - from) / CELL_MM;
            let (x, y) = (p.x as usize, p.y as usize);
            for cy in y.saturating_sub(reach)..(y + reach).min(down) {
                for cx in x.saturating_sub(reach)..(x + reach).min(across) {
                    let d = (cx as f64 - p.x).hypot(cy as f64 - p.y) * CELL_MM;
                    let cell = cy * across + cx;
                    if d < near[cell] {
                        (near[cell], faces[cell]) = (d, outward);
                    }
                }
            }
        }
    }
    (near, faces)
}

/// Which cells lie under the piece, row by row.
#[expect(clippy::cast_precision_loss, reason = "a table's cells")]
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a table's cells")]
fn covered(ring: &[Point], from: Point, (across, down): (usize, usize)) -> Vec<bool> {
    let mut inside = vec![false; across * down];
    for (row, cells) in inside.chunks_exact_mut(across).enumerate() {
        let y = from.y + row as f64 * CELL_MM;
        let crossing = |i: usize| {
            let (a, b) = (ring[i], ring[(i + 1) % ring.len()]);
            ((a.y > y) != (b.y > y)).then(|| a.x + (y - a.y) / (b.y - a.y) * (b.x - a.x))
        };
        let mut crossings: Vec<f64> = (0..ring.len()).filter_map(crossing).collect();
        crossings.sort_by(f64::total_cmp);
        for pair in crossings.chunks_exact(2) {
            let first = ((pair[0] - from.x) / CELL_MM).ceil().max(0.0) as usize;
            let last = (((pair[1] - from.x) / CELL_MM).floor().max(0.0) as usize).min(across - 1);
            if first <= last {
                cells[first..=last].fill(true);
            }
        }
    }
    inside
}
