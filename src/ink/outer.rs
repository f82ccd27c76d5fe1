//! The outer line: of the drawing's closed loops, the one that goes round the most.

use super::chain::{End, Linked};
use super::graph::{Edge, Spot};
use super::settle::{self, Run};
use crate::geometry::{Point, Trace, TracePoint};
use std::collections::{HashMap, HashSet};

/// Places so near to a junction are not used: the other line's ink lies in their sections, millimetres.
pub(super) const BLOT_MM: f64 = 1.4;

/// A way round: edges in order, each with the end at which it is entered.
pub(super) struct Loop {
    pub(super) parts: Vec<End>,
    pub(super) area_mm2: f64,
}

/// Outer ways of all separate figures that close, the largest first.
pub(super) fn loops(linked: &Linked) -> Vec<Loop> {
    let edges = &linked.graph.edges;
    let mut live: Vec<bool> = vec![true; edges.len()];
    // An edge that is passed on both sides of one way round joins two figures and belongs to neither.
    loop {
        peel(linked, &mut live);
        let faces = faces(linked, &live);
        let mut cut = false;
        for face in &faces {
            let mut seen: HashMap<usize, usize> = HashMap::new();
            for (k, _) in face {
                *seen.entry(*k).or_default() += 1;
            }
            for (k, count) in seen {
                if count > 1 && live[k] && parts_two(edges, &live, k) {
                    live[k] = false;
                    cut = true;
                }
            }
        }
        if cut {
            continue;
        }
        let part = parts_of(edges, &live);
        let mut best: HashMap<usize, Loop> = HashMap::new();
        for face in faces {
            let face = largest_cycle(edges, &face);
            let area = area(edges, &face);
            let entry = best.entry(part[&edges[face[0].0].ends[0]]);
            let known = entry.or_insert(Loop { parts: Vec::new(), area_mm2: 0.0 });
            if area.abs() > known.area_mm2 {
                *known =
                    Loop { parts: if area > 0.0 { face } else { reversed(&face) }, area_mm2: area.abs() };
            }
        }
        let mut out: Vec<Loop> = best.into_values().filter(|l| !l.parts.is_empty()).collect();
        out.sort_by(|a, b| b.area_mm2.total_cmp(&a.area_mm2));
        return out;
    }
}

/// An arm's direction at a node is taken so far from where it begins, millimetres.
const WAY_MM: f64 = 2.0;

/// Whether the figure falls into two without an edge.
fn parts_two(edges: &[Edge], live: &[bool], without: usize) -> bool {
    let [from, to] = edges[without].ends;
    let (mut seen, mut stack) = (HashSet::from([from]), vec![from]);
    while let Some(node) = stack.pop() {
        let near =
            edges.iter().enumerate().filter(|(k, e)| live[*k] && *k != without && e.ends.contains(&node));
        for (_, edge) in near {
            let other = if edge.ends[0] == node { edge.ends[1] } else { edge.ends[0] };
            if seen.insert(other) {
                stack.push(other);
            }
        }
    }
    !seen.contains(&to)
}

/// Of a way round that comes to a node again, the part with the largest area that does not.
fn largest_cycle(edges: &[Edge], face: &[End]) -> Vec<End> {
    let mut cycles: Vec<Vec<End>> = Vec::new();
    let mut open: Vec<End> = Vec::new();
    for &part in face {
        open.push(part);
        let node = edges[part.0].ends[1 - part.1];
        if let Some(first) = open.iter().position(|p| edges[p.0].ends[p.1] == node) {
            cycles.push(open.split_off(first));
        }
    }
    let size = |cycle: &Vec<End>| area(edges, cycle).abs();
    cycles.into_iter().max_by(|a, b| size(a).total_cmp(&size(b))).unwrap_or_else(|| face.to_vec())
}

fn reversed(parts: &[End]) -> Vec<End> {
    parts.iter().rev().map(|(k, enter)| (*k, 1 - enter)).collect()
}

/// Takes off edges that end freely, again and again.
fn peel(linked: &Linked, live: &mut [bool]) {
    let edges = &linked.graph.edges;
    loop {
        let mut degree = vec![0; linked.graph.nodes.len()];
        for (edge, _) in edges.iter().zip(live.iter()).filter(|(_, l)| **l) {
            for n in edge.ends {
                degree[n] += 1;
            }
        }
        let mut changed = false;
        for (k, edge) in edges.iter().enumerate() {
            if live[k] && edge.ends.iter().any(|n| degree[*n] < 2) {
                live[k] = false;
                changed = true;
            }
        }
        if !changed {
            return;
        }
    }
}

