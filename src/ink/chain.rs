//! Edges joined to lines: straight on through junctions, and over gaps.
//!
//! At a junction the two arms that go on straightest are one line (good continuation; the same rule that tracing
//! programs for line drawings use). A gap is closed where two free ends face each other.

use super::graph::{Edge, Graph, SPACING_MM, Spot};
use crate::geometry::{Point, Vec2};

/// Arms that depart from straight by less than this go on in each other, degrees.
const ON_DEG: f64 = 24.0;
/// Of two arms that go on about as straight the longer one is the line: an arm without length costs as much as this turn,
/// degrees, one of the second length nothing, millimetres. Letters cross lines with short strokes.
const SHORT_ARM_DEG: f64 = 8.0;
const LONG_ARM_MM: f64 = 20.0;
/// An arm's heading is taken between these distances from its end, millimetres: past the blot of the junction.
const HEADING_MM: (f64, f64) = (1.0, 7.0);
/// Two junctions closer than this are one, millimetres.
const ONE_NODE_MM: f64 = 1.8;
/// Two lines that cross at a small angle run together for this much at the most, millimetres, and their arms lie within
/// this of the shared way, degrees. Raising them takes letters for crossings.
const SHARED_MM: f64 = 9.0;
const SHARED_DEG: f64 = 30.0;
/// ... where they share no more than the blot of two broad pens, millimetres, within this, degrees.
const BLOT_SHARED_MM: f64 = 3.5;
const BLOT_SHARED_DEG: f64 = 50.0;
/// The widest gap of a line that is closed, millimetres: dashes stand 3 to 8 mm apart.
pub(super) const GAP_MM: f64 = 12.0;
/// Ends face each other within this, degrees, and this much aside, millimetres.
const FACE_DEG: f64 = 9.0;
const ASIDE_MM: f64 = 0.8;
/// ... within this where an end touches another line, degrees.
const TOUCHING_DEG: f64 = 2.0;
/// Only strokes this long have a heading to be trusted over a gap, millimetres.
const FACING_LEAST_MM: f64 = 3.5;
/// Free ends of long lines this near to each other are meant to meet in a corner, millimetres.
const CORNER_GAP_MM: f64 = 4.0;
/// ... lines of this length, millimetres.
const CORNER_LINE_MM: f64 = 20.0;

/// An end of an edge: the edge and 0 or 1.
pub(super) type End = (usize, usize);

/// A graph whose edges are linked to lines.
pub(super) struct Linked {
    pub(super) graph: Graph,
    /// For every edge, the ends that its own two ends go on in.
    pub(super) links: Vec<[Option<End>; 2]>,
}

/// A line: edges in order, each with the end at which it is entered.
#[derive(Debug, Clone)]
pub(super) struct Chain {
    pub(super) parts: Vec<End>,
    pub(super) closed: bool,
}

impl Linked {
    pub(super) fn new(mut graph: Graph) -> Self {
        merge_near_nodes(&mut graph);
        let links = vec![[None; 2]; graph.edges.len()];
        let mut linked = Self { graph, links };
        linked.pair();
        linked.bridge();
        linked.bridge_rows();
        linked.close_corners();
        linked
    }

    fn link(&mut self, a: End, b: End) {
        self.links[a.0][a.1] = Some(b);
        self.links[b.0][b.1] = Some(a);
    }

    fn pair(&mut self) {
        for arms in self.graph.arms() {
            let ways: Vec<(End, Vec2)> =
                arms.iter().filter_map(|a| Some((*a, heading(&self.graph.edges[a.0], a.1)?.1))).collect();
            let short = |end: End| {
                let part = self.graph.edges[end.0].length_mm() / LONG_ARM_MM;
                SHORT_ARM_DEG * (1.0 - part.min(1.0))
            };
            let mut candidates = Vec::new();
            for i in 0..ways.len() {
                for j in i + 1..ways.len() {
                    let off = angle(ways[i].1, -ways[j].1);
                    if off < ON_DEG {
                        let cost = off + short(ways[i].0) + short(ways[j].0);
                        candidates.push((cost, ways[i].0, ways[j].0));
                    }
                }
            }
            candidates.sort_by(|a, b| a.0.total_cmp(&b.0));
            for (_, a, b) in candidates {
                if self.links[a.0][a.1].is_none() && self.links[b.0][b.1].is_none() {
                    self.link(a, b);
                }
            }
        }
    }

