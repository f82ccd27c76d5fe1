//! What each stroke inside the outer line is proposed to be, with the evidence.
//!
//! The trade's signs as they are drawn by hand (common practice, no source): a grain line is long and straight with an
//! arrowhead at its ends, a notch is a short stroke from the outer line, a cross marks a place, a dart is two legs that
//! meet in a point, a hem runs beside an edge. Handwriting turns much over little length, or is made of short strokes that
//! hang together or stand close; it is left out.

use super::chain::{Chain, Linked, angle, way_through};
use super::graph::Spot;
use super::settle::Run;
use crate::geometry::{Point, Vec2};

/// What a drawn line is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Meaning {
    /// The direction of the cloth's grain.
    Grain,
    /// Where a hem is folded.
    Hem,
    /// The legs of a dart.
    Dart,
    /// Where a pocket or the like is laid.
    Placement,
    /// A notch at the outer line.
    Notch,
    /// A cross at a place.
    Cross,
    /// A small circle at a place: a hole to drill.
    Drill,
    /// An inner line of no known purpose.
    Inner,
}

impl Meaning {
    /// A short word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Grain => "grain",
            Self::Hem => "hem",
            Self::Dart => "dart",
            Self::Placement => "placement",
            Self::Notch => "notch",
            Self::Cross => "cross",
            Self::Drill => "drill",
            Self::Inner => "inner",
        }
    }
}

/// A line or mark inside the outer line.
#[derive(Debug, Clone, PartialEq)]
pub struct Inner {
    /// What it is proposed to be.
    pub is: Meaning,
    /// The evidence, in words.
    pub why: String,
    /// Its strokes, each a run of places on the table, millimetres; a straight stroke has two.
    pub strokes: Vec<Vec<Point>>,
    /// Drawn in dashes.
    pub dashed: bool,
    /// Length where no ink was seen and its neighbours were joined (dashes' gaps too), millimetres.
    pub bridged_mm: f64,
}

/// The least length of an inner line, millimetres: longer than letters are high.
const LINE_MM: f64 = 25.0;
/// From here on a line is a line though handwriting touches its ends, millimetres.
const SURE_LINE_MM: f64 = 60.0;
/// Handwriting turns more than this, degrees a millimetre; a round pocket corner in a long line less.
const TURN_MOST: f64 = 2.5;
/// A stroke whose places lie within this of a line is straight, millimetres, and this part of its length.
const STRAIGHT_MM: f64 = 0.35;
const STRAIGHT_PART: f64 = 0.004;
/// Lengths of a notch, millimetres.
const NOTCH_MM: (f64, f64) = (3.5, 16.0);
/// A notch begins this near to the outer line, millimetres, and stands across it by this, degrees.
const NOTCH_GAP_MM: f64 = 2.5;
const NOTCH_DEG: f64 = 45.0;
/// Lengths of a cross's strokes, millimetres, and the angle between them at least, degrees.
const CROSS_MM: (f64, f64) = (3.0, 26.0);
const CROSS_DEG: f64 = 60.0;
/// A mark that stands alone has no other short stroke within this, millimetres.
const ALONE_MM: f64 = 7.0;
/// Diameters of a drill mark, millimetres.
const DRILL_MM: (f64, f64) = (2.0, 14.0);
/// The longest stroke of an arrowhead, millimetres, and its angle to the line, degrees.
const HEAD_MM: f64 = 16.0;
const HEAD_DEG: (f64, f64) = (12.0, 70.0);
/// An arrowhead's strokes run together with the line over this much, millimetres.
const TIP_MM: f64 = 4.5;
/// Lines parallel within this that follow each other are one line, degrees.
const ONE_LINE_DEG: f64 = 4.0;
/// Ends this near to each other are one place, millimetres.
const MEET_MM: f64 = 7.0;
/// A dart's point is this sharp at the most, degrees.
const DART_DEG: f64 = 50.0;
/// Far from the outer line a line beside it is no hem, millimetres.
const HEM_MM: f64 = 70.0;
/// A line is beside an edge within this, degrees.
const BESIDE_DEG: f64 = 9.0;

/// A line with what is measured of it.
struct Line {
    chain: Chain,
    spots: Vec<(Spot, bool)>,
    length_mm: f64,
    bridged_mm: f64,
    turn: f64,
    straight: bool,
    nodes: [usize; 2],
    ends: [Point; 2],
    /// Settled places, two for a straight line.
    path: Vec<Point>,
}

