//! A piece made larger for a material that shrinks.

use super::Edit;
use crate::geometry::{Affine, Point};
use crate::pattern::inside::FixedInside;
use crate::pattern::part::cut_at;
use crate::pattern::spot::{Fixed, From};
use crate::pattern::{Outline, Piece, StepProblem, StepText};
use crate::units::Unit;
use kurbo::ParamCurveArclen;

/// The piece grows so that it is right after the material has shrunk: cut = finished / (1 - s), not finished × (1 + s)
/// (geometry). Places on it, of notches, holes, tabs, words and laid pieces, grow with it; what is measured from the finished
/// line at the needle or the knife keeps its width: allowances, stitch, skive and glue lines, pitches, diameters.
///
/// ```toml
/// [[step]]
/// do = "shrinkage"
/// down = "5"               # percent, along the fold
/// across = "2"             # percent; either may be left out
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Shrinkage {
    down: f64,
    across: f64,
}

/// More than this is no shrinkage but a slip of the finger, percent.
const MOST: f64 = 50.0;

/// Lengths along edges are measured to this, millimetres.
const ARC_MM: f64 = 1e-6;

impl Shrinkage {
    /// How it is written.
    pub(super) const KIND: &str = "shrinkage";

    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&["down", "across"])?;
        let percent = |key: &str| -> Result<f64, StepProblem> {
            let example = format!("{key} = \"5\", in percent");
            let Some(text) = text.one(key, &example)? else { return Ok(0.0) };
            match text.trim().trim_end_matches('%').trim_end().parse::<f64>() {
                Ok(percent) if (0.0..MOST).contains(&percent) => Ok(percent),
                _ => Err(StepProblem::BadValue { key: key.to_owned(), found: format!("`{text}`"), example }),
            }
        };
        let step = Self { down: percent("down")?, across: percent("across")? };
        if step.down + step.across <= 0.0 {
            let example = "down = \"5\" or across = \"2\", in percent".to_owned();
            return Err(StepProblem::Missing { key: "down".to_owned(), example });
        }
        Ok(step)
    }
}

impl Edit for Shrinkage {
    fn spoken(&self) -> String {
        format!("larger for a shrinkage of {} % down and {} % across", self.down, self.across)
    }

    fn unit(&self) -> Option<Unit> {
        None
    }

    fn apply(&self, piece: &mut Piece) -> Result<(), StepProblem> {
        let grown = |percent: f64| 1.0 / (1.0 - percent / 100.0);
        let map = Affine::scale_non_uniform(grown(self.across), grown(self.down));
        let old = piece.outline.clone();
        piece.outline.transform(map);
        for hole in &mut piece.holes {
            *hole = hole.transformed(map);
        }
        let new = piece.outline.clone();
        let growth = Growth { map, old: &old, new: &new };
        for mark in &mut piece.marks {
            mark.move_places(|spot| growth.spot(spot), |inside| growth.inside(inside))?;
        }
        for (index, edge) in piece.outline.edges_mut().iter_mut().enumerate() {
            for tab in &mut edge.tabs {
                let (start, end) = tab.range_mm(old.edges()[index].length_mm());
                let [start, end] = [start, end].map(|mm| growth.along_mm(index, mm));
                tab.from = From::Start(start);
                tab.width_mm = end - start;
            }
        }
        Ok(())
    }
}

/// A line before and after it has grown.
struct Growth<'a> {
    map: Affine,
    old: &'a Outline,
    new: &'a Outline,
}

impl Growth<'_> {
    /// How far along an edge a place of it has come to lie: a map keeps the places of a curve at its parameter.
    fn along_mm(&self, edge: usize, along_mm: f64) -> f64 {
        let [before, _] = cut_at(&self.old.edges()[edge].segments, along_mm);
        before.into_iter().map(|s| (self.map * s).arclen(ARC_MM)).sum()
    }

    fn spot(&self, at: Fixed) -> Result<Fixed, StepProblem> {
        let found = at.find(self.old)?;
        let along_mm = self.along_mm(found.edge, found.along_mm);
        let from = match at.from {
            From::Start(_) => From::Start(along_mm),
            From::End(_) => From::End(self.new.edges()[found.edge].length_mm() - along_mm),
            From::Middle => From::Middle,
        };
        Ok(Fixed { from, ..at })
    }

    fn inside(&self, at: FixedInside) -> Result<FixedInside, StepProblem> {
        Ok(match at {
            FixedInside::From { point, away } => {
                let away = self.map * away.to_point() - self.map * Point::ZERO;
                FixedInside::From { point, away }
            }
            FixedInside::At { spot, .. } => {
                let (was, spot) = (at.find(self.old)?, self.spot(spot)?);
                let edge = spot.find(self.new)?;
                FixedInside::At { spot, inset_mm: (edge.at - self.map * was).dot(edge.outward()) }
            }
        })
    }
}