    /// Ends at which nothing else is.
    pub(super) fn free_ends(&self) -> Vec<End> {
        self.graph.arms().into_iter().filter(|a| a.len() == 1).map(|a| a[0]).collect()
    }

    /// The end beyond a corner at which two edges meet and nothing else.
    pub(super) fn round_corner(&self, end: End) -> Option<End> {
        let node = self.graph.edges[end.0].ends[end.1];
        let arms = &self.graph.arms()[node];
        if arms.len() == 2 { arms.iter().copied().find(|a| *a != end) } else { None }
    }

    /// Adds an edge that nothing goes on in.
    pub(super) fn push_edge(&mut self, edge: Edge) {
        self.graph.edges.push(edge);
        self.links.push([None; 2]);
    }

    /// Carries a line on from its end to a node, where no ink was seen.
    pub(super) fn carry_on(&mut self, end: End, node: usize) {
        let places = [self.place_at(end), self.graph.nodes[node]];
        let new = self.add_bridge([self.node_at(end), node], places);
        self.link(end, (new, 0));
    }

    fn bridge(&mut self) {
        let free = self.free_ends();
        let unlinked = (0..self.graph.edges.len())
            .flat_map(|k| [(k, 0), (k, 1)])
            .filter(|e| self.links[e.0][e.1].is_none());
        let ends: Vec<(End, Point, Vec2)> = unlinked
            .filter(|e| self.graph.edges[e.0].length_mm() >= FACING_LEAST_MM)
            .filter_map(|e| {
                let (_, way) = heading(&self.graph.edges[e.0], e.1)?;
                Some((e, self.place_at(e), -way))
            })
            .collect();
        let mut candidates = Vec::new();
        for i in 0..ends.len() {
            for j in i + 1..ends.len() {
                let (a, b) = (&ends[i], &ends[j]);
                let gap = b.1 - a.1;
                let length = gap.hypot();
                if length > GAP_MM || a.0.0 == b.0.0 || self.node_at(a.0) == self.node_at(b.0) {
                    continue;
                }
                // An end that touches another line may face a dash beyond it, but squarely.
                let strict = [a.0, b.0].iter().any(|e| !free.contains(e));
                let most =
                    if strict { TOUCHING_DEG } else { FACE_DEG } + (ASIDE_MM / length).atan().to_degrees();
                let off = angle(a.2, gap).max(angle(b.2, -gap));
                if off < most {
                    candidates.push((length * (1.0 + off / 20.0), a.0, b.0));
                }
            }
        }
        candidates.sort_by(|a, b| a.0.total_cmp(&b.0));
        for (_, a, b) in candidates {
            if self.links[a.0][a.1].is_none() && self.links[b.0][b.1].is_none() {
                self.bridge_ends(a, b);
            }
        }
    }

    /// A dash whose row goes on beyond a letter goes on with its row, not with the letter's stroke.
    fn bridge_rows(&mut self) {
        let dash = |linked: &Self, end: End| {
            linked.links[end.0][1 - end.1].is_some_and(|next| linked.graph.edges[next.0].bridged)
        };
        let ends: Vec<(End, Point, Vec2)> = (0..self.graph.edges.len())
            .flat_map(|k| [(k, 0), (k, 1)])
            .filter(|e| !self.graph.edges[e.0].bridged && dash(self, *e))
            .filter(|e| self.graph.edges[e.0].length_mm() >= FACING_LEAST_MM)
            .filter_map(|e| Some((e, self.place_at(e), -heading(&self.graph.edges[e.0], e.1)?.1)))
            .collect();
        for a in &ends {
            if self.links[a.0.0][a.0.1].is_some() {
                continue;
            }
            let best = ends
                .iter()
                .filter(|b| b.0.0 != a.0.0 && self.node_at(b.0) != self.node_at(a.0))
                .filter(|b| a.1.distance(b.1) <= GAP_MM)
                .filter(|b| {
                    self.links[b.0.0][b.0.1].is_some_and(|next| {
                        let edge = &self.graph.edges[next.0];
                        !edge.bridged && edge.length_mm() < LONG_ARM_MM && !dash(self, next)
                    })
                })
                .filter(|b| {
                    let gap = b.1 - a.1;
                    let most = TOUCHING_DEG + (ASIDE_MM / gap.hypot().max(1e-6)).atan().to_degrees();
                    angle(a.2, gap).max(angle(b.2, -gap)) < most
                })
                .min_by(|b, c| a.1.distance(b.1).total_cmp(&a.1.distance(c.1)));
            let Some(b) = best.map(|b| b.0) else { continue };
            if let Some(letter) = self.links[b.0][b.1] {
                self.links[letter.0][letter.1] = None;
            }
            self.bridge_ends(a.0, b);
        }
    }