impl Line {
    fn new(linked: &Linked, chain: Chain, blots: &[Point]) -> Self {
        let spots = linked.spots(&chain);
        let run = Run::new(spots.clone(), blots, super::outer::BLOT_MM);
        let length_mm = run.length_mm();
        let parts = chain.parts.iter().map(|p| &linked.graph.edges[p.0]);
        let bridged_mm = parts.filter(|e| e.bridged).map(super::graph::Edge::length_mm).sum();
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

    fn way(&self) -> Vec2 {
        (self.path[self.path.len() - 1] - self.path[0]).normalize()
    }

    fn dashed(&self) -> bool {
        self.bridged_mm > 0.08 * self.length_mm && self.chain.parts.len() > 4
    }

    fn nearest(&self, p: Point) -> f64 {
        self.spots.iter().map(|s| s.0.at.distance(p)).fold(f64::INFINITY, f64::min)
    }

    fn apart(&self, other: &Self) -> f64 {
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

/// Lines and marks; and how many strokes were left out as handwriting.
pub(super) fn read(linked: &Linked, used: &[bool], ring: &[Point], blots: &[Point]) -> (Vec<Inner>, usize) {
    let lines: Vec<Line> = linked
        .chains(|k| !used[k])
        .into_iter()
        .map(|chain| Line::new(linked, chain, blots))
        .filter(|l| l.length_mm > 1.5)
        .collect();
    let mut reader = Reader { lines: &lines, ring, taken: vec![false; lines.len()], out: Vec::new() };
    reader.long_lines();
    reader.notches();
    reader.crosses();
    reader.drills();
    let left = reader.taken.iter().filter(|t| !**t).count();
    (reader.out, left)
}

struct Reader<'a> {
    lines: &'a [Line],
    ring: &'a [Point],
    taken: Vec<bool>,
    out: Vec<Inner>,
}

impl Reader<'_> {
    fn to_ring(&self, p: Point) -> (f64, Vec2) {
        let n = self.ring.len();
        let mut best = (f64::INFINITY, Vec2::new(1.0, 0.0));
        for i in 0..n {
            let (a, along) = (self.ring[i], self.ring[(i + 1) % n] - self.ring[i]);
            let t = ((p - a).dot(along) / along.hypot2().max(1e-12)).clamp(0.0, 1.0);
            let d = (a + along * t).distance(p);
            if d < best.0 {
                best = (d, along);
            }
        }
        best
    }

    fn inside(&self, p: Point) -> bool {
        let n = self.ring.len();
        (0..n)
            .filter(|&i| {
                let (a, b) = (self.ring[i], self.ring[(i + 1) % n]);
                (a.y > p.y) != (b.y > p.y) && a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x) > p.x
            })
            .count()
            % 2
            == 1
    }

    /// Whether a line's end runs into other strokes that are no lines, arrowheads left aside.
    fn in_writing(&self, i: usize, long: &[usize]) -> bool {
        let line = &self.lines[i];
        let outward =
            [line.path[0] - line.path[line.path.len() - 1], line.path[line.path.len() - 1] - line.path[0]];
        (0..2).any(|end| {
            (0..self.lines.len()).any(|j| {
                let other = &self.lines[j];
                if j == i || long.contains(&j) || !other.nodes.contains(&line.nodes[end]) {
                    return false;
                }
                let head = other.straight
                    && other.length_mm < HEAD_MM
                    && angle(other.way(), outward[end]).min(angle(-other.way(), outward[end])) > HEAD_DEG.0;
                !head
            })
        })
    }

    fn long_lines(&mut self) {
        let candidates: Vec<usize> = (0..self.lines.len())
            .filter(|&i| {
                let l = &self.lines[i];
                let middle = l.spots[l.spots.len() / 2].0.at;
                l.length_mm >= LINE_MM && l.turn < TURN_MOST && self.inside(middle) && !l.chain.closed
            })
            .collect();
        let long: Vec<usize> = candidates
            .iter()
            .copied()
            .filter(|&i| self.lines[i].length_mm >= SURE_LINE_MM || !self.in_writing(i, &candidates))
            .collect();
        let mut open = long.clone();
        self.darts(&mut open);
        self.grains(&mut open);
        self.figures(&mut open);
        for i in open {
            self.single(&[i]);
        }
    }

