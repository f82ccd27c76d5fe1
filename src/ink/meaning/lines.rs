//! Long lines: darts, grain lines with their arrowheads, figures of lines that meet end to end, hems and the rest.

use super::super::chain::{angle, way_through};
use super::line::{Line, crossing, place_at};
use super::{Meaning, Reader};
use crate::geometry::Point;

/// The least length of an inner line, millimetres: longer than letters are high.
const LINE_MM: f64 = 25.0;
/// From here on a line is a line though handwriting touches its ends, millimetres.
const SURE_LINE_MM: f64 = 60.0;
/// Handwriting turns more than this, degrees a millimetre; a round pocket corner in a long line less.
pub(super) const TURN_MOST: f64 = 2.5;
/// The longest stroke of an arrowhead, millimetres, and its angle to the line, degrees.
const HEAD_MM: f64 = 16.0;
const HEAD_DEG: (f64, f64) = (12.0, 70.0);
/// An arrowhead's strokes run together with the line over this much, millimetres.
const TIP_MM: f64 = 4.5;
/// Farther from the line than this an arrowhead's stroke is seen by itself, millimetres; so many places tell its way.
const CLEAR_MM: f64 = 1.3;
const LEAST_CLEAR: usize = 4;
/// One stroke of an arrowhead makes a grain line of one that is this long and meets no other, millimetres.
const ALONE_MM: f64 = 100.0;
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

impl Reader<'_> {
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

    pub(super) fn long_lines(&mut self) {
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
            // Of a head of which a stroke ran together with the line, or broke, one is left: it tells of a long line alone.
            let alone = line.length_mm >= ALONE_MM && self.stands_alone(i, open);
            let two = [0, 1].map(|end| {
                let count = heads.iter().filter(|h| h.1 == end).count();
                count >= 2 || count == 1 && alone
            });
            if two[0] || two[1] {
                let tips = usize::from(two[0]) + usize::from(two[1]);
                let mut shaft = line.path.clone();
                let mut members = vec![i];
                let mut strokes = Vec::new();
                for end in (0..2).filter(|end| two[*end]) {
                    let at = if end == 0 { 0 } else { shaft.len() - 1 };
                    let head: Vec<usize> = heads.iter().filter(|h| h.1 == end).map(|h| h.0).collect();
                    if let Some(tip) = self.arrow_tip(line, end, &head) {
                        shaft[at] = tip;
                    }
                    for j in head {
                        let ends = self.lines[j].ends;
                        let far = usize::from(ends[0].distance(shaft[at]) < ends[1].distance(shaft[at]));
                        strokes.push(vec![shaft[at], ends[far]]);
                        members.push(j);
                    }
                }
                strokes.insert(0, shaft);
                let ends = if tips == 2 { "both ends" } else { "one end" };
                let why = format!("straight, {:.0} mm, an arrowhead at {ends}", line.length_mm);
                self.add(Meaning::Grain, why, &members, strokes);
            } else {
                rest.push(i);
            }
        }
        *open = rest;
    }

    /// Where an arrowhead's strokes meet its line: each is straight beyond the ink that runs together with the line.
    fn arrow_tip(&self, line: &Line, end: usize, head: &[usize]) -> Option<Point> {
        let near = line.path[if end == 0 { 0 } else { line.path.len() - 1 }];
        let way = if end == 0 { -line.way() } else { line.way() };
        let beyond: Vec<f64> = head
            .iter()
            .filter_map(|j| {
                let spots = self.lines[*j].spots.iter().map(|s| s.0.at);
                let clear: Vec<Point> = spots.filter(|p| (*p - near).cross(way).abs() > CLEAR_MM).collect();
                let (middle, stroke) = way_through(&clear).filter(|_| clear.len() >= LEAST_CLEAR)?;
                let cross = way.cross(stroke);
                (cross.abs() > 0.1).then(|| (middle - near).cross(stroke) / cross)
            })
            .filter(|u| u.abs() < TIP_MM)
            .collect();
        let mean = beyond.iter().sum::<f64>() / beyond.len() as f64;
        (!beyond.is_empty()).then(|| near + way * mean)
    }

    /// Whether neither end of a line comes near another of them.
    fn stands_alone(&self, i: usize, lines: &[usize]) -> bool {
        let ends = self.lines[i].ends;
        let near = |p: Point| ends.iter().any(|e| e.distance(p) < MEET_MM);
        lines.iter().filter(|j| **j != i).all(|j| !self.lines[*j].spots.iter().any(|s| near(s.0.at)))
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