    /// Joins two ends by an edge that both go on in.
    fn bridge_ends(&mut self, a: End, b: End) {
        let new = self.add_bridge([self.node_at(a), self.node_at(b)], [self.place_at(a), self.place_at(b)]);
        self.link(a, (new, 0));
        self.link((new, 1), b);
    }

    /// An edge between two nodes where no ink was seen, from place to place.
    fn add_bridge(&mut self, ends: [usize; 2], [a, b]: [Point; 2]) -> usize {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a positive count")]
        let n = (a.distance(b) / SPACING_MM).ceil().max(1.0) as usize;
        let spots = (0..=n).map(|k| Spot::unseen(a.lerp(b, k as f64 / n as f64))).collect();
        self.push_edge(Edge { ends, spots, bridged: true });
        self.graph.edges.len() - 1
    }

    /// Where an edge's own ink ends: a node made of several lies beside it.
    fn place_at(&self, end: End) -> Point {
        let spots = &self.graph.edges[end.0].spots;
        spots[if end.1 == 0 { 0 } else { spots.len() - 1 }].at
    }

    fn node_at(&self, end: End) -> usize {
        self.graph.edges[end.0].ends[end.1]
    }

    /// Joins free ends of long lines that nearly meet.
    fn close_corners(&mut self) {
        let lengths: Vec<(Vec<End>, f64)> = self
            .chains(|_| true)
            .into_iter()
            .map(|c| {
                let mm = c.parts.iter().map(|p| self.graph.edges[p.0].length_mm()).sum();
                (c.parts, mm)
            })
            .collect();
        let long = |edge: usize| {
            lengths.iter().any(|(parts, mm)| *mm >= CORNER_LINE_MM && parts.iter().any(|p| p.0 == edge))
        };
        let mut ends: Vec<End> = self.free_ends().into_iter().filter(|e| long(e.0)).collect();
        while let Some(a) = ends.pop() {
            let at = |e: &End| self.graph.nodes[self.graph.edges[e.0].ends[e.1]];
            let near = ends.iter().position(|b| at(&a).distance(at(b)) < CORNER_GAP_MM);
            if let Some(index) = near {
                let b = ends.swap_remove(index);
                self.add_bridge([self.node_at(a), self.node_at(b)], [self.place_at(a), self.place_at(b)]);
            }
        }
    }

    /// Lines of the edges that are wanted.
    pub(super) fn chains(&self, wanted: impl Fn(usize) -> bool) -> Vec<Chain> {
        let n = self.graph.edges.len();
        let mut used: Vec<bool> = (0..n).map(|k| !wanted(k)).collect();
        let go_on = |end: End, used: &[bool]| self.links[end.0][end.1].filter(|next| !used[next.0]);
        let mut out = Vec::new();
        for closed in [false, true] {
            for k in 0..n {
                if used[k] {
                    continue;
                }
                // A line begins at an edge that nothing goes on into, or anywhere on a closed one.
                let enter = [0, 1].into_iter().find(|e| go_on((k, *e), &used).is_none());
                let Some(enter) = enter.or(closed.then_some(0)) else { continue };
                let mut parts = vec![(k, enter)];
                used[k] = true;
                let mut last = (k, 1 - enter);
                while let Some(next) = go_on(last, &used) {
                    used[next.0] = true;
                    parts.push(next);
                    last = (next.0, 1 - next.1);
                }
                let whole = closed || self.closes(&parts);
                out.push(Chain { parts, closed: whole });
            }
        }
        out
    }

    /// Whether a line's two ends are one node.
    fn closes(&self, parts: &[End]) -> bool {
        let node = |p: End, far: bool| self.graph.edges[p.0].ends[if far { 1 - p.1 } else { p.1 }];
        node(parts[0], false) == node(parts[parts.len() - 1], true)
    }

    /// Places along a line, with whether each is bridged.
    pub(super) fn spots(&self, chain: &Chain) -> Vec<(Spot, bool)> {
        let mut out: Vec<(Spot, bool)> = Vec::new();
        for &(k, enter) in &chain.parts {
            let edge = &self.graph.edges[k];
            let skip = usize::from(!out.is_empty());
            let add = |s: &Spot| (*s, edge.bridged);
            if enter == 0 {
                out.extend(edge.spots.iter().skip(skip).map(add));
            } else {
                out.extend(edge.spots.iter().rev().skip(skip).map(add));
            }
        }
        out
    }

