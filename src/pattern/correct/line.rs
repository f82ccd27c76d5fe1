//! The traced line while it is corrected: segments with their corners, opened at places and closed again.

use super::place::Place;
use super::problem::CorrectionProblem;
use crate::curve::{Fitted, Tolerance};
use crate::geometry::{PathSeg, Point, Ring};
use crate::pattern::{crossing, joint};
use kurbo::{ParamCurve, ParamCurveArclen, ParamCurveArea, ParamCurveNearest};

/// A place further off the line than this does not mean it, millimetres: a fingertip on a drawing that fills a telephone.
const NEAR_MM: f64 = 5.0;
/// A place this near to a corner is the corner, millimetres: below it, nobody points at the line beside it.
const SNAP_MM: f64 = 1.5;
/// A place this near to where two segments meet is there, millimetres: no slivers are cut off.
const SLIVER_MM: f64 = 0.05;
/// Arc lengths are good to this, millimetres.
const LENGTH_MM: f64 = 1e-6;
/// Places nearest to another are found to this, millimetres.
const NEAREST_MM: f64 = 1e-6;

/// A segment, and whether it begins at a corner.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Part {
    pub(super) path: PathSeg,
    pub(super) corner: bool,
}

impl Part {
    /// A segment that begins smoothly.
    pub(super) fn smooth(path: PathSeg) -> Self {
        Self { path, corner: false }
    }

    pub(super) fn length_mm(&self) -> f64 {
        self.path.arclen(LENGTH_MM)
    }
}

/// A closed line.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct TracedLine(Vec<Part>);

/// A place on the line: a segment and how far along it, in its parameter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Foot {
    segment: usize,
    t: f64,
}

impl TracedLine {
    pub(super) fn of(fitted: &Fitted) -> Self {
        let part =
            |(index, path): (usize, &PathSeg)| Part { path: *path, corner: fitted.corners.contains(&index) };
        Self(fitted.ring.segments().iter().enumerate().map(part).collect())
    }

    /// A line of parts that follow each other and close.
    pub(super) fn closed(parts: impl IntoIterator<Item = Part>) -> Self {
        Self(parts.into_iter().collect())
    }

    /// The outline again, with what is known of the fit it came from.
    pub(super) fn into_fitted(self, from: &Fitted) -> Result<Fitted, CorrectionProblem> {
        let corners = (0..self.0.len()).filter(|&k| self.0[k].corner).collect();
        let segments = self.0.into_iter().map(|part| part.path).collect();
        let ring = Ring::new(segments).map_err(|_| CorrectionProblem::Vanishes)?;
        Ok(Fitted { ring, corners, ..from.clone() })
    }

    /// The line itself, if it can be cut: it crosses itself nowhere (unless it did so `before`) and goes the same way round.
    pub(super) fn sound(self, before: &Self) -> Result<Self, CorrectionProblem> {
        let crossing = |line: &Self| {
            let runs: Vec<[PathSeg; 1]> = line.0.iter().map(|part| [part.path]).collect();
            crossing::first_crossing(&runs).map(|(_, _, at)| at)
        };
        if self.area_mm2() * before.area_mm2() <= 0.0 {
            return Err(CorrectionProblem::Vanishes);
        }
        match crossing(&self) {
            Some(at) if crossing(before).is_none() => Err(CorrectionProblem::Crosses { x: at.x, y: at.y }),
            _ => Ok(self),
        }
    }

    fn area_mm2(&self) -> f64 {
        area_mm2(&self.0)
    }

    /// Where on the line a place is: the corner beside it, or else the nearest place of the line.
    pub(super) fn foot(&self, place: &Place) -> Result<Foot, CorrectionProblem> {
        if let Some((segment, _)) = self.corner_near(place, SNAP_MM) {
            return Ok(Foot { segment, t: 0.0 });
        }
        let mut best = (f64::INFINITY, Foot { segment: 0, t: 0.0 });
        for (segment, part) in self.0.iter().enumerate() {
            let near = part.path.nearest(place.at, NEAREST_MM);
            if near.distance_sq < best.0 {
                best = (near.distance_sq, Foot { segment, t: near.t });
            }
        }
        let off_mm = best.0.sqrt();
        if off_mm > NEAR_MM {
            return Err(CorrectionProblem::NotNear {
                place: place.clone(),
                off_mm,
                near_mm: NEAR_MM,
                nearest: self.0[best.1.segment].path.eval(best.1.t),
                corner: self.nearest_corner(place),
            });
        }
        let Foot { segment, t } = best.1;
        let path = self.0[segment].path;
        let (before, after) = (path.subsegment(0.0..t), path.subsegment(t..1.0));
        Ok(if before.arclen(LENGTH_MM) < SLIVER_MM {
            Foot { segment, t: 0.0 }
        } else if after.arclen(LENGTH_MM) < SLIVER_MM {
            Foot { segment: (segment + 1) % self.0.len(), t: 0.0 }
        } else {
            best.1
        })
    }

    /// The corner beside a place.
    pub(super) fn corner(&self, place: &Place) -> Result<Foot, CorrectionProblem> {
        let none = || CorrectionProblem::NoCorner {
            place: place.clone(),
            near_mm: NEAR_MM,
            corner: self.nearest_corner(place),
        };
        self.corner_near(place, NEAR_MM).map(|(segment, _)| Foot { segment, t: 0.0 }).ok_or_else(none)
    }