/// Every way round a face of the live graph.
fn faces(linked: &Linked, live: &[bool]) -> Vec<Vec<End>> {
    let edges = &linked.graph.edges;
    // Arms at every node in the order of their directions.
    let mut round: HashMap<usize, Vec<(f64, End)>> = HashMap::new();
    for (k, edge) in edges.iter().enumerate().filter(|(k, _)| live[*k]) {
        for end in 0..2 {
            let points = edge.away_from(end);
            let from = linked.graph.nodes[edge.ends[end]];
            // A node made of several lies beside the beginnings of its arms.
            let clear = WAY_MM + points[0].distance(from);
            let far = points.iter().find(|p| p.distance(from) >= clear).unwrap_or(&points[points.len() - 1]);
            let way = *far - from;
            round.entry(edge.ends[end]).or_default().push((way.atan2(), (k, end)));
        }
    }
    for list in round.values_mut() {
        list.sort_by(|a, b| a.0.total_cmp(&b.0));
    }
    let next = |(k, enter): End| -> Option<End> {
        let out = (k, 1 - enter);
        let list = round.get(&edges[k].ends[out.1])?;
        let at = list.iter().position(|(_, e)| *e == out)?;
        Some(list[(at + 1) % list.len()].1)
    };
    let mut used: HashMap<End, bool> = HashMap::new();
    let mut out = Vec::new();
    for k in (0..edges.len()).filter(|k| live[*k]) {
        for enter in 0..2 {
            if used.contains_key(&(k, enter)) {
                continue;
            }
            let (mut face, mut here) = (Vec::new(), (k, enter));
            while used.insert(here, true).is_none() {
                face.push(here);
                let Some(on) = next(here) else { break };
                here = on;
            }
            if !face.is_empty() {
                out.push(face);
            }
        }
    }
    out
}

/// Which separate figure every node belongs to.
fn parts_of(edges: &[Edge], live: &[bool]) -> HashMap<usize, usize> {
    let mut part: HashMap<usize, usize> = HashMap::new();
    for edge in edges.iter().zip(live).filter(|(_, l)| **l).map(|(e, _)| e) {
        let [a, b] = edge.ends.map(|n| part.get(&n).copied().unwrap_or(n));
        part.entry(edge.ends[0]).or_insert(a);
        part.entry(edge.ends[1]).or_insert(b);
        for p in part.values_mut() {
            if *p == b {
                *p = a;
            }
        }
    }
    part
}

fn area(edges: &[Edge], face: &[End]) -> f64 {
    let points: Vec<Point> = face.iter().flat_map(|(k, enter)| edges[*k].away_from(*enter)).collect();
    let n = points.len();
    (0..n).map(|i| points[i].to_vec2().cross(points[(i + 1) % n].to_vec2()) / 2.0).sum()
}

/// The same way without what lines that cross it enclose outside: where two lines cross and both go on, the way goes on in
/// its own one, if that comes back to it.
pub(super) fn straight_on(linked: &Linked, way: &Loop) -> Loop {
    let mut parts = way.parts.clone();
    let mut i = 0;
    while i < parts.len() {
        match detour(linked, &parts, i) {
            Some((count, on)) => {
                parts.rotate_left(i);
                let rest = parts.split_off(1 + count);
                parts.truncate(1);
                parts.extend(on);
                parts.extend(rest);
                let area_mm2 = area(&linked.graph.edges, &parts).abs();
                if area_mm2 < DETOUR_PART * way.area_mm2 {
                    return Loop { parts: way.parts.clone(), area_mm2: way.area_mm2 };
                }
                i = 0;
            }
            None => i += 1,
        }
    }
    let area_mm2 = area(&linked.graph.edges, &parts).abs();
    Loop { parts, area_mm2 }
}

/// The outer line keeps at least this part of the area that all lines go round.
const DETOUR_PART: f64 = 0.6;

/// After part `i` of a way: how many parts leave its line and come back to it, and the parts of the line itself.
fn detour(linked: &Linked, parts: &[End], i: usize) -> Option<(usize, Vec<End>)> {
    let n = parts.len();
    let part = |k: usize| parts[(i + k) % n];
    let out = |p: End| (p.0, 1 - p.1);
    // Both lines go on beyond the crossing.
    let own = linked.links[parts[i].0][1 - parts[i].1].filter(|own| *own != part(1))?;
    linked.links[part(1).0][part(1).1].filter(|back| *back != out(part(0)))?;
    let mut on = vec![own];
    while on.len() < n {
        let last = *on.last()?;
        let end = out(last);
        let next = linked.links[end.0][end.1].or_else(|| linked.round_corner(end))?;
        let back = (2..n).find(|k| part(*k) == next);
        if let Some(k) = back {
            let foreign = out(part(k - 1));
            return linked.links[foreign.0][foreign.1].is_some().then_some((k - 1, on));
        }
        if on.contains(&next) || parts.iter().any(|p| p.0 == next.0) {
            return None;
        }
        on.push(next);
    }
    None
}

