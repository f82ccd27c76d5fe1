//! A place on a piece: so far out and down from a lettered point, or so far inside a place on its line.

use super::spot::{Fixed, Spot};
use super::{Letter, Outline, StepProblem, StepText};
use crate::geometry::{Point, Vec2};
use crate::units::Length;

/// A place as it is written, by the keys `out`, `down` and `from`, or `at` and `inset`.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Inside {
    /// So far out and down from a point; `None` is the first point, the top of the fold on a half.
    From { point: Option<String>, out: Option<Length>, down: Option<Length> },
    /// So far inside a place on the line.
    At { spot: Spot, inset: Option<Length> },
}

/// The same, following edits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum FixedInside {
    From { point: Letter, away: Vec2 },
    At { spot: Fixed, inset_mm: f64 },
}

const EXAMPLE: &str = "out = \"60mm\" and down = \"90mm\" (from = \"B\"; left out: from the top of the fold), or at = \
                       \"40mm along top\" and inset = \"12mm\"";

impl Inside {
    /// The keys, for [`StepText::only`]; `prefix` stands before each.
    pub(super) const KEYS: [&str; 5] = ["out", "down", "from", "at", "inset"];

    /// Reads a place.
    ///
    /// # Errors
    /// [`StepProblem::Missing`] without one, [`StepProblem::BadValue`] with two.
    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        let (out, down) = (text.length("out", EXAMPLE)?, text.length("down", EXAMPLE)?);
        let (point, inset) = (text.one("from", EXAMPLE)?.map(str::to_owned), text.length("inset", EXAMPLE)?);
        match text.one("at", EXAMPLE)? {
            Some(at) if out.is_none() && down.is_none() && point.is_none() => {
                Ok(Self::At { spot: Spot::parse("at", at)?, inset })
            }
            Some(_) => Err(StepProblem::BadValue {
                key: "at".to_owned(),
                found: "given together with `out`, `down` or `from`".to_owned(),
                example: EXAMPLE.to_owned(),
            }),
            None if out.is_none() && down.is_none() => {
                Err(StepProblem::Missing { key: "out".to_owned(), example: EXAMPLE.to_owned() })
            }
            None if inset.is_some() => Err(StepProblem::BadValue {
                key: "inset".to_owned(),
                found: "given without `at`".to_owned(),
                example: EXAMPLE.to_owned(),
            }),
            None => Ok(Self::From { point, out, down }),
        }
    }

    /// As a person says it.
    pub(super) fn spoken(&self) -> String {
        match self {
            Self::From { point, out, down } => {
                let part = |length: &Option<Length>, way: &str| length.as_ref().map(|l| format!("{l} {way}"));
                let parts: Vec<String> =
                    [part(out, "out"), part(down, "down")].into_iter().flatten().collect();
                let from = point.as_ref().map_or_else(String::new, |p| format!(" from {p}"));
                format!("{}{from}", parts.join(" and "))
            }
            Self::At { spot, inset: None } => spot.spoken().to_owned(),
            Self::At { spot, inset: Some(inset) } => format!("{inset} inside {}", spot.spoken()),
        }
    }

    /// The same by letters.
    ///
    /// # Errors
    /// [`StepProblem`] for what is not there.
    pub(super) fn fix(&self, outline: &Outline) -> Result<FixedInside, StepProblem> {
        let mm = |length: &Option<Length>| length.as_ref().map_or(0.0, Length::mm);
        Ok(match self {
            Self::From { point, out, down } => {
                let index = point.as_ref().map_or(Ok(0), |p| outline.find_point(p))?;
                FixedInside::From { point: outline.edges()[index].from, away: Vec2::new(mm(out), mm(down)) }
            }
            Self::At { spot, inset } => FixedInside::At { spot: spot.fix(outline)?, inset_mm: mm(inset) },
        })
    }
}

impl FixedInside {
    /// Where it is now.
    ///
    /// # Errors
    /// [`StepProblem`] when its point or edge is gone.
    pub(super) fn find(self, outline: &Outline) -> Result<Point, StepProblem> {
        Ok(match self {
            Self::From { point, away } => {
                outline.edges()[outline.find_point(&point.to_string())?].start() + away
            }
            Self::At { spot, inset_mm } => {
                let found = spot.find(outline)?;
                found.at - found.outward() * inset_mm
            }
        })
    }
}
