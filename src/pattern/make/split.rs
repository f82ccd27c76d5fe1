//! A piece parted in two, or a part of it copied.

use super::said::Said;
use crate::pattern::bundle::{Bundle, PieceEdge, SeamCorners, Sewn};
use crate::pattern::edit::Make;
use crate::pattern::part::{self, CUT, own_frame};
use crate::pattern::spot::Spot;
use crate::pattern::{Edge, Piece, StepProblem, StepText};
use crate::units::{Length, Unit};
use kurbo::Shape;

/// A piece is cut along a line, or a curve bowed by an amount, between two places of its line; the new piece is the part
/// without the fold, or the lower one where both have it, or the part before the cut where none has. With `copy` the piece
/// itself stays whole, and the copy is its line alone.
///
/// ```toml
/// [[step]]
/// do = "split"             # or "copy"
/// name = "skirt"
/// from = "200mm along side"
/// to = "350mm along fold"
/// bow = "15mm"             # left out: straight; negative: to the other side
/// part = "other"           # left out: as above; other: the other part
/// ```
#[derive(Debug, Clone, PartialEq)]
pub(in crate::pattern) struct Split {
    said: Said,
    copies: bool,
    ends: [Spot; 2],
    bow: Option<Length>,
    other: bool,
}

impl Split {
    /// How the two are written.
    pub(in crate::pattern) const KINDS: [&str; 2] = ["split", "copy"];

    pub(in crate::pattern) fn read(text: &StepText) -> Result<Self, StepProblem> {
        text.only(&[&Said::KEYS[..], &["from", "to", "bow", "part"]].concat())?;
        Ok(Self {
            said: Said::read(text, text.must("name", "name = \"skirt\", the new piece")?)?,
            copies: text.kind == Self::KINDS[1],
            ends: [
                text.must_spot("from", "from = \"200mm along side\"")?,
                text.must_spot("to", "to = \"350mm along fold\"")?,
            ],
            bow: text.length("bow", "bow = \"15mm\"")?,
            other: text.choice("part", &[("usual", false), ("other", true)])?.unwrap_or(false),
        })
    }
}

impl Make for Split {
    fn spoken(&self) -> String {
        let what = if self.copies { "copy" } else { "split off" };
        let [from, to] = [&self.ends[0], &self.ends[1]].map(Spot::spoken);
        format!("{what} {} along a cut from {from} to {to}", self.said.spoken())
    }

    fn unit(&self) -> Option<Unit> {
        self.bow.as_ref().map(Length::unit)
    }

    fn make(&self, bundle: &mut Bundle, at: usize) -> Result<(), StepProblem> {
        let whole = bundle.pieces[at].clone();
        let ends = [self.ends[0].find(&whole.outline)?, self.ends[1].find(&whole.outline)?];
        let [first, second] = part::part(&whole.outline, ends, self.bow.as_ref().map_or(0.0, Length::mm))?;
        for outline in [&first, &second] {
            crate::pattern::crossing::check(outline)?;
        }
        let top = |o: &crate::pattern::Outline| o.ring().bounds().y0 + o.ring().bounds().y1;
        let first_is_new = match (first.on_fold(), second.on_fold()) {
            (true, false) => false,
            (true, true) => top(&first) > top(&second),
            _ => true,
        } != self.other;
        let (new, kept) = if first_is_new { (first, second) } else { (second, first) };
        let mut new = self.said.piece(new, &whole.record, &whole.record.grain);
        let mut kept = Piece { outline: kept, marks: Vec::new(), holes: Vec::new(), ..whole.clone() };
        for hole in &whole.holes {
            let inside = new.outline.ring().path().contains(hole.bounds().center());
            if inside { new.holes.push(hole.clone()) } else { kept.holes.push(hole.clone()) }
        }
        for mark in &whole.marks {
            // A mark stays where it still finds all of its places.
            kept.marks.push(mark.clone());
            if kept.construction().is_err() {
                kept.marks.pop();
                new.marks.push(mark.clone());
                if let (Err(problem), false) = (new.construction(), self.copies) {
                    return Err(problem);
                }
            }
        }
        into_own_frame(&mut new);
        if self.copies {
            new.marks.clear();
            for edge in new.outline.edges_mut() {
                let name = edge.name.take();
                *edge = Edge { name, ..Edge::new(edge.from, edge.segments.clone()) };
            }
            return bundle.add(new);
        }
        into_own_frame(&mut kept);
        let edge = |piece: &Piece| PieceEdge { piece: piece.record.piece.clone(), edge: CUT.to_owned() };
        let named = |piece: &Piece| piece.outline.find_edge(CUT).is_ok();
        if named(&kept) && named(&new) {
            let (first, second) = (edge(&kept), edge(&new));
            bundle.sewn.push(Sewn { first, second, ease_mm: 0.0, corners: SeamCorners::RunOn });
        }
        bundle.pieces[at] = kept;
        bundle.add(new)
    }
}

fn into_own_frame(piece: &mut Piece) {
    let map = own_frame(&piece.outline);
    piece.outline.transform(map);
    for hole in &mut piece.holes {
        *hole = hole.transformed(map);
    }
}
