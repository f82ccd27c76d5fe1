//! The skeleton as a graph: nodes where lines end, meet or bend sharply, and the edges between them.

use super::face::Face;
use super::ridge::around;
use crate::geometry::{Point, Vec2};
use std::collections::HashMap;

/// A spur of the skeleton shorter than this is none of the drawing, millimetres.
const SPUR_MM: f64 = 1.4;
/// Arms over which a bend is measured, millimetres.
const BEND_ARM_MM: f64 = 3.0;
/// A bend sharper than this is a corner, degrees. Written letters have many; they are told apart later.
const BEND_DEG: f64 = 38.0;
/// Spacing of an edge's points, millimetres.
pub(super) const SPACING_MM: f64 = 0.5;

/// A place on an edge.
#[derive(Debug, Clone, Copy)]
pub(super) struct Spot {
    pub(super) at: Point,
    /// Standard deviation across the line, millimetres.
    pub(super) sigma_mm: f64,
    /// Whether the line was seen clearly there.
    pub(super) seen: bool,
    /// How the line looks there.
    pub(super) look: Look,
}

/// How a line looks across it.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Look {
    /// How much darker than the paper it is at its darkest, part of the paper's light.
    pub(super) dark: f64,
    /// Width at half its darkness, millimetres.
    pub(super) wide_mm: f64,
    /// By how much one side is darker than the other, in times of its darkness.
    pub(super) step: f64,
    /// How much warmer (Cr less Cb) than the paper it is, in times of the luma that it takes off.
    pub(super) warm: f64,
}

impl Spot {
    /// A place where no ink is to be seen.
    pub(super) fn unseen(at: Point) -> Self {
        Self { at, sigma_mm: 0.3, seen: false, look: Look::default() }
    }
}

/// A stroke between two nodes.
#[derive(Debug, Clone)]
pub(super) struct Edge {
    pub(super) ends: [usize; 2],
    pub(super) spots: Vec<Spot>,
    /// True where no ink was seen and the neighbours were joined.
    pub(super) bridged: bool,
}

impl Edge {
    pub(super) fn length_mm(&self) -> f64 {
        self.spots.windows(2).map(|w| w[0].at.distance(w[1].at)).sum()
    }

    /// Its points going away from one end.
    pub(super) fn away_from(&self, end: usize) -> Vec<Point> {
        let points = self.spots.iter().map(|s| s.at);
        if end == 0 { points.collect() } else { points.rev().collect() }
    }
}

/// Nodes and edges.
#[derive(Debug, Clone, Default)]
pub(super) struct Graph {
    pub(super) nodes: Vec<Point>,
    pub(super) edges: Vec<Edge>,
}

impl Graph {
    /// Edges at every node, as edge and which of its ends.
    pub(super) fn arms(&self) -> Vec<Vec<(usize, usize)>> {
        let mut out = vec![Vec::new(); self.nodes.len()];
        for (k, edge) in self.edges.iter().enumerate() {
            out[edge.ends[0]].push((k, 0));
            out[edge.ends[1]].push((k, 1));
        }
        out
    }

    pub(super) fn new(face: &Face, on: &[bool]) -> Self {
        let mut graph = Self::traced(face, on);
        for _ in 0..3 {
            graph.prune();
            graph.join_plain_nodes();
        }
        graph.split_at_bends();
        for edge in &mut graph.edges {
            edge.spots = evenly(&edge.spots);
        }
        graph
    }

    fn traced(face: &Face, on: &[bool]) -> Self {
        let width = face.width;
        let steps = around(width);
        let live: Vec<usize> = (0..on.len()).filter(|k| on[*k]).collect();
        let neighbours = |k: usize| {
            steps.iter().map(move |s| k.wrapping_add_signed(*s)).filter(|j| on[*j]).collect::<Vec<_>>()
        };
        // A line one place wide has two neighbours everywhere but at its ends and where lines meet.
        let is_node = |k: usize| neighbours(k).len() != 2;
        let mut node_of: HashMap<usize, usize> = HashMap::new();
        let mut graph = Self::default();
        for &k in live.iter().filter(|k| is_node(**k)) {
            if node_of.contains_key(&k) {
                continue;
            }
            // Node places that touch are one node.
            let (mut stack, mut members) = (vec![k], Vec::new());
            while let Some(j) = stack.pop() {
                if node_of.insert(j, graph.nodes.len()).is_none() {
                    members.push(j);
                    stack.extend(
                        neighbours(j).into_iter().filter(|i| is_node(*i) && !node_of.contains_key(i)),
                    );
                }
            }
            let sum = members.iter().fold(Vec2::ZERO, |s, j| s + place(face, *j).to_vec2());
            graph.nodes.push((sum / members.len() as f64).to_point());
        }
        let mut used = vec![false; on.len()];
        let starts: Vec<usize> = {
            let mut list: Vec<usize> = node_of.keys().copied().collect();
            list.sort_unstable();
            list
        };
        for start in starts {
            let from = node_of[&start];
            for first in neighbours(start) {
                if used[first] || node_of.contains_key(&first) {
                    continue;
                }
                graph.follow(face, on, &node_of, &mut used, (from, start), first);
            }
        }
        // Closed lines without a node.
        for &k in &live {
            if used[k] || node_of.contains_key(&k) {
                continue;
            }
            let node = graph.nodes.len();
            graph.nodes.push(place(face, k));
            node_of.insert(k, node);
            if let Some(first) = neighbours(k).first() {
                graph.follow(face, on, &node_of, &mut used, (node, k), *first);
            }
        }
        graph
    }