    fn nearest_corner(&self, place: &Place) -> Option<Point> {
        self.corner_near(place, f64::INFINITY).map(|(segment, _)| self.0[segment].path.start())
    }

    fn corner_near(&self, place: &Place, within_mm: f64) -> Option<(usize, f64)> {
        let off = |k: usize| self.0[k].path.start().distance(place.at);
        let corners = (0..self.0.len()).filter(|&k| self.0[k].corner).map(|k| (k, off(k)));
        corners.filter(|(_, off)| *off <= within_mm).min_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// The line from a place all round to that place.
    pub(super) fn opened(&self, foot: Foot) -> Vec<Part> {
        let n = self.0.len();
        let mut out: Vec<Part> = (0..n).map(|k| self.0[(foot.segment + k) % n]).collect();
        if foot.t > 0.0 {
            let whole = out[0];
            out[0] = Part::smooth(whole.path.subsegment(foot.t..1.0));
            out.push(Part { path: whole.path.subsegment(0.0..foot.t), ..whole });
        }
        out
    }

    /// The line from one place to another, and on from there back to the first.
    pub(super) fn parted(&self, from: &Place, to: &Place) -> Result<[Vec<Part>; 2], CorrectionProblem> {
        let (a, b) = (self.foot(from)?, self.foot(to)?);
        let n = self.0.len();
        let run = self.opened(a);
        let (index, t) = match b.segment == a.segment {
            true if b.t > a.t => (0, (b.t - a.t) / (1.0 - a.t)),
            true if b.t < a.t => (n, b.t / a.t),
            true => return Err(one_place(from, to)),
            false => ((b.segment + n - a.segment) % n, b.t),
        };
        let (first, second) = cut(run, index, t);
        if first.is_empty() || second.is_empty() || length_mm(&first).min(length_mm(&second)) < SLIVER_MM {
            return Err(one_place(from, to));
        }
        Ok([first, second])
    }
}

fn one_place(from: &Place, to: &Place) -> CorrectionProblem {
    CorrectionProblem::OnePlace { from: from.clone(), to: to.clone() }
}

/// A run cut in its `index`th part, at this parameter of it.
fn cut(mut run: Vec<Part>, index: usize, t: f64) -> (Vec<Part>, Vec<Part>) {
    let mut rest = run.split_off(index.min(run.len()));
    if t > 0.0
        && let Some(first) = rest.first_mut()
    {
        let whole = *first;
        run.push(Part { path: whole.path.subsegment(0.0..t), ..whole });
        *first = Part::smooth(whole.path.subsegment(t..1.0));
    }
    (run, rest)
}

/// A run cut at a way from its beginning, millimetres.
pub(super) fn cut_at_way(run: Vec<Part>, way_mm: f64) -> (Vec<Part>, Vec<Part>) {
    let mut left = way_mm;
    for (index, part) in run.iter().enumerate() {
        let length = part.length_mm();
        if left < length - SLIVER_MM {
            let t = if left < SLIVER_MM { 0.0 } else { part.path.inv_arclen(left, LENGTH_MM) };
            return cut(run, index, t);
        }
        left -= length;
    }
    (run, Vec::new())
}

pub(super) fn length_mm(run: &[Part]) -> f64 {
    run.iter().map(Part::length_mm).sum()
}

pub(super) fn area_mm2(run: &[Part]) -> f64 {
    run.iter().map(|part| part.path.signed_area()).sum()
}

pub(super) fn start(run: &[Part]) -> Point {
    run[0].path.start()
}

pub(super) fn end(run: &[Part]) -> Point {
    run[run.len() - 1].path.end()
}

/// Whether a joint turns enough to be a corner, as a capture takes it.
pub(super) fn is_corner(before: &PathSeg, after: &PathSeg) -> bool {
    joint::turn_rad(before, after).abs() >= Tolerance::default().corner_deg.to_radians()
}

/// A line of a new run and the one that was kept; where they meet, corners are what turns like one.
pub(super) fn joined(mut new: Vec<Part>, mut kept: Vec<Part>) -> TracedLine {
    new[0].corner = is_corner(&kept[kept.len() - 1].path, &new[0].path);
    kept[0].corner = is_corner(&new[new.len() - 1].path, &kept[0].path);
    TracedLine::closed(new.into_iter().chain(kept))
}

/// How far it is along an opened line to its next corner, and to the one before, millimetres: at most half way round.
pub(super) fn room_mm(opened: &[Part]) -> [f64; 2] {
    let half = length_mm(opened) / 2.0;
    let ahead = opened.iter().skip(1).position(|part| part.corner).map_or(half, |k| length_mm(&opened[..=k]));
    let behind = opened.iter().skip(1).rposition(|part| part.corner);
    let behind = behind.map_or(half, |k| length_mm(&opened[k + 1..]));
    [ahead.min(half), behind.min(half)]
}

/// An opened line in three: so far ahead, all the rest, and so far behind.
pub(super) fn in_three(opened: Vec<Part>, [ahead_mm, behind_mm]: [f64; 2]) -> [Vec<Part>; 3] {
    let whole = length_mm(&opened);
    let (ahead, rest) = cut_at_way(opened, ahead_mm);
    let (rest, behind) = cut_at_way(rest, whole - ahead_mm - behind_mm);
    [ahead, rest, behind]
}