/// The loop as a trace, its corners where the arms meet.
pub(super) fn trace(linked: &Linked, way: &Loop, blots: &[Point]) -> Trace {
    let other = OtherInk::new(linked, way);
    let n = way.parts.len();
    let smooth = |i: usize| {
        let (a, b) = (way.parts[i], way.parts[(i + 1) % n]);
        linked.links[a.0][1 - a.1] == Some(b) || turn(linked, way, i) < CORNER_DEG
    };
    let Some(first) = (0..n).find(|i| !smooth(*i)) else {
        return settled_ring(linked, way, &other, blots);
    };
    let mut groups: Vec<Vec<End>> = Vec::new();
    for i in 0..n {
        let here = (first + 1 + i) % n;
        if i == 0 || !smooth((here + n - 1) % n) {
            groups.push(Vec::new());
        }
        if let Some(group) = groups.last_mut() {
            group.push(way.parts[here]);
        }
    }
    // A bridge or a scrap between two corners is the corner itself.
    let length = |g: &[End]| g.iter().map(|p| linked.graph.edges[p.0].length_mm()).sum::<f64>();
    if groups.len() > 3 {
        groups.retain(|g| length(g) > SCRAP_MM);
    }
    let runs: Vec<Run> = groups
        .iter()
        .map(|g| {
            let chain = super::chain::Chain { parts: g.clone(), closed: false };
            Run::new(other.without(linked.spots(&chain)), blots, BLOT_MM)
        })
        .collect();
    let mut out = Trace::default();
    for (i, run) in runs.iter().enumerate() {
        let before = &runs[(i + runs.len() - 1) % runs.len()];
        let node = |p: End| linked.graph.nodes[linked.graph.edges[p.0].ends[p.1]];
        let at = settle::corner(before, run, node(groups[i][0]));
        out.corners.push(out.points.len());
        out.points.push(TracePoint { at, sigma_mm: 0.05, bridged: false });
        let end = groups[i][groups[i].len() - 1];
        let far = node((end.0, 1 - end.1));
        let next = settle::corner(run, &runs[(i + 1) % runs.len()], far);
        // Points past the corner's place are the blot's.
        let points = run.points([false, false]);
        out.points
            .extend(points.into_iter().filter(|p| p.at.distance(at) > 0.7 && p.at.distance(next) > 0.7));
    }
    out
}

/// A joint of two edges that turns less than this is no corner, degrees: the ink was broken or touched there.
const CORNER_DEG: f64 = 15.0;
/// The ways before and after a joint are taken between these distances from it, millimetres.
const TURN_MM: (f64, f64) = (1.5, 8.0);

/// The turn of the loop at the end of its part `i`, degrees.
fn turn(linked: &Linked, way: &Loop, i: usize) -> f64 {
    let n = way.parts.len();
    let edges = &linked.graph.edges;
    // Places going away from the joint, over as many parts as it takes.
    let arm = |first: usize, back: bool| {
        let mut places: Vec<Point> = Vec::new();
        let mut length = 0.0;
        for k in 0..n {
            let (edge, enter) = way.parts[if back { (first + n - k) % n } else { (first + k) % n }];
            places.extend(edges[edge].away_from(if back { 1 - enter } else { enter }));
            length += edges[edge].length_mm();
            if length > TURN_MM.1 {
                break;
            }
        }
        let joint = places[0];
        let at = |mm: f64| places.iter().copied().find(|p| p.distance(joint) >= mm).unwrap_or(joint);
        at(TURN_MM.1) - at(TURN_MM.0)
    };
    super::chain::angle(-arm(i, true), arm((i + 1) % n, false))
}

/// Ink that is not the loop's, by cells: lines that cross at a small angle run beside each other over centimetres.
struct OtherInk(HashMap<(i64, i64), Vec<Point>>);

#[expect(clippy::cast_possible_truncation, reason = "cells of a millimetre or two")]
fn cell(p: Point) -> (i64, i64) {
    ((p.x / BLOT_MM).floor() as i64, (p.y / BLOT_MM).floor() as i64)
}

impl OtherInk {
    fn new(linked: &Linked, way: &Loop) -> Self {
        let mine: HashSet<usize> = way.parts.iter().map(|p| p.0).collect();
        let edges = linked.graph.edges.iter().enumerate();
        let mut cells: HashMap<(i64, i64), Vec<Point>> = HashMap::new();
        for spot in edges.filter(|(k, e)| !mine.contains(k) && !e.bridged).flat_map(|(_, e)| &e.spots) {
            cells.entry(cell(spot.at)).or_default().push(spot.at);
        }
        Self(cells)
    }

    /// A run's places, those beside other ink taken for unseen.
    fn without(&self, mut spots: Vec<(Spot, bool)>) -> Vec<(Spot, bool)> {
        for (spot, _) in &mut spots {
            let (x, y) = cell(spot.at);
            let cells = (-1..=1).flat_map(|dx| (-1..=1).map(move |dy| (x + dx, y + dy)));
            let mut near = cells.filter_map(|c| self.0.get(&c)).flatten();
            spot.seen &= !near.any(|q| q.distance(spot.at) < BLOT_MM);
        }
        spots
    }
}

/// What lies between two corners and is shorter than this is no side, millimetres.
const SCRAP_MM: f64 = 4.5;

fn settled_ring(linked: &Linked, way: &Loop, other: &OtherInk, blots: &[Point]) -> Trace {
    let chain = super::chain::Chain { parts: way.parts.clone(), closed: true };
    let spots = other.without(linked.spots(&chain));
    Trace { points: Run::new(spots, blots, BLOT_MM).points([true, false]), corners: Vec::new() }
}
