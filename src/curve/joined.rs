//! All pieces together: one least-squares solve of joints, directions and handles over all points.
//!
//! Lines and cubics meet with one tangent at every joint but the corners, by construction: a smooth joint
//! has one direction, and beside a line it is the line's. Distances are across the curve; weights are from
//! the points' deviations and Tukey's biweight (Beaton & Tukey 1974, doi:10.1080/00401706.1974.10489171),
//! the step is Levenberg-Marquardt's (Marquardt 1963, doi:10.1137/0111030). Joints move freely, along the
//! line too, so they settle where the curve's own parts meet (as in Levien 2009, "From Spiral to Spline",
//! chapter 9, for outlines of letters).

mod normal;

use super::piece::Limit;
use super::samples::Samples;
use super::split::Kind;
use crate::geometry::{CubicBez, PathSeg, Point, Vec2};
use kurbo::{Line, ParamCurve};
use std::f64::consts::PI;

/// Points nearer to a corner than this have little say, mm: a picture rounds a corner by so much.
pub(super) const CORNER_BLUR_MM: f64 = 1.0;
/// A piece is cut no nearer to its ends than this, of its parameter.
const CUT_LEAST: f64 = 0.15;

/// One place where two pieces meet.
#[derive(Debug, Clone, Copy)]
pub(super) struct Joint {
    pub(super) at: Point,
    pub(super) corner: bool,
    /// Where the tracer saw this corner.
    pub(super) told: Option<Point>,
    /// Index of the first point of the piece that begins here; grows round the ring.
    pub(super) index: usize,
}

/// One piece, from its joint to the next.
#[derive(Debug, Clone, Copy)]
pub(super) struct Piece {
    pub(super) kind: Kind,
    /// Directions at its two ends, radians; a line and a cubic beside a line take the line's.
    pub(super) heading: [f64; 2],
    /// Lengths of its handles, mm.
    pub(super) handle: [f64; 2],
}

/// Pieces joined in a ring.
#[derive(Debug, Clone)]
pub(super) struct Joined {
    pub(super) joints: Vec<Joint>,
    pub(super) pieces: Vec<Piece>,
    /// For a half: the first joint and the last lie on x = 0 and the last piece is the line between them; at
    /// either end true where the half meets it square.
    pub(super) fold: Option<[bool; 2]>,
}

/// The points' feet on the curve and signed distances from it.
#[derive(Debug)]
pub(super) struct Feet {
    pub(super) piece: Vec<usize>,
    pub(super) t: Vec<f64>,
    pub(super) off: Vec<f64>,
}

impl Joined {
    pub(super) fn count(&self) -> usize {
        self.pieces.len()
    }

    fn next(&self, k: usize) -> usize {
        (k + 1) % self.pieces.len()
    }

    fn chord(&self, k: usize) -> Vec2 {
        self.joints[self.next(k)].at - self.joints[k].at
    }

    /// The direction of piece `k` at its start (0) or end (1).
    pub(super) fn direction(&self, k: usize, end: usize) -> Vec2 {
        let n = self.pieces.len();
        let (joint, beside) = if end == 0 { (k, (k + n - 1) % n) } else { (self.next(k), self.next(k)) };
        let line = |j: usize| self.chord(j) / self.chord(j).hypot().max(1e-9);
        if self.pieces[k].kind == Kind::Line {
            line(k)
        } else if !self.joints[joint].corner && self.pieces[beside].kind == Kind::Line {
            line(beside)
        } else {
            Vec2::from_angle(self.pieces[k].heading[end])
        }
    }

    /// Piece `k` as a cubic (a line as one too).
    pub(super) fn cubic(&self, k: usize) -> CubicBez {
        let (p, q) = (self.joints[k].at, self.joints[self.next(k)].at);
        let h = self.pieces[k].handle;
        if self.pieces[k].kind == Kind::Line {
            return CubicBez::new(p, p.lerp(q, 1.0 / 3.0), p.lerp(q, 2.0 / 3.0), q);
        }
        CubicBez::new(p, p + self.direction(k, 0) * h[0], q - self.direction(k, 1) * h[1], q)
    }

    /// The pieces as exact segments.
    pub(super) fn segments(&self) -> Vec<PathSeg> {
        (0..self.count())
            .map(|k| match self.pieces[k].kind {
                Kind::Line => PathSeg::Line(Line::new(self.joints[k].at, self.joints[self.next(k)].at)),
                Kind::Cubic => PathSeg::Cubic(self.cubic(k)),
            })
            .collect()
    }

    /// Feet of all points, from scratch.
    pub(super) fn feet(&self, samples: &Samples) -> Feet {
        let n = samples.len();
        let mut feet = Feet { piece: vec![0; n], t: vec![0.0; n], off: vec![0.0; n] };
        for k in 0..self.count() {
            let (from, to) = self.range(k, n);
            for i in from..to {
                feet.piece[i % n] = k;
                feet.t[i % n] = (i - from) as f64 / (to - from).max(1) as f64;
            }
        }
        for _ in 0..3 {
            self.project(samples, &mut feet);
        }
        feet
    }

