//! A tab folded over part of an edge.

use super::Edit;
use crate::pattern::spot::Spot;
use crate::pattern::{Piece, StepProblem, StepText, Tab as TabOnEdge};
use crate::units::{Length, Unit};

/// A tab in one piece with the cloth, folded in along part of a straight edge, for a ring or a strap's end.
///
/// ```toml
/// [[step]]
/// do = "tab"
/// at = "10mm along top"    # where it begins; "10mm back along top": where it ends, from the edge's end; or "middle of"
/// width = "60mm"
/// depth = "50mm"
/// taper = "5mm"            # narrower at its end on each side; left out: none
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tab {
    at: Spot,
    width: Length,
    depth: Length,
    taper: Option<Length>,
}

impl Tab {
    /// How it is written.
    pub(super) const KIND: &str = "tab";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["at", "width", "depth", "taper"])?;
        Ok(Self {
            at: text.must_spot("at", "at = \"10mm along top\"")?,
            width: text.must_size("width", "width = \"60mm\"")?,
            depth: text.must_size("depth", "depth = \"50mm\"")?,
            taper: text.size("taper", "taper = \"5mm\"")?,
        })
    }
}

impl Edit for Tab {
    fn spoken(&self) -> String {
        format!("a tab {} wide and {} deep at {}", self.width, self.depth, self.at.spoken())
    }

    fn unit(&self) -> Option<Unit> {
        Some(self.width.unit())
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let outline = &mut piece.outline;
        let fixed = self.at.fix(outline)?;
        let edge = outline.find_point(&fixed.edge.to_string())?;
        if outline.is_fold(edge) {
            return Err(StepProblem::OnFold { what: outline.spoken(edge) });
        }
        let tab = TabOnEdge {
            from: fixed.from,
            width_mm: self.width.mm(),
            depth_mm: self.depth.mm(),
            taper_mm: self.taper.as_ref().map_or(0.0, Length::mm),
        };
        let length_mm = outline.edges()[edge].length_mm();
        let (start, end) = tab.range_mm(length_mm);
        let apart = |other: &TabOnEdge| {
            let (a, b) = other.range_mm(length_mm);
            b <= start || end <= a
        };
        if !outline.edges()[edge].tabs.iter().all(apart) {
            return Err(StepProblem::TabsMeet { edge: outline.spoken(edge) });
        }
        let tabs = &mut outline.edges_mut()[edge].tabs;
        tabs.push(tab);
        // In their order along the edge, as the knife meets them.
        tabs.sort_by(|a, b| a.range_mm(length_mm).0.total_cmp(&b.range_mm(length_mm).0));
        Ok(())
    }
}
