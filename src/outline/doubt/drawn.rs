//! Stretches drawn anew, put in the place of those of the line.

use super::hints::{DENIED_MM, Hints};
use crate::geometry::{Point, TracePoint};

/// The line with its doubtful stretches settled.
pub(in crate::outline) struct Settled {
    /// The closed line.
    pub line: Vec<Point>,
    /// Indices of its corners.
    pub corners: Vec<usize>,
    /// For the passes that follow.
    pub hints: Hints,
}

/// A stretch drawn anew.
pub(super) struct Drawn {
    /// The first place of the line that it stands for, and how many there are.
    pub from: usize,
    pub count: usize,
    pub path: Vec<Point>,
    /// Which places of it are corners.
    pub corners: Vec<usize>,
    /// The corner that its arms would make and that it does not have.
    pub refused: Option<Point>,
    /// True where its edge is to be looked for near it only.
    pub near: bool,
}

impl Drawn {
    /// Whether none of `count` places from `from` on, of a ring of `n`, is one that it stands for.
    pub(super) fn apart(&self, from: usize, count: usize, n: usize) -> bool {
        (self.from + n - from) % n >= count && (from + n - self.from) % n >= self.count
    }
}

/// The closed line through `points` with the stretches drawn anew, of which there is one at the least.
pub(super) fn spliced(points: &[TracePoint], corners: &[usize], drawn: &[Drawn]) -> Settled {
    let n = points.len();
    // Begun behind a stretch, so that none is broken by the ring's end.
    let begin = (drawn[0].from + drawn[0].count) % n;
    let mut out = Settled { line: Vec::with_capacity(n), corners: Vec::new(), hints: Hints::default() };
    let mut k = 0;
    while k < n {
        let i = (begin + k) % n;
        if let Some(d) = drawn.iter().find(|d| d.from == i) {
            let own = corners.iter().filter(|&&c| (c + n - i) % n < d.count);
            out.hints.denied.extend(own.map(|&c| points[c].at));
            for (j, p) in d.path.iter().enumerate() {
                if d.corners.contains(&j) {
                    out.corners.push(out.line.len());
                    out.hints.corners.push(*p);
                }
                out.line.push(*p);
            }
            if d.near {
                out.hints.held.extend(&d.path);
            }
            out.hints.denied.extend(d.refused);
            k += d.count;
            continue;
        }
        if corners.contains(&i) {
            out.corners.push(out.line.len());
        }
        out.line.push(points[i].at);
        k += 1;
    }
    let made = &out.hints.corners;
    out.hints.denied.retain(|d| made.iter().all(|c| c.distance(*d) >= DENIED_MM));
    out
}