    fn add(&mut self, is: Meaning, why: String, members: &[usize], strokes: Vec<Vec<Point>>) {
        let dashed = members.iter().any(|i| self.lines[*i].dashed());
        let bridged_mm = members.iter().map(|i| self.lines[*i].bridged_mm).sum();
        for i in members {
            self.taken[*i] = true;
        }
        self.out.push(Inner { is, why, strokes, dashed, bridged_mm });
    }

    fn darts(&mut self, open: &mut Vec<usize>) {
        let mut i = 0;
        while i < open.len() {
            let found = (i + 1..open.len()).find_map(|j| {
                let (a, b) = (&self.lines[open[i]], &self.lines[open[j]]);
                let alike = a.length_mm.min(b.length_mm) > 0.6 * a.length_mm.max(b.length_mm);
                if !(a.straight && b.straight && alike) || a.dashed() || b.dashed() {
                    return None;
                }
                // The legs' lines meet near an end of both; ink that ran together there hides a little of them.
                let apex = crossing(a, b)?;
                let near = |l: &Line| if l.path[0].distance(apex) < l.path[1].distance(apex) { 0 } else { 1 };
                let (p, q) = (near(a), near(b));
                let close = |l: &Line, end: usize| l.path[end].distance(apex) < 0.12 * l.length_mm.max(60.0);
                let (u, v) = (a.path[1 - p] - apex, b.path[1 - q] - apex);
                let sharp = angle(u, v);
                (close(a, p) && close(b, q) && (3.0..DART_DEG).contains(&sharp))
                    .then(|| (j, vec![a.path[1 - p], apex, b.path[1 - q]], sharp))
            });
            if let Some((j, path, sharp)) = found {
                let members = [open[i], open[j]];
                let legs = members.map(|m| self.lines[m].length_mm);
                let why = format!(
                    "two straight legs of {:.0} and {:.0} mm that meet in a point of {sharp:.0} degrees",
                    legs[0], legs[1]
                );
                let strokes = path.windows(2).map(<[Point]>::to_vec).collect();
                self.add(Meaning::Dart, why, &members, strokes);
                open.remove(j);
                open.remove(i);
            } else {
                i += 1;
            }
        }
    }

    fn grains(&mut self, open: &mut Vec<usize>) {
        let mut rest = Vec::new();
        for &i in open.iter() {
            let line = &self.lines[i];
            let mut heads: Vec<(usize, usize)> = Vec::new();
            if line.straight && !line.dashed() {
                for end in 0..2 {
                    let inward = if end == 0 { line.way() } else { -line.way() };
                    for (j, head) in self.lines.iter().enumerate() {
                        let tip =
                            [0, 1].into_iter().find(|e| head.ends[*e].distance(line.ends[end]) < TIP_MM);
                        let Some(tip) = tip else { continue };
                        if j == i || self.taken[j] || head.length_mm > HEAD_MM || head.length_mm < 2.0 {
                            continue;
                        }
                        let way = head.ends[1 - tip] - head.ends[tip];
                        if (HEAD_DEG.0..HEAD_DEG.1).contains(&angle(way, inward)) {
                            heads.push((j, end));
                        }
                    }
                }
            }
            let two = [0, 1].map(|end| heads.iter().filter(|h| h.1 == end).count() >= 2);
            if two[0] || two[1] {
                let tips = usize::from(two[0]) + usize::from(two[1]);
                let mut strokes = vec![line.path.clone()];
                let mut members = vec![i];
                for (j, end) in heads.into_iter().filter(|h| two[h.1]) {
                    let head = &self.lines[j];
                    let tip = line.path[if end == 0 { 0 } else { line.path.len() - 1 }];
                    let far = usize::from(head.ends[0].distance(tip) < head.ends[1].distance(tip));
                    strokes.push(vec![tip, head.ends[far]]);
                    members.push(j);
                }
                let ends = if tips == 2 { "both ends" } else { "one end" };
                let why = format!("straight, {:.0} mm, an arrowhead at {ends}", line.length_mm);
                self.add(Meaning::Grain, why, &members, strokes);
            } else {
                rest.push(i);
            }
        }
        *open = rest;
    }