    /// The nodes at a line's two ends.
    pub(super) fn end_nodes(&self, chain: &Chain) -> [usize; 2] {
        let (first, last) = (chain.parts[0], chain.parts[chain.parts.len() - 1]);
        [self.graph.edges[first.0].ends[first.1], self.graph.edges[last.0].ends[1 - last.1]]
    }
}

/// Angle between two ways, degrees.
pub(super) fn angle(a: Vec2, b: Vec2) -> f64 {
    a.cross(b).atan2(a.dot(b)).abs().to_degrees()
}

/// A place near an edge's end and the way from it into the edge, of length 1.
pub(super) fn heading(edge: &Edge, end: usize) -> Option<(Point, Vec2)> {
    let points = edge.away_from(end);
    let length = edge.length_mm();
    let (near, far) = if length > 3.0 * HEADING_MM.0 { HEADING_MM } else { (0.0, HEADING_MM.1) };
    let chosen: Vec<Point> =
        points.iter().copied().filter(|p| (near..=far).contains(&p.distance(points[0]))).collect();
    way_through(&chosen)
}

/// The straight line through points (least squares of the distances) and its way from the first to the last.
pub(super) fn way_through(points: &[Point]) -> Option<(Point, Vec2)> {
    let n = points.len() as f64;
    if points.len() < 2 {
        return None;
    }
    let middle = (points.iter().fold(Vec2::ZERO, |s, p| s + p.to_vec2()) / n).to_point();
    let (mut xx, mut yy, mut xy) = (0.0, 0.0, 0.0);
    for p in points {
        let d = *p - middle;
        xx += d.x * d.x;
        yy += d.y * d.y;
        xy += d.x * d.y;
    }
    let way = Vec2::from_angle(0.5 * (2.0 * xy).atan2(xx - yy));
    let along = points[points.len() - 1] - points[0];
    Some((middle, if way.dot(along) < 0.0 { -way } else { way }))
}

/// Whether a short edge is where two lines that cross at a small angle run together: each goes on beyond it.
fn is_shared(graph: &Graph, arms: &[Vec<End>], edge: usize) -> bool {
    let e = &graph.edges[edge];
    let along = graph.nodes[e.ends[1]] - graph.nodes[e.ends[0]];
    let most = if e.length_mm() < BLOT_SHARED_MM { BLOT_SHARED_DEG } else { SHARED_DEG };
    let ways = |n: usize, away: Vec2| -> Option<[Vec2; 2]> {
        let others: Vec<Vec2> = arms[e.ends[n]]
            .iter()
            .filter(|a| a.0 != edge)
            .map(|a| heading(&graph.edges[a.0], a.1).map(|h| h.1).filter(|way| angle(*way, away) < most))
            .collect::<Option<_>>()?;
        others.try_into().ok()
    };
    if e.length_mm() > SHARED_MM || e.ends[0] == e.ends[1] {
        return false;
    }
    let (Some(a), Some(b)) = (ways(0, -along), ways(1, along)) else { return false };
    let meet = |i: usize, j: usize| angle(a[i], -b[j]) < ON_DEG / 2.0;
    // Lines that cross change sides; lines that only touch do not.
    (0..2).any(|j| meet(0, j) && meet(1, 1 - j)) && along.cross(a[0]) * along.cross(a[1]) < 0.0
}

/// Makes junctions that a short edge joins one junction.
fn merge_near_nodes(graph: &mut Graph) {
    loop {
        let arms = graph.arms();
        let short = (0..graph.edges.len()).find(|&k| {
            let e = &graph.edges[k];
            let near = e.length_mm() < ONE_NODE_MM && e.ends.iter().all(|n| arms[*n].len() > 2);
            e.ends[0] != e.ends[1] && (near || is_shared(graph, &arms, k))
        });
        let Some(k) = short else { return };
        let [a, b] = graph.edges.swap_remove(k).ends;
        graph.nodes[a] = graph.nodes[a].midpoint(graph.nodes[b]);
        for edge in &mut graph.edges {
            for end in 0..2 {
                if edge.ends[end] == b {
                    edge.ends[end] = a;
                }
            }
        }
    }
}
