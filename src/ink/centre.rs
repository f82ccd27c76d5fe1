//! Every place of a line's centre found across it in the photograph itself, through the camera.
//!
//! The darkness across the line, less a straight background, is followed to its centre by the mean shift (K. Fukunaga
//! and L. D. Hostetler, IEEE Trans. Inf. Theory 21(1), 1975, doi:10.1109/TIT.1975.1055330): a symmetric stroke has its
//! centre there whatever its width.

use super::chain::way_through;
use super::graph::{Edge, Graph, Look, Spot, evenly};
use crate::geometry::{Point, Vec2};
use crate::outline::Scene;
use rayon::prelude::*;

/// Half the length of the section across the line, millimetres: the widest marker with its paper beside it.
const HALF_MM: f64 = 2.2;
/// Step along the section, millimetres: a third of a pixel.
const STEP_MM: f64 = 0.1;
/// The background is taken farther from the line than this, millimetres.
const BACKGROUND_MM: f64 = 1.3;
/// The centre is looked for within this of the skeleton, millimetres.
const SEARCH_MM: f64 = 0.9;
/// Standard deviation of the window that follows the darkness, millimetres.
const WINDOW_MM: f64 = 0.45;
/// Sections beside each other that are averaged, millimetres along the line.
const ALONG_MM: [f64; 5] = [-0.5, -0.25, 0.0, 0.25, 0.5];
/// A line stands out of its background by this many deviations, and by this part of the paper's light.
const SEEN_SIGMAS: f64 = 3.0;
const SEEN_PART: f64 = 0.02;
/// Points before and after from which the line's way is taken.
const WAY_POINTS: usize = 4;

/// Refines every edge; the paper's face lies `height_mm` above the table.
pub(super) fn refine(scene: &Scene<'_>, height_mm: f64, edges: &mut [Edge]) {
    edges.par_iter_mut().for_each(|edge| {
        for _ in 0..2 {
            let old = edge.spots.clone();
            let n = old.len();
            for k in 0..n {
                let (a, b) = (k.saturating_sub(WAY_POINTS), (k + WAY_POINTS).min(n - 1));
                let way = old[b].at - old[a].at;
                if way.hypot() > 1e-6
                    && let Some(spot) = section(scene, height_mm, old[k].at, way.normalize())
                {
                    edge.spots[k] = spot;
                } else {
                    edge.spots[k].seen = false;
                }
            }
        }
    });
}

/// A stroke whose skeleton ended early goes on by this at the most, millimetres: thinning takes half a width, the second
/// threshold a little more.
const END_MM: f64 = 2.5;
/// ... while it is this part as dark as it usually is, and within this of its own way, millimetres.
const END_PART: f64 = 0.5;
const END_ASIDE_MM: f64 = 0.3;
/// Its way is taken over this, millimetres: farther in, ink of another stroke may have run together with it.
const END_WAY_MM: f64 = 3.5;
/// ... and no other stroke is nearer than this, millimetres.
const END_CLEAR_MM: f64 = 1.0;

/// Carries every free end on to where its ink ends.
pub(super) fn reach_out(scene: &Scene<'_>, height_mm: f64, graph: &mut Graph) {
    let free: Vec<(usize, usize)> =
        graph.arms().into_iter().filter(|arms| arms.len() == 1).map(|arms| arms[0]).collect();
    for (k, end) in free {
        let edge = &graph.edges[k];
        let mut dark: Vec<f64> = edge.spots.iter().filter(|s| s.seen).map(|s| s.look.dark).collect();
        let mut last = edge.away_from(end);
        let first = last[0];
        last.retain(|p| p.distance(first) < END_WAY_MM);
        let Some((middle, way)) = way_through(&last).filter(|_| !dark.is_empty()) else { continue };
        dark.sort_by(f64::total_cmp);
        let (usual, way) = (dark[dark.len() / 2], -way);
        let node = graph.nodes[edge.ends[end]];
        let from = middle + way * (node - middle).dot(way);
        let near: Vec<Point> = graph
            .edges
            .iter()
            .enumerate()
            .filter(|(j, _)| *j != k)
            .flat_map(|(_, e)| e.spots.iter().map(|s| s.at))
            .filter(|p| p.distance(from) < END_MM + END_CLEAR_MM)
            .collect();
        let mut more: Vec<Spot> = Vec::new();
        let mut u = STEP_MM;
        while u <= END_MM {
            let at = from + way * u;
            let spot = section(scene, height_mm, at, way).filter(|s| {
                s.seen
                    && s.look.dark > END_PART * usual
                    && s.at.distance(at) < END_ASIDE_MM
                    && near.iter().all(|p| p.distance(at) > END_CLEAR_MM)
            });
            let Some(spot) = spot else { break };
            more.push(spot);
            u += STEP_MM;
        }
        // The ink reaches half a width beyond the pen's last place.
        let mut wide: Vec<f64> = more.iter().map(|s| s.look.wide_mm).collect();
        wide.sort_by(f64::total_cmp);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few steps")]
        let back = wide.get(wide.len() / 2).map_or(0, |w| (0.5 * w / STEP_MM).round() as usize);
        more.truncate(more.len().saturating_sub(back));
        let Some(last) = more.last().copied() else { continue };
        let edge = &mut graph.edges[k];
        graph.nodes[edge.ends[end]] = last.at;
        if end == 0 {
            edge.spots.splice(..1, more.into_iter().rev());
        } else {
            edge.spots.pop();
            edge.spots.extend(more);
        }
        edge.spots = evenly(&edge.spots);
    }
}

