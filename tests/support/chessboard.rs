//! A reader of plain chessboards in photographs: the inner corners with their places in the net.
//!
//! Method: local maxima of -det of the Hessian of the softened levels, each kept when the ring about it changes
//! between dark and light four times, refined as a saddle; then the net is grown from a corner along its four edges
//! to the nearest corner of the opposite pattern.

use super::saddle::Grey;
use onfold::geometry::{Point, Vec2};
use std::collections::{BTreeMap, VecDeque};
use std::f64::consts::TAU;

/// Radius of the ring about a corner, pixels.
const RING_PX: f64 = 5.0;
/// Places on the ring.
const RING: usize = 72;
/// Weaker than this share of the strongest corner is none.
const WEAKEST: f64 = 0.12;
/// A neighbour lies within this angle of the edge that leads to it, radians.
const ASIDE: f64 = 0.25;
/// A step along the net is at most so much longer than the one before it.
const LONGEST_STEP: f64 = 1.6;
/// A neighbour has at least this share of a corner's contrast.
const LEAST_CONTRAST: f64 = 0.6;

#[derive(Debug, Clone)]
struct Corner {
    at: Point,
    /// Directions of the four edges, by angle.
    edges: [f64; 4],
    /// Whether it is dark between the first edge and the second.
    dark_first: bool,
    /// Light less dark on the ring, levels.
    contrast: f64,
}

/// Corners by (column, row) counted from an arbitrary corner of the net; empty when no net is seen.
pub(crate) fn find(grey: &Grey) -> BTreeMap<(i32, i32), Point> {
    let corners = corners(grey);
    // The largest net from any start.
    (0..corners.len()).map(|k| grow(&corners, k)).max_by_key(BTreeMap::len).unwrap_or_default()
}

fn corners(grey: &Grey) -> Vec<Corner> {
    let soft = grey.softened(1);
    let (w, h) = (soft.width, soft.height);
    let level = |x: usize, y: usize| soft.levels[y * w + x];
    let mut response = vec![0.0_f32; w * h];
    for y in 2..h - 2 {
        for x in 2..w - 2 {
            let twice = 2.0 * level(x, y);
            let xx = level(x + 2, y) + level(x - 2, y) - twice;
            let yy = level(x, y + 2) + level(x, y - 2) - twice;
            let xy = level(x + 2, y + 2) + level(x - 2, y - 2) - level(x + 2, y - 2) - level(x - 2, y + 2);
            response[y * w + x] = xy * xy / 16.0 - xx * yy;
        }
    }
    let strongest = response.iter().copied().fold(0.0, f32::max);
    let mut out: Vec<Corner> = Vec::new();
    let reach = 6;
    for y in reach..h - reach {
        for x in reach..w - reach {
            let here = response[y * w + x];
            let highest = (y - reach..=y + reach)
                .flat_map(|v| response[v * w + x - reach..=v * w + x + reach].iter().copied())
                .fold(0.0, f32::max);
            if f64::from(here) < WEAKEST * f64::from(strongest) || here < highest {
                continue;
            }
            #[expect(clippy::cast_precision_loss, reason = "picture sizes are small")]
            let guess = Point::new(x as f64, y as f64);
            if let Some(at) = grey.saddle(guess, 4.0)
                && let Some(corner) = ring(grey, at)
            {
                out.push(corner);
            }
        }
    }
    out
}

/// The corner's edges from the ring about it; `None` unless dark and light change four times.
#[expect(clippy::cast_precision_loss, reason = "72 places")]
fn ring(grey: &Grey, at: Point) -> Option<Corner> {
    let angle = |k: usize| k as f64 * TAU / RING as f64;
    let levels: Option<Vec<f64>> =
        (0..RING).map(|k| grey.at(at + RING_PX * Vec2::from_angle(angle(k)))).collect();
    let levels = levels?;
    let (low, high) =
        (levels.iter().copied().fold(f64::MAX, f64::min), levels.iter().copied().fold(0.0, f64::max));
    let middle = f64::midpoint(low, high);
    let changes: Vec<usize> =
        (0..RING).filter(|&k| (levels[k] < middle) != (levels[(k + 1) % RING] < middle)).collect();
    let [a, b, c, d] = changes[..] else { return None };
    let dark_first = levels[(a + 1) % RING] < middle;
    Some(Corner {
        at,
        edges: [a, b, c, d].map(|k| angle(k) + 0.5 * TAU / RING as f64),
        dark_first,
        contrast: high - low,
    })
}

fn apart(a: f64, b: f64) -> f64 {
    let d = (a - b).rem_euclid(TAU);
    d.min(TAU - d)
}

fn grow(corners: &[Corner], start: usize) -> BTreeMap<(i32, i32), Point> {
    const STEP: [(i32, i32); 4] = [(1, 0), (0, 1), (-1, 0), (0, -1)];
    let mut net = BTreeMap::from([((0, 0), corners[start].at)]);
    // Corner, its place, which of its edges leads to the right, and the step that led to it.
    let mut queue = VecDeque::from([(start, (0, 0), 0_usize, f64::MAX)]);
    while let Some((k, place, right, spacing)) = queue.pop_front() {
        let here = &corners[k];
        for (side, step) in STEP.iter().enumerate() {
            let edge = (right + side) % 4;
            let to = (place.0 + step.0, place.1 + step.1);
            if net.contains_key(&to) {
                continue;
            }
            let dark_after = |c: &Corner, edge: usize| c.dark_first == edge.is_multiple_of(2);
            let next = corners
                .iter()
                .enumerate()
                .filter(|(_, c)| c.at != here.at && apart((c.at - here.at).atan2(), here.edges[edge]) < ASIDE)
                .min_by(|a, b| a.1.at.distance(here.at).total_cmp(&b.1.at.distance(here.at)));
            let Some((n, next)) = next else { continue };
            let same = (0..4)
                .min_by(|&a, &b| {
                    apart(next.edges[a], here.edges[edge]).total_cmp(&apart(next.edges[b], here.edges[edge]))
                })
                .expect("four edges");
            let step_px = next.at.distance(here.at);
            if step_px > LONGEST_STEP * spacing
                || next.contrast < LEAST_CONTRAST * here.contrast
                || dark_after(next, same) == dark_after(here, edge)
                || net.values().any(|p| *p == next.at)
            {
                continue;
            }
            net.insert(to, next.at);
            queue.push_back((n, to, (same + 4 - side) % 4, step_px));
        }
    }
    // A place of a net has neighbours on two sides at least; a stray corner hangs on by one.
    let neighbours =
        |(c, r): (i32, i32)| STEP.iter().filter(|s| net.contains_key(&(c + s.0, r + s.1))).count();
    let net: BTreeMap<(i32, i32), Point> =
        net.iter().filter(|(k, _)| neighbours(**k) >= 2).map(|(k, p)| (*k, *p)).collect();
    let first = net.keys().next().copied().unwrap_or_default();
    let (left, top) = net.keys().fold(first, |m, k| (m.0.min(k.0), m.1.min(k.1)));
    net.into_iter().map(|((c, r), p)| ((c - left, r - top), p)).collect()
}
