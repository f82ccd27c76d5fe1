//! The normal equations of all pieces together, and one step of Levenberg and Marquardt on them.
//!
//! Unknowns are the joints' places, the directions that are free and the handles' lengths; [`Layout`] says where
//! each stands.

use super::super::split::Kind;
use super::{Feet, Joined, Samples, powers};
use crate::geometry::Vec2;
use nalgebra::{DMatrix, DVector};

/// Tukey's constant: 95 % efficiency on normal noise.
const TUKEY: f64 = 4.685;
/// Handles are at least this part of the chord: shorter ones make a hidden corner.
const LEAST_HANDLE: f64 = 0.03;
/// Pull of a handle towards a third of the chord, as one more point with a deviation of this part of it.
const HANDLE_PRIOR: f64 = 1.0;
/// Stiffness of what is held, over the stiffest of the rest.
const PIN: f64 = 1e7;
/// Weight of a corner's place as the tracer saw it: one over the square of 0.025 mm. The tracer has looked at the
/// picture; the curves have only its points, which a picture rounds near a corner.
const TOLD_WEIGHT: f64 = 1600.0;
/// A joint moves at most this part of its shorter chord in one round.
const MOST_MOVE: f64 = 0.2;

/// Where the direction at a cubic's end comes from.
#[derive(Debug, Clone, Copy)]
pub(super) enum Heading {
    /// Its own unknown.
    Own(usize),
    /// The line that is this piece.
    Along(usize),
}

/// The unknowns' places.
pub(super) struct Layout {
    headings: Vec<[Heading; 2]>,
    angles: Vec<f64>,
    handles: Vec<usize>,
    pub(super) size: usize,
}

impl Joined {
    pub(super) fn layout(&self) -> Layout {
        let n = self.count();
        let mut angles = Vec::new();
        let mut headings = vec![[Heading::Own(0); 2]; n];
        let mut handles = vec![0; n];
        for k in 0..n {
            if self.pieces[k].kind == Kind::Line {
                continue;
            }
            let before = (k + n - 1) % n;
            let smooth = !self.joints[k].corner;
            headings[k][0] = if smooth && self.pieces[before].kind == Kind::Line {
                Heading::Along(before)
            } else {
                angles.push(self.pieces[k].heading[0]);
                Heading::Own(angles.len() - 1)
            };
            let after = self.next(k);
            if !self.joints[after].corner && self.pieces[after].kind == Kind::Line {
                headings[k][1] = Heading::Along(after);
            }
        }
        for k in 0..n {
            if self.pieces[k].kind == Kind::Line || matches!(headings[k][1], Heading::Along(_)) {
                continue;
            }
            let after = self.next(k);
            headings[k][1] = if self.joints[after].corner {
                angles.push(self.pieces[k].heading[1]);
                Heading::Own(angles.len() - 1)
            } else {
                headings[after][0]
            };
        }
        let mut size = 2 * n + angles.len();
        for k in 0..n {
            handles[k] = size;
            if self.pieces[k].kind == Kind::Cubic {
                size += 2;
            }
        }
        Layout { headings, angles, handles, size }
    }

    /// Makes what [`Joined::hold`] puts in place stay there.
    fn pin(&self, layout: &Layout, m: &mut DMatrix<f64>, g: &mut DVector<f64>) {
        let Some(square) = self.fold else { return };
        let last = self.count() - 1;
        let stiff = PIN * (0..2 * self.count()).map(|i| m[(i, i)]).fold(1.0, f64::max);
        m[(0, 0)] += stiff;
        m[(2 * last, 2 * last)] += stiff;
        for (held, piece, end) in [(square[0], 0, 0), (square[1], last - 1, 1)] {
            if !held {
                continue;
            }
            if self.pieces[piece].kind == Kind::Line {
                let (a, b) = (2 * piece + 1, 2 * piece + 3);
                let short = self.joints[piece].at.y - self.joints[piece + 1].at.y;
                m[(a, a)] += stiff;
                m[(b, b)] += stiff;
                m[(a, b)] -= stiff;
                m[(b, a)] -= stiff;
                g[a] -= stiff * short;
                g[b] += stiff * short;
            } else if let Heading::Own(slot) = layout.headings[piece][end] {
                let slot = 2 * self.count() + slot;
                m[(slot, slot)] *= 1.0 + PIN;
                m[(slot, slot)] += stiff;
            }
        }
    }

    pub(super) fn step(&mut self, layout: &Layout, mut m: DMatrix<f64>, mut g: DVector<f64>, damping: f64) {
        let n = self.count();
        let mean = (0..2 * n).map(|i| m[(i, i)]).sum::<f64>() / (2 * n) as f64;
        for i in 0..layout.size {
            let angle = (2 * n..2 * n + layout.angles.len()).contains(&i);
            m[(i, i)] += damping * (m[(i, i)] + if angle { 0.0 } else { mean }) + 1e-12;
        }
        for (k, joint) in self.joints.iter().enumerate() {
            if let Some(told) = joint.told {
                let off = told - joint.at;
                for (slot, off) in [(2 * k, off.x), (2 * k + 1, off.y)] {
                    m[(slot, slot)] += TOLD_WEIGHT;
                    g[slot] += TOLD_WEIGHT * off;
                }
            }
        }
        self.pin(layout, &mut m, &mut g);
        let Some(chol) = m.cholesky() else { return };
        let mut step = chol.solve(&g);
        // No joint moves further than a part of its shorter chord: pieces stay in order.
        let far = (0..n)
            .map(|k| {
                let before = self.chord((k + n - 1) % n).hypot();
                Vec2::new(step[2 * k], step[2 * k + 1]).hypot()
                    / (MOST_MOVE * before.min(self.chord(k).hypot()))
            })
            .fold(1.0, f64::max);
        step /= far;
        for k in 0..n {
            self.joints[k].at += Vec2::new(step[2 * k], step[2 * k + 1]);
        }
        let angle = |slot: usize| layout.angles[slot] + step[2 * n + slot].clamp(-0.5, 0.5);
        for k in 0..n {
            if self.pieces[k].kind == Kind::Line {
                continue;
            }
            let chord = self.chord(k).hypot();
            for end in 0..2 {
                match layout.headings[k][end] {
                    Heading::Own(slot) => self.pieces[k].heading[end] = angle(slot),
                    Heading::Along(_) => {
                        let u = self.direction(k, end);
                        self.pieces[k].heading[end] = u.y.atan2(u.x);
                    }
                }
                let h = &mut self.pieces[k].handle[end];
                *h = (*h + step[layout.handles[k] + end]).clamp(LEAST_HANDLE * chord, 2.0 * chord);
            }
        }
    }