    /// Lines that meet end to end: pockets and the like.
    fn figures(&mut self, open: &mut Vec<usize>) {
        let mut rest = Vec::new();
        let mut left = open.clone();
        while let Some(first) = left.pop() {
            let mut group = vec![first];
            while let Some(k) = left.iter().position(|j| {
                group.iter().any(|i| {
                    let (a, b) = (&self.lines[*i], &self.lines[*j]);
                    a.dashed() == b.dashed()
                        && a.path.iter().take(1).chain(a.path.last()).any(|p| {
                            b.path.iter().take(1).chain(b.path.last()).any(|q| p.distance(*q) < MEET_MM)
                        })
                })
            }) {
                group.push(left.swap_remove(k));
            }
            if group.len() == 1 {
                rest.push(first);
                continue;
            }
            let way = self.lines[first].way();
            let parallel = |i: &usize| {
                let off = angle(self.lines[*i].way(), way);
                self.lines[*i].straight && off.min(180.0 - off) < ONE_LINE_DEG
            };
            if group.iter().all(parallel) {
                self.single(&group);
                continue;
            }
            let mut strokes: Vec<Vec<Point>> = group.iter().map(|i| self.lines[*i].path.clone()).collect();
            meet(&mut strokes);
            let why = format!("{} lines that meet end to end", group.len());
            self.add(Meaning::Placement, why, &group, strokes);
        }
        *open = rest;
    }

    /// One line, of several pieces that follow each other or of one.
    fn single(&mut self, members: &[usize]) {
        let line = &self.lines[members[0]];
        let mut path = line.path.clone();
        if members.len() > 1 {
            let along = |p: &Point| p.to_vec2().dot(line.way());
            let mut ends: Vec<Point> = members.iter().flat_map(|i| self.lines[*i].path.clone()).collect();
            ends.sort_by(|a, b| along(a).total_cmp(&along(b)));
            path = vec![ends[0], ends[ends.len() - 1]];
        }
        let length_mm = if members.len() > 1 { path[0].distance(path[1]) } else { line.length_mm };
        let sample: Vec<Point> = (1..10).map(|k| place_at(&path, f64::from(k) / 10.0)).collect();
        let mut beside = Vec::new();
        for w in sample.windows(2) {
            let (d, along) = self.to_ring(w[0]);
            let off = angle(w[1] - w[0], along);
            if d < HEM_MM && off.min(180.0 - off) < BESIDE_DEG {
                beside.push(d);
            }
        }
        let how = if line.dashed() { "dashed" } else { "full" };
        let shape = if line.straight { "straight" } else { "curved" };
        let about = format!("{how}, {shape}, {length_mm:.0} mm");
        let strokes = vec![path];
        if beside.len() >= 6 {
            beside.sort_by(f64::total_cmp);
            let why = format!("{about}, {:.0} mm beside an edge", beside[beside.len() / 2]);
            self.add(Meaning::Hem, why, members, strokes);
        } else {
            self.add(Meaning::Inner, about, members, strokes);
        }
    }

    fn notches(&mut self) {
        let mut found: Vec<(usize, Point, Point)> = Vec::new();
        for (i, line) in self.lines.iter().enumerate() {
            if self.taken[i] || !line.straight || !(1.5..NOTCH_MM.1).contains(&line.length_mm) {
                continue;
            }
            let [a, b] = line.ends.map(|e| self.to_ring(e));
            let (near, far, along) = if a.0 < b.0 { (0, 1, a.1) } else { (1, 0, b.1) };
            let gap = a.0.min(b.0);
            let across = angle(line.way(), along);
            // The free end has nothing at it.
            let free =
                !(0..self.lines.len()).any(|j| j != i && self.lines[j].nodes.contains(&line.nodes[far]));
            let crowd = (0..self.lines.len()).any(|j| {
                j != i && !self.taken[j] && self.lines[j].turn > TURN_MOST && self.lines[j].apart(line) < 3.0
            });
            if gap < NOTCH_GAP_MM && across.min(180.0 - across) > NOTCH_DEG && free && !crowd {
                found.push((i, line.path[near], line.path[far]));
            }
        }
        // A stroke across the outer line is one notch.
        while let Some((i, near, far)) = found.pop() {
            let twin = found.iter().position(|(_, n, f)| {
                n.distance(near) < 2.0 * NOTCH_GAP_MM && angle(*f - *n, near - far) < 25.0
            });
            let mut members = vec![i];
            let (mut from, to) = (near, far);
            if let Some(k) = twin {
                let (j, _, other) = found.swap_remove(k);
                members.push(j);
                from = other;
            }
            let length = from.distance(to);
            if length >= NOTCH_MM.0 {
                self.add(
                    Meaning::Notch,
                    format!("a short stroke of {length:.1} mm at the outer line"),
                    &members,
                    vec![vec![from, to]],
                );
            }
        }
    }

