//! The marks of a piece: places on its line by letters, drawn anew after every edit.

use super::Construction;
use super::drawn::Drawn;
use super::ground::Ground;
use super::guide::Guide;
use super::hole::Hole;
use super::notch::{MatchMark, Notch};
use super::place::Placement;
use super::plain::{Centre, PlainLine, Words};
use super::slits::Slits;
use super::stitch::StitchLine;
use crate::geometry::{Point, Vec2};
use crate::pattern::inside::FixedInside;
use crate::pattern::spot::Fixed;
use crate::pattern::{Letter, StepProblem};

/// One mark.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::pattern) enum Mark {
    Notch(Notch),
    Match(MatchMark),
    Stitch(StitchLine),
    Guide(Guide),
    Slits(Slits),
    Hole(Hole),
    Placement(Placement),
    Line(PlainLine),
    Centre(Centre),
    Words(Words),
    Drawn(Drawn),
}

impl Mark {
    /// Draws it.
    pub(super) fn draw(&self, ground: &Ground<'_>, out: &mut Construction) -> Result<(), StepProblem> {
        match self {
            Self::Notch(mark) => mark.draw(ground, out),
            Self::Match(mark) => mark.draw(ground, out),
            Self::Stitch(mark) => mark.draw(ground, out),
            Self::Guide(mark) => mark.draw(ground, out),
            Self::Slits(mark) => mark.draw(ground, out),
            Self::Hole(mark) => mark.draw(ground, out),
            Self::Placement(mark) => mark.draw(ground, out),
            Self::Line(mark) => mark.draw(ground, out),
            Self::Centre(mark) => mark.draw(ground, out),
            Self::Words(mark) => mark.draw(ground, out),
            Self::Drawn(mark) => mark.draw(ground, out),
        }
    }

    /// What it is, for messages.
    pub(super) fn spoken(&self) -> String {
        match self {
            Self::Notch(_) => "a notch".to_owned(),
            Self::Match(_) => "a match mark".to_owned(),
            Self::Stitch(_) => "a stitch line".to_owned(),
            Self::Guide(guide) => format!("a {} line", guide.kind.word()),
            Self::Slits(_) => "slits".to_owned(),
            Self::Hole(_) => "a hole".to_owned(),
            Self::Placement(mark) => format!("the place of {}", mark.of),
            Self::Line(line) => format!("a {} line", line.kind.word()),
            Self::Centre(_) => "the centre line".to_owned(),
            Self::Words(words) => format!("the words `{}`", words.words),
            Self::Drawn(_) => "a drawn line".to_owned(),
        }
    }

    /// Puts its places elsewhere: those on the line, and those inside the piece.
    pub(in crate::pattern) fn move_places(
        &mut self,
        spot: impl Fn(Fixed) -> Result<Fixed, StepProblem>,
        inside: impl Fn(FixedInside) -> Result<FixedInside, StepProblem>,
    ) -> Result<(), StepProblem> {
        match self {
            Self::Notch(mark) => mark.at = spot(mark.at)?,
            Self::Match(mark) => mark.at = spot(mark.at)?,
            Self::Hole(mark) => mark.at = inside(mark.at)?,
            Self::Placement(mark) => mark.at = inside(mark.at)?,
            Self::Words(mark) => mark.at = inside(mark.at)?,
            Self::Line(mark) => (mark.from, mark.to) = (inside(mark.from)?, inside(mark.to)?),
            Self::Drawn(mark) => {
                for (_, end) in &mut mark.ends {
                    *end = inside(*end)?;
                }
            }
            Self::Stitch(_) | Self::Guide(_) | Self::Slits(_) | Self::Centre(_) => {}
        }
        Ok(())
    }

    /// Its mirror image on the left of the fold, by the letters of mirrored edges and points; `None` for a mark that is
    /// its own mirror image, or that now covers both sides.
    pub(in crate::pattern) fn mirrored(
        &mut self,
        of_edge: &[(Letter, Letter)],
        of_point: &[(Letter, Letter)],
        on_fold_mm: f64,
    ) -> Option<Self> {
        let edge = |from: Letter| of_edge.iter().find(|(l, _)| *l == from).map(|(_, m)| *m);
        let spot = |at: Fixed| Some(Fixed { edge: edge(at.edge)?, from: at.from.mirrored() });
        let inside = |at: FixedInside| match at {
            FixedInside::From { point, away } => {
                let on_fold = of_point.iter().any(|(a, b)| a == b && *a == point);
                let point = of_point.iter().find(|(l, _)| *l == point).map(|(_, m)| *m)?;
                let own = on_fold && away.x.abs() <= on_fold_mm;
                (!own).then_some(FixedInside::From { point, away: Vec2::new(-away.x, away.y) })
            }
            FixedInside::At { spot: at, inset_mm } => Some(FixedInside::At { spot: spot(at)?, inset_mm }),
        };
        match self {
            Self::Notch(mark) => Some(Self::Notch(Notch { at: spot(mark.at)?, ..*mark })),
            Self::Match(mark) => Some(Self::Match(MatchMark { at: spot(mark.at)? })),
            Self::Slits(mark) => Some(Self::Slits(Slits { edge: edge(mark.edge)?, ..*mark })),
            Self::Stitch(mark) => {
                let more: Vec<Letter> = mark.edges.iter().filter_map(|e| edge(*e)).collect();
                mark.edges.extend(more);
                None
            }
            Self::Guide(mark) => {
                let more: Vec<Letter> = mark.edges.iter().filter_map(|e| edge(*e)).collect();
                mark.edges.extend(more);
                None
            }
            Self::Hole(mark) => Some(Self::Hole(Hole { at: inside(mark.at)?, ..mark.clone() })),
            Self::Placement(mark) => {
                let mut other = mark.clone();
                other.at = inside(mark.at)?;
                other.turn_deg = -mark.turn_deg;
                Some(Self::Placement(other))
            }
            Self::Line(mark) => {
                let (from, to) = (inside(mark.from)?, inside(mark.to)?);
                Some(Self::Line(PlainLine { from, to, says: String::new(), ..mark.clone() }))
            }
            Self::Drawn(mark) => {
                let ends = mark.ends.map(|(at, end)| Some((Point::new(-at.x, at.y), inside(end)?)));
                let [first, last] = ends;
                let path = kurbo::Affine::FLIP_X * mark.path.clone();
                Some(Self::Drawn(Drawn { path, ends: [first?, last?], says: String::new(), ..mark.clone() }))
            }
            Self::Centre(_) | Self::Words(_) => None,
        }
    }
}