    /// The normal matrix, its right side and the cost.
    pub(super) fn normal(
        &self,
        samples: &Samples,
        feet: &Feet,
        layout: &Layout,
        scale_mm: f64,
    ) -> (DMatrix<f64>, DVector<f64>, f64) {
        let n = self.count();
        let points = samples.len();
        let mut m = DMatrix::zeros(layout.size, layout.size);
        let mut g = DVector::zeros(layout.size);
        let mut cost = 0.0;
        for k in 0..n {
            let after = self.next(k);
            let mut slots = vec![2 * k, 2 * k + 1, 2 * after, 2 * after + 1];
            let c = self.cubic(k);
            let [a, b, d] = powers(&c);
            let cubic = self.pieces[k].kind == Kind::Cubic;
            let u = [self.direction(k, 0), self.direction(k, 1)];
            if cubic {
                slots.extend([layout.handles[k], layout.handles[k] + 1]);
                for end in 0..2 {
                    match layout.headings[k][end] {
                        Heading::Own(slot) => slots.push(2 * n + slot),
                        Heading::Along(j) => {
                            let next = self.next(j);
                            slots.extend([2 * j, 2 * j + 1, 2 * next, 2 * next + 1]);
                        }
                    }
                }
            }
            let width = slots.len();
            let mut local = [[0.0_f64; 14]; 14];
            let mut right = [0.0_f64; 14];
            let (from, to) = self.range(k, points);
            for i in from..to {
                let i = i % points;
                if samples.stray[i] {
                    continue;
                }
                let t = feet.t[i];
                let d1 = 3.0 * a + t * (6.0 * b + t * 3.0 * d);
                let normal = Vec2::new(-d1.y, d1.x) / d1.hypot().max(1e-9);
                let r = feet.off[i];
                let sigma = samples.sigma[i];
                let tukey = (1.0 - (r / (TUKEY * (sigma + scale_mm))).powi(2)).max(0.0).powi(2);
                let w = (sigma * sigma * samples.reach).recip();
                // Tukey's loss, so that costs compare from step to step.
                let s = TUKEY * (sigma + scale_mm);
                cost += w * s * s / 3.0 * (1.0 - (1.0 - (r / s).powi(2)).max(0.0).powi(3));
                let w = w * tukey;
                let o = 1.0 - t;
                let mut row = [0.0; 14];
                if cubic {
                    let bern = [o * o * o, 3.0 * o * o * t, 3.0 * o * t * t, t * t * t];
                    let (start, end) = (bern[0] + bern[1], bern[2] + bern[3]);
                    row[0] = start * normal.x;
                    row[1] = start * normal.y;
                    row[2] = end * normal.x;
                    row[3] = end * normal.y;
                    row[4] = bern[1] * normal.dot(u[0]);
                    row[5] = -bern[2] * normal.dot(u[1]);
                    let mut slot = 6;
                    for e in 0..2 {
                        let arm = if e == 0 {
                            bern[1] * self.pieces[k].handle[0]
                        } else {
                            -bern[2] * self.pieces[k].handle[1]
                        };
                        match layout.headings[k][e] {
                            Heading::Own(_) => {
                                row[slot] = arm * normal.dot(Vec2::new(-u[e].y, u[e].x));
                                slot += 1;
                            }
                            Heading::Along(j) => {
                                let v = (normal - u[e] * normal.dot(u[e]))
                                    * (arm / self.chord(j).hypot().max(1e-9));
                                row[slot] = -v.x;
                                row[slot + 1] = -v.y;
                                row[slot + 2] = v.x;
                                row[slot + 3] = v.y;
                                slot += 4;
                            }
                        }
                    }
                } else {
                    row[0] = o * normal.x;
                    row[1] = o * normal.y;
                    row[2] = t * normal.x;
                    row[3] = t * normal.y;
                }
                for p in 0..width {
                    let wp = w * row[p];
                    for q in 0..=p {
                        local[p][q] += wp * row[q];
                    }
                    right[p] += wp * r;
                }
            }
            for p in 0..width {
                for q in 0..=p {
                    m[(slots[p], slots[q])] += local[p][q];
                    if p != q {
                        m[(slots[q], slots[p])] += local[p][q];
                    }
                }
                g[slots[p]] += right[p];
            }
            if cubic {
                let chord = self.chord(k).hypot();
                let w = (HANDLE_PRIOR * chord).powi(-2);
                for end in 0..2 {
                    let short = chord / 3.0 - self.pieces[k].handle[end];
                    let slot = layout.handles[k] + end;
                    m[(slot, slot)] += w;
                    g[slot] += w * short;
                    cost += w * short * short;
                }
            }
        }
        (m, g, cost)
    }
}