    fn range(&self, k: usize, n: usize) -> (usize, usize) {
        let from = self.joints[k].index;
        let to = if k + 1 < self.count() { self.joints[k + 1].index } else { self.joints[0].index + n };
        (from, to.max(from))
    }

    /// One Newton step of every foot, and the distances there.
    fn project(&self, samples: &Samples, feet: &mut Feet) {
        let n = samples.len();
        for k in 0..self.count() {
            let c = self.cubic(k);
            let (from, to) = self.range(k, n);
            let line = self.pieces[k].kind == Kind::Line;
            let [a, b, d] = powers(&c);
            for i in from..to {
                let i = i % n;
                let p = samples.at[i] - c.p0;
                let mut t = feet.t[i];
                if line {
                    t = (p.dot(a) / a.hypot2().max(1e-12) / 3.0).clamp(0.0, 1.0);
                } else {
                    let e = p - t * (3.0 * a + t * (3.0 * b + t * d));
                    let d1 = 3.0 * a + t * (6.0 * b + t * 3.0 * d);
                    let d2 = 6.0 * b + t * 6.0 * d;
                    let slope = (d1.hypot2() - e.dot(d2)).max(0.3 * d1.hypot2()).max(1e-12);
                    t = (t + e.dot(d1) / slope).clamp(0.0, 1.0);
                }
                let d1 = 3.0 * a + t * (6.0 * b + t * 3.0 * d);
                let e = p - t * (3.0 * a + t * (3.0 * b + t * d));
                feet.t[i] = t;
                feet.piece[i] = k;
                feet.off[i] = d1.cross(e) / d1.hypot().max(1e-9);
            }
        }
    }

    /// Moves the boundaries between the pieces' points to where the joints are.
    fn reassign(&mut self, samples: &Samples, feet: &mut Feet) {
        let n = samples.len();
        let count = self.count();
        for k in 0..count {
            if self.fold.is_some() && (k == 0 || k + 1 == count) {
                continue;
            }
            let before = (k + count - 1) % count;
            let u = if self.joints[k].corner {
                let v = self.direction(before, 1) + self.direction(k, 0);
                v / v.hypot().max(1e-9)
            } else {
                self.direction(k, 0)
            };
            let wrap = if k == 0 { n } else { 0 };
            let low = self.joints[before].index + 2;
            let high = if k + 1 < count { self.joints[k + 1].index } else { self.joints[0].index + n };
            let ahead = |i: usize| (samples.place(i) - self.joints[k].at).dot(u) > 0.0;
            let mut index = self.joints[k].index + wrap;
            let high = high + wrap;
            while index > low && ahead(index - 1) {
                index -= 1;
                feet.t[index % n] = 0.0;
            }
            while index + 2 < high && !ahead(index) {
                feet.t[index % n] = 1.0;
                index += 1;
            }
            if index >= wrap {
                self.joints[k].index = index - wrap;
            } else {
                // Back over the first point: the rest count on from there.
                self.joints[0].index = index;
                for j in &mut self.joints[1..] {
                    j.index += n;
                }
            }
        }
        // The first joint may have crossed the first point: keep its index within the first round.
        if self.joints[0].index >= n {
            for j in &mut self.joints {
                j.index -= n;
            }
        }
    }

    /// Puts a half's ends on the fold, and square to it where they are to be.
    pub(super) fn hold(&mut self) {
        let Some(square) = self.fold else { return };
        let last = self.count() - 1;
        self.joints[0].at.x = 0.0;
        self.joints[last].at.x = 0.0;
        for (held, piece, end, heading) in [(square[0], 0, 0, 0.0), (square[1], last - 1, 1, PI)] {
            if held {
                self.pieces[piece].heading[end] = heading;
                if self.pieces[piece].kind == Kind::Line {
                    let (on, off) = if end == 0 { (0, 1) } else { (last, last - 1) };
                    self.joints[on].at.y = self.joints[off].at.y;
                }
            }
        }
    }

    /// Gives the two cubics at each smooth joint one direction.
    fn level(&mut self) {
        for k in 0..self.count() {
            let before = (k + self.count() - 1) % self.count();
            let both = [before, k].iter().all(|&j| self.pieces[j].kind == Kind::Cubic);
            if both && !self.joints[k].corner {
                let mean = Vec2::from_angle(self.pieces[k].heading[0])
                    + Vec2::from_angle(self.pieces[before].heading[1]);
                self.pieces[k].heading[0] = mean.atan2();
                self.pieces[before].heading[1] = mean.atan2();
            }
        }
    }

