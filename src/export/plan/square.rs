//! Where the test square of every page stands: inside its tile, off the piece's lines and words where there is room.

use super::{Drafting, Pages};
use crate::export::canvas::TEST_SQUARE_MM;
use crate::export::space::{least, offsets};
use crate::export::tiling::crosses;
use crate::geometry::{Point, Rect, Vec2};
use crate::pattern::Piece;

/// The test square keeps this from words and from the tile's border where it can, millimetres.
const CLEAR_MM: f64 = 2.0;

impl Drafting {
    /// Sets the label and takes the room of the pages' test squares; their top-left corners, and what they had to cross. The label comes first; a
    /// page on which it then leaves no room for the square gets its square first, and the label goes elsewhere.
    pub(super) fn label_and_squares(&mut self, piece: &Piece, pages: &Pages) -> (Vec<Point>, f64) {
        let mut best: Option<(f64, Self, Vec<Point>)> = None;
        // A square that comes first stands in the middle, or at the rim, which leaves more room beside it.
        for at_rim in [false, true] {
            let mut early = vec![false; pages.tiles.len()];
            for _ in 0..=pages.tiles.len() {
                let mut tried = self.clone();
                let mut found: Vec<(Point, f64)> = vec![(Point::ZERO, 0.0); early.len()];
                let mut label = 0.0;
                for turn in [true, false] {
                    for (k, &tile) in pages.tiles.iter().enumerate().filter(|(k, _)| early[*k] == turn) {
                        found[k] = tried.square(tile, turn && at_rim);
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
        let Some((crossed_mm, drawn, corners)) = best else { return (Vec::new(), 0.0) };
        *self = drawn;
        (corners, crossed_mm)
    }

    /// Takes the room of one page's square: its corner, and what it had to cross there.
    fn square(&mut self, tile: Rect, at_rim: bool) -> (Point, f64) {
        let corner = self.quietest(tile, at_rim);
        let crowding = self.space.crowding_mm(square(corner).inset(CLEAR_MM));
        self.space.take(square(corner));
        (corner, crowding)
    }

    /// Where in a tile the square meets least, the middle first or last.
    fn quietest(&self, tile: Rect, at_rim: bool) -> Point {
        let room = tile.inset(-CLEAR_MM);
        let free = Vec2::new(room.width() - TEST_SQUARE_MM, room.height() - TEST_SQUARE_MM);
        let middle = room.origin() + free / 2.0;
        let mut spots: Vec<Point> = offsets(free.y / 2.0)
            .flat_map(|dy| offsets(free.x / 2.0).map(move |dx| middle + Vec2::new(dx, dy)))
            .filter(|at| crosses(tile).iter().all(|cross| !cross.overlaps(square(*at))))
            .collect();
        if at_rim {
            spots.reverse();
        }
        least(spots.into_iter(), |at| self.space.crowding_mm(square(at).inset(CLEAR_MM))).unwrap_or(middle)
    }
}

fn square(corner: Point) -> Rect {
    Rect::from_origin_size(corner, (TEST_SQUARE_MM, TEST_SQUARE_MM))
}
