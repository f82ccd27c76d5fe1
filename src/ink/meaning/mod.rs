//! What each stroke inside the outer line is proposed to be, with the evidence.
//!
//! The trade's signs as they are drawn by hand (common practice, no source): a grain line is long and straight with an
//! arrowhead at its ends, a notch is a short stroke from the outer line, a cross marks a place, a dart is two legs that
//! meet in a point, a hem runs beside an edge. Handwriting turns much over little length, or is made of short strokes that
//! hang together or stand close; it is left out.

mod line;
mod lines;
mod marks;

use super::chain::Linked;
use crate::geometry::{Point, Vec2};
use line::Line;

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

    fn add(&mut self, is: Meaning, why: String, members: &[usize], strokes: Vec<Vec<Point>>) {
        let dashed = members.iter().any(|i| self.lines[*i].dashed());
        let bridged_mm = members.iter().map(|i| self.lines[*i].bridged_mm).sum();
        for i in members {
            self.taken[*i] = true;
        }
        self.out.push(Inner { is, why, strokes, dashed, bridged_mm });
    }
}
