//! One line of the drawing with what is measured of it: length, turning, straightness, dashes.

use super::super::chain::{Chain, Linked, angle, way_through};
use super::super::graph::{Edge, Spot};
use super::super::outer::BLOT_MM;
use super::super::settle::Run;
use crate::geometry::{Point, Vec2};

/// A stroke whose places lie within this of a line is straight, millimetres, and this part of its length.
const STRAIGHT_MM: f64 = 0.35;
const STRAIGHT_PART: f64 = 0.004;

/// A line with what is measured of it.
pub(super) struct Line {
    pub(super) chain: Chain,
    pub(super) spots: Vec<(Spot, bool)>,
    pub(super) length_mm: f64,
    pub(super) bridged_mm: f64,
    pub(super) turn: f64,
    pub(super) straight: bool,
    pub(super) nodes: [usize; 2],
    pub(super) ends: [Point; 2],
    /// Settled places, two for a straight line.
    pub(super) path: Vec<Point>,
}

impl Line {
    pub(super) fn new(linked: &Linked, chain: Chain, blots: &[Point]) -> Self {
        let spots = linked.spots(&chain);
        let run = Run::new(spots.clone(), blots, BLOT_MM);
        let length_mm = run.length_mm();
        let parts = chain.parts.iter().map(|p| &linked.graph.edges[p.0]);
        let bridged_mm = parts.filter(|e| e.bridged).map(Edge::length_mm).sum();
        let ends = [spots[0].0.at, spots[spots.len() - 1].0.at];
        let seen: Vec<Point> = spots.iter().filter(|(s, _)| s.seen).map(|(s, _)| s.at).collect();
        let fit = way_through(if seen.len() > 3 { &seen } else { &ends });
        let (mut straight, mut path) = (false, Vec::new());
        if let Some((middle, way)) = fit {
            let mut off: Vec<f64> = seen.iter().map(|p| way.cross(*p - middle).abs()).collect();
            off.sort_by(f64::total_cmp);
            let most = off.get(off.len() * 19 / 20).copied().unwrap_or(0.0);
            straight = most < STRAIGHT_MM.max(STRAIGHT_PART * length_mm)
                && length_mm < 1.05 * ends[0].distance(ends[1]) + 1.0;
            path = ends.map(|e| middle + way * (e - middle).dot(way)).to_vec();
        }
        if !straight {
            path = run.points([true, true]).iter().map(|p| p.at).collect();
        }
        let turn = turn_of(&spots) / length_mm.max(1.0);
        let nodes = linked.end_nodes(&chain);
        Self { chain, spots, length_mm, bridged_mm, turn, straight, nodes, ends, path }
    }

    pub(super) fn way(&self) -> Vec2 {
        (self.path[self.path.len() - 1] - self.path[0]).normalize()
    }

    pub(super) fn dashed(&self) -> bool {
        self.bridged_mm > 0.08 * self.length_mm && self.chain.parts.len() > 4
    }

    fn nearest(&self, p: Point) -> f64 {
        self.spots.iter().map(|s| s.0.at.distance(p)).fold(f64::INFINITY, f64::min)
    }

    pub(super) fn apart(&self, other: &Self) -> f64 {
        self.spots.iter().map(|s| other.nearest(s.0.at)).fold(f64::INFINITY, f64::min)
    }
}

/// All turning along a line, degrees, of its way over three millimetres.
fn turn_of(spots: &[(Spot, bool)]) -> f64 {
    let step = 6;
    let ways: Vec<Vec2> = (0..spots.len() / step)
        .filter_map(|k| Some(spots.get((k + 1) * step)?.0.at - spots[k * step].0.at))
        .collect();
    ways.windows(2).map(|w| angle(w[0], w[1])).sum()
}

/// The place at a part of a path, by its points.
pub(super) fn place_at(path: &[Point], part: f64) -> Point {
    let place = part * (path.len() - 1) as f64;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "an index")]
    let k = (place as usize).min(path.len() - 2);
    path[k].lerp(path[k + 1], place - k as f64)
}

/// Where the straight lines through two lines meet.
pub(super) fn crossing(a: &Line, b: &Line) -> Option<Point> {
    let (u, v) = (a.way(), b.way());
    let cross = u.cross(v);
    (cross.abs() > 0.02).then(|| a.path[0] + u * ((b.path[0] - a.path[0]).cross(v) / cross))
}