fn section(scene: &Scene<'_>, height_mm: f64, at: Point, way: Vec2) -> Option<Spot> {
    let across = Vec2::new(-way.y, way.x);
    #[expect(clippy::cast_possible_truncation, reason = "a few steps")]
    let reach = (HALF_MM / STEP_MM) as i32;
    let profile = (-reach..=reach)
        .map(|i| {
            let u = f64::from(i) * STEP_MM;
            let mut sum = 0.0;
            for along in ALONG_MM {
                let pixel = scene.camera.pixel_from_table(at + across * u + way * along, height_mm)?;
                sum += scene.photo.luma(pixel.x, pixel.y)?;
            }
            Some((u, sum / ALONG_MM.len() as f64))
        })
        .collect::<Option<Vec<(f64, f64)>>>()?;
    // The lighter half of either side is background: other ink beside the line is not.
    let side = |sign: f64| {
        let mut v: Vec<(f64, f64)> = profile.iter().copied().filter(|p| p.0 * sign > BACKGROUND_MM).collect();
        v.sort_by(|a, b| b.1.total_cmp(&a.1));
        v.truncate(v.len().div_ceil(2));
        let n = v.len() as f64;
        let mean = v.iter().fold((0.0, 0.0), |s, p| (s.0 + p.0 / n, s.1 + p.1 / n));
        let spread = (v.iter().map(|p| (p.1 - mean.1).powi(2)).sum::<f64>() / n).sqrt();
        (mean, spread)
    };
    let (((x0, y0), s0), ((x1, y1), s1)) = (side(-1.0), side(1.0));
    let slope = (y1 - y0) / (x1 - x0);
    let background = |u: f64| y0 + slope * (u - x0);
    let dark: Vec<(f64, f64)> = profile.iter().map(|p| (p.0, 1.0 - p.1 / background(p.0).max(1.0))).collect();
    let noise = (0.5 * (s0 + s1) / background(0.0).max(1.0)).max(0.003);
    let (mut centre, peak) = dark
        .iter()
        .filter(|p| p.0.abs() <= SEARCH_MM)
        .copied()
        .max_by(|a, b| (a.1 - 0.01 * a.0.abs()).total_cmp(&(b.1 - 0.01 * b.0.abs())))?;
    for _ in 0..12 {
        let (mut sum, mut moment) = (0.0, 0.0);
        for (u, d) in &dark {
            let w = d.max(0.0) * (-0.5 * ((u - centre) / WINDOW_MM).powi(2)).exp();
            sum += w;
            moment += w * u;
        }
        if sum <= 0.0 {
            return None;
        }
        centre = moment / sum;
    }
    let seen = peak > (SEEN_SIGMAS * noise).max(SEEN_PART) && centre.abs() <= SEARCH_MM;
    // How far the half of the darkness reaches on either side.
    let reach = |sign: f64| {
        let beyond = dark.iter().filter(|p| (p.0 - centre) * sign > 0.0 && p.1 < 0.5 * peak);
        beyond.map(|p| (p.0 - centre).abs()).fold(HALF_MM, f64::min)
    };
    let look = Look {
        dark: peak,
        wide_mm: reach(-1.0) + reach(1.0),
        step: (y1 - y0).abs() / (0.5 * (y0 + y1)).max(1.0) / peak.max(1e-3),
        warm: warmth(scene, height_mm, at + across * centre, across).unwrap_or(0.0),
    };
    let sigma_mm = (0.3 * noise / peak.max(1e-3)).clamp(0.02, 0.4);
    Some(Spot { at: at + across * centre, sigma_mm, seen, look })
}

/// How much warmer a line's middle is than the paper on both sides, in times of the luma that it takes off.
fn warmth(scene: &Scene<'_>, height_mm: f64, at: Point, across: Vec2) -> Option<f64> {
    let colour = |off: f64| {
        let pixel = scene.camera.pixel_from_table(at + across * off, height_mm)?;
        let [y, cb, cr] = scene.photo.colour(pixel.x, pixel.y)?;
        Some((y, cr - cb))
    };
    let (middle, left, right) = (colour(0.0)?, colour(-HALF_MM)?, colour(HALF_MM)?);
    let (y, warm) = (0.5 * (left.0 + right.0), 0.5 * (left.1 + right.1));
    Some((middle.1 - warm) / (y - middle.0).max(1.0))
}