    /// Whether no stroke but these, lines and marks that are known left aside, stands close to them.
    fn alone(&self, members: &[usize]) -> bool {
        (0..self.lines.len())
            .filter(|j| !members.contains(j) && !self.taken[*j])
            .all(|j| members.iter().all(|i| self.lines[*i].apart(&self.lines[j]) > ALONE_MM))
    }

    fn crosses(&mut self) {
        let fits = |l: &Line| {
            l.straight && (CROSS_MM.0..CROSS_MM.1).contains(&l.length_mm) && l.chain.parts.len() >= 2
        };
        for i in 0..self.lines.len() {
            for j in i + 1..self.lines.len() {
                let (a, b) = (&self.lines[i], &self.lines[j]);
                if self.taken[i] || self.taken[j] || !fits(a) || !fits(b) {
                    continue;
                }
                let Some(at) = crossing(a, b) else { continue };
                let part = |l: &Line| (at - l.path[0]).dot(l.way()) / l.length_mm;
                let middle = |l: &Line| (0.28..0.72).contains(&part(l));
                let off = angle(a.way(), b.way());
                if middle(a)
                    && middle(b)
                    && off.min(180.0 - off) > CROSS_DEG
                    && self.alone(&[i, j])
                    && self.inside(at)
                {
                    let why = format!(
                        "two strokes of {:.0} and {:.0} mm that cross, alone",
                        a.length_mm, b.length_mm
                    );
                    let strokes = vec![a.path.clone(), b.path.clone()];
                    self.add(Meaning::Cross, why, &[i, j], strokes);
                }
            }
        }
    }

    fn drills(&mut self) {
        for i in 0..self.lines.len() {
            let line = &self.lines[i];
            if self.taken[i] || !line.chain.closed {
                continue;
            }
            let n = line.spots.len() as f64;
            let middle = (line.spots.iter().fold(Vec2::ZERO, |s, p| s + p.0.at.to_vec2()) / n).to_point();
            let radii: Vec<f64> = line.spots.iter().map(|s| s.0.at.distance(middle)).collect();
            let mean = radii.iter().sum::<f64>() / n;
            let spread = (radii.iter().map(|r| (r - mean).powi(2)).sum::<f64>() / n).sqrt();
            if (DRILL_MM.0..DRILL_MM.1).contains(&(2.0 * mean))
                && spread < 0.15 * mean
                && self.alone(&[i])
                && self.inside(middle)
            {
                let mut path: Vec<Point> = line.spots.iter().map(|s| s.0.at).collect();
                path.push(path[0]);
                let why = format!("a round ring of {:.1} mm, alone", 2.0 * mean);
                self.add(Meaning::Drill, why, &[i], vec![path]);
            }
        }
    }
}

/// The place at a part of a path, by its points.
fn place_at(path: &[Point], part: f64) -> Point {
    let place = part * (path.len() - 1) as f64;
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "an index")]
    let k = (place as usize).min(path.len() - 2);
    path[k].lerp(path[k + 1], place - k as f64)
}

/// Where the straight lines through two lines meet.
fn crossing(a: &Line, b: &Line) -> Option<Point> {
    let (u, v) = (a.way(), b.way());
    let cross = u.cross(v);
    (cross.abs() > 0.02).then(|| a.path[0] + u * ((b.path[0] - a.path[0]).cross(v) / cross))
}

/// Ends of straight strokes that nearly meet are drawn to where their lines cross.
fn meet(strokes: &mut [Vec<Point>]) {
    for i in 0..strokes.len() {
        for j in i + 1..strokes.len() {
            for p in 0..2 {
                for q in 0..2 {
                    let end = |s: &[Point], e: usize| if e == 0 { s[0] } else { s[s.len() - 1] };
                    let (a, b) = (end(&strokes[i], p), end(&strokes[j], q));
                    if a.distance(b) > MEET_MM || strokes[i].len() != 2 || strokes[j].len() != 2 {
                        continue;
                    }
                    let (u, v) = (strokes[i][1] - strokes[i][0], strokes[j][1] - strokes[j][0]);
                    let cross = u.cross(v);
                    if cross.abs() < 0.2 * u.hypot() * v.hypot() {
                        continue;
                    }
                    let at = strokes[i][0] + u * ((strokes[j][0] - strokes[i][0]).cross(v) / cross);
                    if at.distance(a) < MEET_MM && at.distance(b) < MEET_MM {
                        strokes[i][p] = at;
                        strokes[j][q] = at;
                    }
                }
            }
        }
    }
}
