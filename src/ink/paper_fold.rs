//! A half pattern whose fold is the paper's own edge: the drawn line begins and ends there, and the paper's edge between closes
//! it.
//!
//! Evidence: two drawn lines run off the paper at one straight stretch of its edge, both nearly at right angles to it, as
//! lines meet a fold. A drawing that is cut off by the paper's edge does so at any angle, or on several sides.

use super::chain::{End, Linked, angle, heading, way_through};
use super::face::RIM_MM;
use super::graph::{Edge, Graph, Look, Spot};
use crate::geometry::{Point, Vec2};

/// A line that ends this near to the paper's edge runs off it, millimetres: the rim in which nothing is looked for, and what a
/// skeleton loses at its end.
const OFF_MM: f64 = RIM_MM + 3.5;
/// Lines that run off are at least this long, millimetres.
const LINE_MM: f64 = 12.0;
/// They meet the edge at a right angle within this, degrees: a fold's lines do, but for a hand's care and a hollow neck.
const SQUARE_DEG: f64 = 25.0;
/// A fold is at least this long, millimetres; this part of it is straight within the first, all of it within the second.
const FOLD_MM: f64 = 80.0;
const STRAIGHT_PART: f64 = 0.6;
const STRAIGHT_MM: f64 = 0.6;
const ASTRAY_MM: f64 = 5.0;
/// Edges of the paper that were taken for lines lie this near to it, millimetres, and along it within this, degrees.
const RIM_LINE_MM: f64 = 6.5;
const RIM_LINE_DEG: f64 = 20.0;
/// Standard deviation of the paper's edge, millimetres.
const SIGMA_MM: f64 = 0.08;

/// A drawn line carried on to the paper's edge.
struct Exit {
    end: End,
    at: Point,
    /// The line's way there, of length 1.
    out: Vec2,
    /// Where the paper's ring it is: a segment, and the part of it.
    along: f64,
}

/// Closes the drawing by the paper's edge where that is its fold. Gives the fold's length, or `None` where it is none.
pub(super) fn close(linked: &mut Linked, paper: &[Point]) -> Option<f64> {
    let exits = exits(linked, paper);
    let mut best: Option<(f64, usize, usize, [Point; 2])> = None;
    for i in 0..exits.len() {
        for j in i + 1..exits.len() {
            let Some(fold) = straight_fold(&exits[i], &exits[j], paper) else { continue };
            let length = fold[0].distance(fold[1]);
            if best.as_ref().is_none_or(|b| length > b.0) {
                best = Some((length, i, j, fold));
            }
        }
    }
    let (length, i, j, fold) = best?;
    let nodes = [(i, fold[0]), (j, fold[1])].map(|(k, at)| {
        linked.graph.nodes.push(at);
        let node = linked.graph.nodes.len() - 1;
        linked.carry_on(exits[k].end, node);
        node
    });
    let seen = |at: Point| Spot { at, sigma_mm: SIGMA_MM, seen: true, look: Look::default() };
    let spots = super::graph::evenly(&fold.map(seen));
    linked.push_edge(Edge { ends: nodes, spots, bridged: false });
    Some(length)
}

/// Takes out what lies along the paper's edge: the edge itself, seen as a line where the paper's outline was found a little
/// outside of it.
pub(super) fn without_rim(graph: &mut Graph, paper: &[Point]) {
    let n = paper.len();
    graph.edges.retain(|edge| {
        !edge.spots.iter().all(|spot| {
            let near =
                (0..n).min_by(|a, b| paper[*a].distance(spot.at).total_cmp(&paper[*b].distance(spot.at)));
            near.is_some_and(|k| {
                let ends = [edge.spots[0].at, edge.spots[edge.spots.len() - 1].at];
                let off = angle(ends[1] - ends[0], wide_way(paper, k));
                paper[k].distance(spot.at) < RIM_LINE_MM && off.min(180.0 - off) < RIM_LINE_DEG
            })
        })
    });
}

/// Lines that run off the paper squarely.
fn exits(linked: &Linked, paper: &[Point]) -> Vec<Exit> {
    let n = paper.len();
    linked
        .free_ends()
        .into_iter()
        .filter_map(|end| {
            let edge = &linked.graph.edges[end.0];
            let from = linked.graph.nodes[edge.ends[end.1]];
            if edge.length_mm() < LINE_MM {
                return None;
            }
            let out = -heading(edge, end.1)?.1;
            (0..n)
                .filter_map(|k| {
                    let (a, along) = (paper[k], paper[(k + 1) % n] - paper[k]);
                    let cross = out.cross(along);
                    if cross.abs() < 1e-9 {
                        return None;
                    }
                    let (t, u) = ((a - from).cross(along) / cross, (a - from).cross(out) / cross);
                    let wide = wide_way(paper, k);
                    let square = (angle(out, wide) - 90.0).abs() < SQUARE_DEG;
                    ((-0.5..OFF_MM).contains(&t) && (0.0..=1.0).contains(&u) && square).then(|| Exit {
                        end,
                        at: from + out * t,
                        out,
                        along: k as f64 + u,
                    })
                })
                .min_by(|a, b| a.at.distance(from).total_cmp(&b.at.distance(from)))
        })
        .collect()
}

/// The ring's way about a segment, over a centimetre.
fn wide_way(ring: &[Point], k: usize) -> Vec2 {
    let n = ring.len();
    let reach = |step: usize| {
        let mut i = k;
        for _ in 0..n {
            i = (i + step) % n;
            if ring[i].distance(ring[k]) > 5.0 {
                break;
            }
        }
        ring[i]
    };
    reach(1) - reach(n - 1)
}

/// The straight fold between two exits, its ends where their lines meet it; `None` where the ring between is not straight.
/// Over white squares the paper's edge is found less well than elsewhere, so that most of the ring decides.
fn straight_fold(a: &Exit, b: &Exit, ring: &[Point]) -> Option<[Point; 2]> {
    if a.at.distance(b.at) < FOLD_MM {
        return None;
    }
    let n = ring.len();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "indices of a ring")]
    let between = |from: &Exit, to: &Exit| -> Vec<Point> {
        let (first, last) = (from.along.floor() as usize + 1, to.along.floor() as usize);
        (0..(last + n + 1 - first) % n).map(|k| ring[(first + k) % n]).collect()
    };
    [between(a, b), between(b, a)].into_iter().find_map(|places| {
        let mut kept = places.clone();
        let mut line = way_through(&kept)?;
        for _ in 0..8 {
            let off = |p: &Point| line.1.cross(*p - line.0).abs();
            let mut all: Vec<f64> = kept.iter().map(off).collect();
            all.sort_by(f64::total_cmp);
            let most = (2.5 * all[all.len() / 2]).max(STRAIGHT_MM / 2.0);
            kept.retain(|p| off(p) <= most);
            line = way_through(&kept)?;
        }
        let off = |p: &Point| line.1.cross(*p - line.0).abs();
        let straight = places.iter().filter(|p| off(p) < STRAIGHT_MM).count();
        let whole = places.iter().all(|p| off(p) < ASTRAY_MM);
        #[expect(clippy::cast_precision_loss, reason = "a few thousand places")]
        let enough = straight as f64 >= STRAIGHT_PART * places.len() as f64;
        let meet = |exit: &Exit| {
            let cross = exit.out.cross(line.1);
            exit.at + exit.out * ((line.0 - exit.at).cross(line.1) / cross)
        };
        (whole && enough).then(|| [meet(a), meet(b)])
    })
}
