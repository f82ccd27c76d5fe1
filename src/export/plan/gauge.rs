//! What every page is measured by: a test square inside its tile, off the piece's lines and words, across thin lines at most;
//! where there is no room for one, two lines of the same length, one across and one down.

use super::{Drafting, Pages};
use crate::export::canvas::{TEST_LINE_MM, TEST_SQUARE_MM};
use crate::export::space::{least, offsets};
use crate::export::tiling::crosses;
use crate::geometry::{Point, Rect, Vec2};
use crate::pattern::Piece;

/// The test square keeps this from lines, words and the tile's border, and where that is too much still this, millimetres.
const CLEAR_MM: [f64; 2] = [2.0, 0.5];
/// What a page without a square counts against a grid, as a length of lines crossed, millimetres: a square is measured both ways
/// at one place, and is looked for.
const NO_SQUARE_MM: f64 = 400.0;

/// What a page is measured by; places are top-left corners.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::export) enum Gauge {
    /// A square.
    Square(Point),
    /// A line across and one down.
    Lines {
        /// The one across.
        across: Point,
        /// The one down.
        down: Point,
    },
}

impl Drafting {
    /// Sets the label and takes the room of what the pages are measured by; these, and what they had to cross. The label comes
    /// first; a page on which it then leaves no room for the square gets its square first, and the label goes elsewhere.
    pub(super) fn label_and_gauges(&mut self, piece: &Piece, pages: &Pages) -> (Vec<Gauge>, f64) {
        let mut best: Option<(f64, Self, Vec<Gauge>)> = None;
        // A square that comes first stands in the middle, or at the rim, which leaves more room beside it.
        for at_rim in [false, true] {
            let mut early = vec![false; pages.tiles.len()];
            for _ in 0..=pages.tiles.len() {
                let mut tried = self.clone();
                let mut found = vec![(Gauge::Square(Point::ZERO), 0.0); early.len()];
                let mut label = 0.0;
                for turn in [true, false] {
                    for (k, &tile) in pages.tiles.iter().enumerate().filter(|(k, _)| early[*k] == turn) {
                        found[k] = tried.gauge(tile, turn && at_rim);
                    }
                    if turn && tried.manner.label {
                        label = tried.label(piece, pages);
                    }
                }
                let crowded: Vec<usize> =
                    (0..found.len()).filter(|&k| found[k].1 > 0.0 && !early[k]).collect();
                let cost = label + found.iter().map(|f| f.1).sum::<f64>();
                if best.as_ref().is_none_or(|(least, ..)| cost < *least) {
                    best = Some((cost, tried, found.into_iter().map(|f| f.0).collect()));
                }
                if crowded.is_empty() {
                    break;
                }
                crowded.into_iter().for_each(|k| early[k] = true);
            }
            if best.as_ref().is_some_and(|(least, ..)| *least <= 0.0) {
                break;
            }
        }
        let Some((crossed_mm, drawn, gauges)) = best else { return (Vec::new(), 0.0) };
        *self = drawn;
        (gauges, crossed_mm)
    }

    /// Takes the room of what one page is measured by; it, and what speaks against it.
    fn gauge(&mut self, tile: Rect, at_rim: bool) -> (Gauge, f64) {
        let side = Vec2::new(TEST_SQUARE_MM, TEST_SQUARE_MM);
        let mut found = (Point::ZERO, f64::INFINITY);
        for clear in CLEAR_MM {
            found = self.quietest(tile, side, clear, at_rim);
            if found.1 <= 0.0 {
                break;
            }
        }
        let square = Rect::from_origin_size(found.0, side.to_size());
        if !self.space.is_cut_or_written(square) {
            self.space.take(square);
            return (Gauge::Square(found.0), found.1);
        }
        let line = Vec2::new(TEST_SQUARE_MM, TEST_LINE_MM);
        let upright = Vec2::new(line.y, line.x);
        let (across, one) = self.quietest(tile, line, CLEAR_MM[1], at_rim);
        self.space.take(Rect::from_origin_size(across, line.to_size()));
        let (down, other) = self.quietest(tile, upright, CLEAR_MM[1], at_rim);
        self.space.take(Rect::from_origin_size(down, upright.to_size()));
        (Gauge::Lines { across, down }, NO_SQUARE_MM + one + other)
    }

    /// Where in a tile a box meets least, the middle first or last, and what it meets there.
    fn quietest(&self, tile: Rect, size: Vec2, clear_mm: f64, at_rim: bool) -> (Point, f64) {
        let room = tile.inset(-clear_mm);
        let free = Vec2::new(room.width() - size.x, room.height() - size.y);
        let middle = room.origin() + free / 2.0;
        let crosses = crosses(tile);
        let covered = |at: Point| Rect::from_origin_size(at, size.to_size());
        let mut spots: Vec<Point> = offsets(free.y / 2.0)
            .flat_map(|dy| offsets(free.x / 2.0).map(move |dx| middle + Vec2::new(dx, dy)))
            .filter(|at| crosses.iter().all(|cross| !cross.overlaps(covered(*at))))
            .collect();
        if at_rim {
            spots.reverse();
        }
        let space = self.space.part(tile);
        let met = |at: Point| space.crowding_mm(covered(at).inset(clear_mm));
        let at = least(spots.into_iter(), met).unwrap_or(middle);
        (at, met(at))
    }
}