    fn follow(
        &mut self,
        face: &Face,
        on: &[bool],
        node_of: &HashMap<usize, usize>,
        used: &mut [bool],
        (from, start): (usize, usize),
        first: usize,
    ) {
        let steps = around(face.width);
        let mut path = vec![self.nodes[from], place(face, first)];
        let (mut before, mut here) = (start, first);
        used[here] = true;
        let to = loop {
            let Some(next) =
                steps.iter().map(|s| here.wrapping_add_signed(*s)).find(|j| on[*j] && *j != before)
            else {
                return;
            };
            if let Some(node) = node_of.get(&next) {
                break *node;
            }
            path.push(place(face, next));
            used[next] = true;
            before = here;
            here = next;
        };
        // A hole of one place in the ink.
        if to == from && path.len() < 4 {
            return;
        }
        path.push(self.nodes[to]);
        let spots = path
            .into_iter()
            .map(|at| Spot { at, sigma_mm: face.pitch_mm, seen: false, look: Look::default() })
            .collect();
        self.edges.push(Edge { ends: [from, to], spots, bridged: false });
    }

    /// Takes off short spurs at junctions.
    fn prune(&mut self) {
        let arms = self.arms();
        let keep: Vec<bool> = self
            .edges
            .iter()
            .map(|e| {
                let degree = e.ends.map(|n| arms[n].len());
                let spur = degree.contains(&1) && degree.iter().any(|d| *d > 2) && e.length_mm() < SPUR_MM;
                let loop_of_noise = e.ends[0] == e.ends[1] && e.length_mm() < SPUR_MM;
                !spur && !loop_of_noise
            })
            .collect();
        let mut keep = keep.into_iter();
        self.edges.retain(|_| keep.next().unwrap_or(true));
    }

    /// Joins the two edges of every node that has no other.
    fn join_plain_nodes(&mut self) {
        for node in 0..self.nodes.len() {
            let at: Vec<(usize, usize)> = self
                .edges
                .iter()
                .enumerate()
                .flat_map(|(k, e)| [(k, 0), (k, 1)].into_iter().filter(|(_, end)| e.ends[*end] == node))
                .collect();
            let [(a, a_end), (b, b_end)] = at[..] else { continue };
            if a == b {
                continue;
            }
            let (first, second) = (self.edges[a].clone(), self.edges[b].clone());
            let mut spots = first.spots;
            if a_end == 0 {
                spots.reverse();
            }
            let mut rest = second.spots;
            if b_end == 1 {
                rest.reverse();
            }
            spots.extend(rest.into_iter().skip(1));
            let ends = [first.ends[1 - a_end], second.ends[1 - b_end]];
            self.edges[a] = Edge { ends, spots, bridged: false };
            self.edges.swap_remove(b);
        }
    }

    fn split_at_bends(&mut self) {
        let mut out = Vec::new();
        for edge in std::mem::take(&mut self.edges) {
            let spots = evenly(&smooth(&edge.spots));
            let mut from = 0;
            let mut start = edge.ends[0];
            for k in bends(&spots) {
                self.nodes.push(spots[k].at);
                let node = self.nodes.len() - 1;
                out.push(Edge { ends: [start, node], spots: spots[from..=k].to_vec(), bridged: false });
                (from, start) = (k, node);
            }
            out.push(Edge { ends: [start, edge.ends[1]], spots: spots[from..].to_vec(), bridged: false });
        }
        self.edges = out;
    }
}

fn place(face: &Face, k: usize) -> Point {
    face.place((k % face.width) as f64, (k / face.width) as f64)
}

/// Stairs of the lattice evened out, ends kept.
fn smooth(spots: &[Spot]) -> Vec<Spot> {
    let n = spots.len();
    (0..n)
        .map(|k| {
            let reach = 3.min(k).min(n - 1 - k);
            let sum = spots[k - reach..=k + reach].iter().fold(Vec2::ZERO, |s, p| s + p.at.to_vec2());
            Spot { at: (sum / (2 * reach + 1) as f64).to_point(), ..spots[k] }
        })
        .collect()
}

/// The same line with points evenly spaced, both ends kept.
pub(super) fn evenly(spots: &[Spot]) -> Vec<Spot> {
    let length: f64 = spots.windows(2).map(|w| w[0].at.distance(w[1].at)).sum();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a positive count")]
    let n = (length / SPACING_MM).round().max(1.0) as usize;
    let step = length / n as f64;
    let mut out = vec![spots[0]];
    let (mut passed, mut next) = (0.0, step);
    for w in spots.windows(2) {
        let d = w[0].at.distance(w[1].at);
        while out.len() < n && next <= passed + d {
            let t = (next - passed) / d.max(1e-12);
            out.push(Spot { at: w[0].at.lerp(w[1].at, t), ..w[0] });
            next += step;
        }
        passed += d;
    }
    out.push(spots[spots.len() - 1]);
    out
}

/// Indices of sharp bends.
fn bends(spots: &[Spot]) -> Vec<usize> {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few points")]
    let arm = (BEND_ARM_MM / SPACING_MM) as usize;
    let n = spots.len();
    if n < 2 * arm + 1 {
        return Vec::new();
    }
    let turn = |k: usize| {
        let (a, b) = (spots[k].at - spots[k - arm].at, spots[k + arm].at - spots[k].at);
        a.cross(b).atan2(a.dot(b)).abs().to_degrees()
    };
    let turns: Vec<f64> = (0..n).map(|k| if k >= arm && k + arm < n { turn(k) } else { 0.0 }).collect();
    (0..n)
        .filter(|&k| {
            turns[k] > BEND_DEG
                && (k.saturating_sub(arm)..(k + arm + 1).min(n))
                    .all(|j| turns[j] < turns[k] || (turns[j] <= turns[k] && j >= k))
        })
        .collect()
}
