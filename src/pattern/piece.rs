//! A piece of the pattern.

use super::construction::Mark;
use super::{
    Allowance, AllowanceError, CutLine, Folded, Hardware, Kind, Outline, Quantity, Record, StrapRing,
    allowance,
};
use crate::geometry::Ring;
use crate::units::Unit;

/// A piece: its finished line, its holes, and what is written on it.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// The finished line.
    pub outline: Outline,
    /// Holes, anticlockwise.
    pub holes: Vec<Ring>,
    /// What is written on it.
    pub record: Record,
    /// How many are cut.
    pub quantity: Quantity,
    /// What is bought for one of it, besides what its holes hold ([`super::Construction::holes`]).
    pub hardware: Vec<Hardware>,
    /// The ring that it holds.
    pub ring: Option<StrapRing>,
    /// Drafted from numbers at the size that is cut, as a strap is: what has no allowance needs none.
    pub cut_as_drawn: bool,
    /// What is drawn on it besides its lines, by places on its line ([`Piece::construction`]).
    pub(super) marks: Vec<Mark>,
}

impl Piece {
    /// A piece of this line with nothing on it.
    #[must_use]
    pub fn new(outline: Outline, record: Record) -> Self {
        Self {
            outline,
            holes: Vec::new(),
            record,
            quantity: Quantity::default(),
            hardware: Vec::new(),
            ring: None,
            cut_as_drawn: false,
            marks: Vec::new(),
        }
    }

    /// The half as it was folded, lettered, before any step.
    #[must_use]
    pub fn from_folded(folded: &Folded, record: Record) -> Self {
        let outline = Outline::from_half(&folded.half, &folded.corners);
        Self { holes: folded.holes.clone(), ..Self::new(outline, record) }
    }

    /// Its sizes.
    #[must_use]
    pub fn measures(&self) -> Measures {
        let bounds = self.outline.ring().bounds();
        // A half is opened out at the fold: across, everything counts twice.
        let times = if self.outline.on_fold() { 2.0 } else { 1.0 };
        let left = if self.outline.on_fold() { 0.0 } else { bounds.x0 };
        let fold_mm = if self.outline.on_fold() {
            self.outline.edges().last().map_or(0.0, |e| e.length_mm())
        } else {
            0.0
        };
        let holes: f64 = self.holes.iter().map(|h| h.area_mm2().abs()).sum();
        Measures {
            height_mm: bounds.height(),
            width_mm: times * (bounds.x1 - left),
            area_mm2: times * (self.outline.area_mm2() - holes),
            perimeter_mm: times * (self.outline.ring().length_mm() - fold_mm),
        }
    }

    /// The line that the knife follows; `None` when no edge has an allowance, and the finished line is cut.
    ///
    /// # Errors
    /// [`AllowanceError`]; never for a piece that [`super::draft()`] made, which checks it after every step.
    pub fn cut_line(&self) -> Result<Option<CutLine>, AllowanceError> {
        allowance::cut_line(&self.outline)
    }

    /// The allowances in words, one entry for every kind and width with its edges; empty when there are none.
    #[must_use]
    pub fn allowance_words(&self, show: impl Fn(f64) -> String) -> Vec<String> {
        let edges = self.outline.edges();
        let mut groups: Vec<(Allowance, Vec<String>)> = Vec::new();
        for (index, allowance) in edges.iter().enumerate().filter_map(|(i, e)| Some((i, e.allowance?))) {
            let spoken = self.outline.spoken(index);
            match groups.iter_mut().find(|(known, _)| *known == allowance) {
                Some((_, list)) => list.push(spoken),
                None => groups.push((allowance, vec![spoken])),
            }
        }
        let words = |(Allowance { kind, width_mm }, list): &(Allowance, Vec<String>)| {
            format!("{} {} at {}", kind.word(), show(*width_mm), list.join(", "))
        };
        groups.iter().map(words).collect()
    }

    /// Corners whose two allowances are folded in, and the layers that lie on each other there.
    fn corner_lines(&self) -> Vec<String> {
        let edges = self.outline.edges();
        let folded = |edge: usize| edges[edge].allowance.filter(|a| a.kind != Kind::Seam);
        let corners = (0..edges.len()).filter(|&i| !self.outline.is_on_fold(i));
        corners
            .filter_map(|i| Some((i, folded(self.outline.before(i))?, folded(i)?)))
            .map(|(i, before, after)| {
                let layers = edges[i].corner.layers(Some(before), Some(after));
                format!("corner {}: {}, {layers} layers", edges[i].from, edges[i].corner.word())
            })
            .collect()
    }

    /// The piece in words, one line each: sizes of the whole, then every point (across from the fold and down from its
    /// top) and the length of the edge that begins there.
    #[must_use]
    pub fn lines(&self, unit: Unit) -> Vec<String> {
        let whole = self.measures();
        let mut out = vec![format!(
            "whole: {} high, {} wide, {}",
            unit.show(whole.height_mm),
            unit.show(whole.width_mm),
            unit.show_area(whole.area_mm2)
        )];
        for (index, (letter, at)) in self.outline.points().enumerate() {
            let edge = &self.outline.edges()[index];
            let shape = if edge.is_straight() { "straight" } else { "curved" };
            out.push(format!(
                "{letter}: {} across, {} {}; {} {}, {shape}",
                unit.show(at.x),
                unit.show(at.y.abs()),
                if at.y < 0.0 { "up" } else { "down" },
                self.outline.spoken(index),
                unit.show(edge.length_mm()),
            ));
        }
        out.extend(self.allowance_words(|mm| unit.show(mm)));
        if let Ok(Some(cut)) = self.cut_line() {
            out.extend(cut.turned.iter().flat_map(|turn| turn.lines(unit)));
        }
        out.extend(self.corner_lines());
        if let Ok(made) = self.construction() {
            out.extend(made.stitching.iter().map(|line| line.spoken(unit)));
        }
        out
    }
}

/// Sizes of the whole piece, opened out at the fold.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measures {
    /// From the highest to the lowest place, millimetres.
    pub height_mm: f64,
    /// From the leftmost to the rightmost place, millimetres.
    pub width_mm: f64,
    /// Area without the holes, mm².
    pub area_mm2: f64,
    /// Length of the outer line, mm.
    pub perimeter_mm: f64,
}
