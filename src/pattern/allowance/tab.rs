//! A tab that is folded over part of an edge.

use super::error::AllowanceError;
use super::meet;
use crate::geometry::{PathSeg, Point};
use crate::pattern::Outline;
use crate::pattern::spot::{self, From};
use kurbo::Line;

/// A tab in one piece with the cloth, on part of a straight stretch of an edge: folded in along the finished line, where a
/// ring will hang or a strap be sewn on.
#[derive(Debug, Clone, PartialEq)]
pub struct Tab {
    pub(in crate::pattern) from: From,
    /// Its width along the edge, millimetres.
    pub width_mm: f64,
    /// How far it stands out from the finished line, millimetres.
    pub depth_mm: f64,
    /// How much narrower it is at its end than at its root, on each side, millimetres.
    pub taper_mm: f64,
}

/// An edge that departs by more than this from the straight line under a tab cannot be folded there, millimetres.
const STRAIGHT_MM: f64 = 0.3;

impl Tab {
    /// Where it begins and ends at the finished line: distances along the edge, millimetres. A distance from the end and
    /// the middle are told for the tab's own end and middle.
    pub(in crate::pattern) fn range_mm(&self, length_mm: f64) -> (f64, f64) {
        let start = match self.from {
            From::Start(mm) => mm,
            From::End(mm) => length_mm - mm - self.width_mm,
            From::Middle => (length_mm - self.width_mm) / 2.0,
        };
        (start, start + self.width_mm)
    }

    /// The edge's run of the cut line with the tab in it.
    pub(super) fn cut_into(
        &self,
        outline: &Outline,
        edge: usize,
        run: &[PathSeg],
    ) -> Result<Vec<PathSeg>, AllowanceError> {
        let spoken = || outline.spoken(edge);
        let allowance_mm = outline.edges()[edge].allowance.map_or(0.0, |a| a.width_mm);
        let (start_mm, end_mm) = self.range_mm(outline.edges()[edge].length_mm());
        if start_mm < 0.0 || end_mm > outline.edges()[edge].length_mm() {
            return Err(AllowanceError::TabPastEnd { edge: spoken() });
        }
        if self.depth_mm <= allowance_mm || 2.0 * self.taper_mm >= self.width_mm {
            return Err(AllowanceError::TabTooSmall { edge: spoken(), allowance_mm });
        }
        let found = |mm: f64| spot::found(outline, edge, mm);
        let (first, last) = (found(start_mm), found(end_mm));
        let along = (last.at - first.at).normalize();
        let outward = kurbo::Vec2::new(along.y, -along.x);
        for part in [0.0, 0.25, 0.5, 0.75, 1.0] {
            let off = (found(start_mm + part * self.width_mm).at - first.at).dot(outward);
            if off.abs() > STRAIGHT_MM {
                return Err(AllowanceError::TabOnCurve { edge: spoken() });
            }
        }
        let side =
            |foot: Point| [PathSeg::Line(Line::new(foot - outward, foot + outward * (allowance_mm + 1.0)))];
        let missed = || AllowanceError::TabPastEnd { edge: spoken() };
        let (into, _, root) = meet::crossing(run, &side(first.at), first.at).ok_or_else(missed)?;
        let (on, _, back) = meet::crossing(run, &side(last.at), last.at).ok_or_else(missed)?;
        let inward = along * self.taper_mm;
        let corners = [
            root,
            first.at + outward * self.depth_mm + inward,
            last.at + outward * self.depth_mm - inward,
            back,
        ];
        let mut out = meet::up_to(run, into, root);
        out.extend(corners.windows(2).map(|w| PathSeg::Line(Line::new(w[0], w[1]))));
        out.extend(meet::from(run, on, back));
        Ok(out)
    }

    /// The same on the mirrored edge, which runs the other way.
    pub(in crate::pattern) fn mirrored(&self) -> Self {
        Self { from: self.from.mirrored(), ..self.clone() }
    }
}
