//! Marks: notches at the outer line, crosses, rings to drill.

use super::super::chain::angle;
use super::line::{Line, crossing};
use super::lines::TURN_MOST;
use super::{Meaning, Reader};
use crate::geometry::{Point, Vec2};

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

impl Reader<'_> {
    pub(super) fn notches(&mut self) {
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

    pub(super) fn crosses(&mut self) {
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

    pub(super) fn drills(&mut self) {
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