    /// Settles all unknowns on the points. `scale_mm` is how far a good point may lie beside its own noise.
    pub(super) fn settle(&mut self, samples: &Samples, scale_mm: f64, rounds: usize) -> Feet {
        self.level();
        self.hold();
        let mut feet = self.feet(samples);
        self.reassign(samples, &mut feet);
        self.project(samples, &mut feet);
        let mut damping = 1e-4;
        let mut best: Option<(f64, Self)> = None;
        for _ in 0..rounds {
            let layout = self.layout();
            let (m, g, cost) = self.normal(samples, &feet, &layout, scale_mm);
            if let Some((before, kept)) = &best {
                if cost > *before * (1.0 + 1e-6) {
                    damping *= 8.0;
                    if damping > 1e4 {
                        break;
                    }
                    *self = kept.clone();
                    feet = self.feet(samples);
                    let layout = self.layout();
                    let (m, g, _) = self.normal(samples, &feet, &layout, scale_mm);
                    self.step(&layout, m, g, damping);
                    self.project(samples, &mut feet);
                    self.reassign(samples, &mut feet);
                    self.project(samples, &mut feet);
                    continue;
                }
                damping *= 0.3;
            }
            let settled = best.as_ref().is_some_and(|(before, _)| before - cost < 1e-4 * before);
            best = Some((cost, self.clone()));
            if settled {
                break;
            }
            self.step(&layout, m, g, damping);
            self.project(samples, &mut feet);
            self.reassign(samples, &mut feet);
            self.project(samples, &mut feet);
        }
        if let Some((_, kept)) = best {
            *self = kept;
        }
        self.hold();
        self.feet(samples)
    }

    /// How far piece `k` misses its points, 1 at the limit, and the point where it is worst.
    pub(super) fn miss(&self, k: usize, feet: &Feet, samples: &Samples, limit: Limit) -> (f64, usize) {
        let n = samples.len();
        let (from, to) = self.range(k, n);
        let size = samples.block_points(limit.depart_mm).min((to - from) / 4).max(1);
        let (mut worst, mut at, mut sum, mut count) = (0.0, (from + to) / 2, 0.0, 0.0);
        let mut start = from;
        while start < to {
            let end = (start + size).min(to);
            let (mut weight, mut off) = (0.0, 0.0);
            for i in (start..end).map(|i| i % n) {
                let blurred = |j: usize| {
                    self.joints[j].corner && self.joints[j].at.distance(samples.at[i]) < CORNER_BLUR_MM
                };
                if !samples.stray[i] && !blurred(k) && !blurred(self.next(k)) {
                    let w = samples.sigma[i].powi(-2);
                    weight += w;
                    off += w * feet.off[i];
                }
            }
            if weight > 0.0 {
                let sd = (samples.reach.min((end - start) as f64) / weight).sqrt();
                let mean: f64 = off / weight;
                let ratio = mean.abs() / limit.of(sd);
                if ratio > worst {
                    (worst, at) = (ratio, (start + end) / 2);
                }
                sum += mean * mean / (sd * sd + 0.25 * limit.depart_mm * limit.depart_mm);
                count += 1.0;
            }
            start = end;
        }
        let together =
            if count > 0.0 { (sum / (count + 3.0 * (2.0_f64 * count).sqrt())).sqrt() } else { 0.0 };
        (worst.max(together), at)
    }

    /// How many points piece `k` has.
    pub(super) fn points(&self, k: usize, n: usize) -> usize {
        let (from, to) = self.range(k, n);
        to - from
    }

    /// Number of unknowns that shape the ring.
    pub(super) fn unknowns(&self) -> usize {
        self.layout().size
    }

    /// Lets a line bend: it becomes a cubic.
    pub(super) fn loosen(&mut self, k: usize) {
        let chord = self.chord(k);
        self.pieces[k] =
            Piece { kind: Kind::Cubic, heading: [chord.atan2(); 2], handle: [chord.hypot() / 3.0; 2] };
    }

    /// Cuts piece `k` in two near the point `index` of it.
    pub(super) fn cut(&mut self, k: usize, feet: &Feet, index: usize, points: usize) {
        let t = feet.t[index % points].clamp(CUT_LEAST, 1.0 - CUT_LEAST);
        let (from, to) = self.range(k, points);
        let index = (from..to).find(|&i| feet.t[i % points] >= t).unwrap_or((from + to) / 2);
        let c = self.cubic(k);
        let (a, b) = (c.subsegment(0.0..t), c.subsegment(t..1.0));
        let piece = |c: &CubicBez| Piece {
            kind: Kind::Cubic,
            heading: [(c.p1 - c.p0).atan2(), (c.p3 - c.p2).atan2()],
            handle: [(c.p1 - c.p0).hypot(), (c.p3 - c.p2).hypot()],
        };
        self.pieces[k] = piece(&a);
        self.pieces.insert(k + 1, piece(&b));
        self.joints.insert(k + 1, Joint { at: a.p3, corner: false, told: None, index });
    }
}

/// A cubic as p0 + t (3a + t (3b + t d)).
fn powers(c: &CubicBez) -> [Vec2; 3] {
    let a = c.p1 - c.p0;
    let b = (c.p2 - c.p1) - a;
    let d = (c.p3 - c.p0) - 3.0 * (c.p2 - c.p1);
    [a, b, d]
}
