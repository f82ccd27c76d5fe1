//! How a large piece is cut into pages that overlap.
//!
//! The piece's box enters, a grid of tiles leaves: n = ceil((W − o) / (w − o)) along each side, with W the piece, w the
//! tile and o the overlap (common practice). Frame: the piece's, millimetres.

use super::plan::Pages;
use super::space::{Seams, Space};
use crate::geometry::{Point, Rect, Vec2};
use crate::sheet::Paper;

/// Overlap of neighbouring tiles, millimetres: room for glue and for a cross; more costs paper.
pub(super) const OVERLAP_MM: f64 = 12.0;
/// Half the size of a registration cross, millimetres: it stays within the overlap.
pub(super) const CROSS_MM: f64 = 5.0;
/// Paper that a printer may leave blank on every side, millimetres: a quarter inch and a little.
pub(super) const UNPRINTABLE_MM: f64 = 7.0;
/// Strip below a tile that holds the page's words, millimetres.
pub(super) const STRIP_MM: f64 = 11.0;
/// The piece keeps this from the outer border of the tiles, millimetres, so that no line is lost in a trimmed edge.
const AROUND_MM: f64 = 4.0;

/// What the registration crosses of a tile cover: one in the middle of each corner of its overlaps.
pub(super) fn crosses(tile: Rect) -> [Rect; 4] {
    let inner = tile.inset(-OVERLAP_MM / 2.0);
    [(inner.x0, inner.y0), (inner.x1, inner.y0), (inner.x0, inner.y1), (inner.x1, inner.y1)]
        .map(|at| Rect::from_center_size(at, (2.0 * CROSS_MM, 2.0 * CROSS_MM)))
}

/// Number of tiles of a length that cover another, both in one unit.
#[must_use]
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "positive; a cast saturates")]
pub fn count(length: f64, tile: f64, overlap: f64) -> usize {
    /// A piece that fits exactly needs no further tile for the sake of rounding.
    const ROUNDING: f64 = 1e-9;
    ((length - overlap) / (tile - overlap) - ROUNDING).ceil().max(1.0) as usize
}

/// Tiles over one piece.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Tiling {
    /// Page width and height, millimetres.
    pub(super) page_mm: (f64, f64),
    /// Tiles across.
    pub(super) columns: usize,
    /// Tiles down.
    pub(super) rows: usize,
    /// Top-left corner of the first tile, in the piece's frame.
    origin: Point,
}

impl Tiling {
    /// Covers a box, the grid centred on it.
    fn over(bounds: Rect, page_mm: (f64, f64)) -> Self {
        Self::placed(bounds, page_mm, (0.5, 0.5))
    }

    /// Covers a box; of the grid's length and height beyond it, these parts lie before it.
    fn placed(bounds: Rect, page_mm: (f64, f64), before: (f64, f64)) -> Self {
        let tile = Self::tile_of(page_mm);
        let covered = bounds.inflate(AROUND_MM, AROUND_MM);
        let columns = count(covered.width(), tile.x, OVERLAP_MM);
        let rows = count(covered.height(), tile.y, OVERLAP_MM);
        let mut tiling = Self { page_mm, columns, rows, origin: Point::ZERO };
        let grid = tiling.grid();
        let beyond = Vec2::new(grid.width() - covered.width(), grid.height() - covered.height());
        tiling.origin = covered.origin() - Vec2::new(beyond.x * before.0, beyond.y * before.1);
        tiling
    }

    /// The same tiles in other places over the box, itself first: where a grid lies decides what its pages have room for.
    pub(super) fn moved(&self, bounds: Rect) -> impl Iterator<Item = Self> {
        let (page_mm, parts) = (self.page_mm, [0.5, 0.0, 1.0, 0.25, 0.75]);
        parts.into_iter().flat_map(move |x| parts.map(|y| Self::placed(bounds, page_mm, (x, y))))
    }

    /// Upright or lying pages, whichever leaves fewer tiles.
    pub(super) fn best(bounds: Rect, paper: Paper) -> Self {
        let (width, height) = paper.size_mm();
        let (upright, lying) = (Self::over(bounds, (width, height)), Self::over(bounds, (height, width)));
        if lying.columns * lying.rows < upright.columns * upright.rows { lying } else { upright }
    }

    fn tile_of((width, height): (f64, f64)) -> Vec2 {
        Vec2::new(width - 2.0 * UNPRINTABLE_MM, height - 2.0 * UNPRINTABLE_MM - STRIP_MM)
    }

    /// Where the tile stands on its page.
    pub(super) fn frame(&self) -> Rect {
        Self::frame_of(self.page_mm)
    }

    /// The printable part of a page above its strip of words.
    pub(super) fn frame_of(page_mm: (f64, f64)) -> Rect {
        let tile = Self::tile_of(page_mm);
        Rect::from_origin_size((UNPRINTABLE_MM, UNPRINTABLE_MM), (tile.x, tile.y))
    }

    /// The part of the piece that a tile shows.
    #[expect(clippy::cast_precision_loss, reason = "a few tiles")]
    pub(super) fn tile(&self, column: usize, row: usize) -> Rect {
        let tile = Self::tile_of(self.page_mm);
        let step = tile - Vec2::new(OVERLAP_MM, OVERLAP_MM);
        let corner = self.origin + Vec2::new(column as f64 * step.x, row as f64 * step.y);
        Rect::from_origin_size(corner, (tile.x, tile.y))
    }

    /// The box round all tiles.
    pub(super) fn grid(&self) -> Rect {
        self.tile(0, 0).union(self.tile(self.columns - 1, self.rows - 1))
    }

    /// The pages that are used, as what is drawn on them must know them.
    pub(super) fn pages(&self, used: &[(usize, usize)]) -> Pages {
        let tiles = used.iter().map(|&(column, row)| self.tile(column, row)).collect();
        Pages { seams: self.seams(), tiles }
    }

    /// Borders of all tiles inside the grid, for words to keep off.
    fn seams(&self) -> Seams {
        let upright = (1..self.columns).flat_map(|c| [self.tile(c, 0).x0, self.tile(c - 1, 0).x1]).collect();
        let level = (1..self.rows).flat_map(|r| [self.tile(0, r).y0, self.tile(0, r - 1).y1]).collect();
        Seams { upright, level }
    }

    /// Columns and rows of the tiles that show anything that no tile before them shows, row by row.
    pub(super) fn used(&self, space: &Space) -> Vec<(usize, usize)> {
        let all = (0..self.rows).flat_map(|row| (0..self.columns).map(move |column| (column, row)));
        all.filter(|&(column, row)| space.touches(self.own(column, row))).collect()
    }

    /// The tile without what it shares with the tiles left of it and above it.
    fn own(&self, column: usize, row: usize) -> Rect {
        let shared = |number: usize| if number > 0 { OVERLAP_MM } else { 0.0 };
        let tile = self.tile(column, row);
        Rect::new(tile.x0 + shared(column), tile.y0 + shared(row), tile.x1, tile.y1)
    }
}

/// A tile's name: row and column, counted from 1 at the top left. Letters are left to the piece's points.
pub(super) fn name(column: usize, row: usize) -> String {
    format!("R{}C{}", row + 1, column + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tiles_after_the_trades_table() {
        // TRADE.md check value 20 (common practice): tiles of 7.5 x 10 with an overlap of 0.5 over 36 x 48 and 15 x 44.
        assert_eq!((count(36.0, 7.5, 0.5), count(48.0, 10.0, 0.5)), (6, 5));
        assert_eq!((count(15.0, 7.5, 0.5), count(44.0, 10.0, 0.5)), (3, 5));
        assert_eq!(count(7.5, 7.5, 0.5), 1);
        assert_eq!(count(14.5, 7.5, 0.5), 2, "two tiles less their overlap, exactly");
    }

    #[test]
    fn tiles_cover_the_piece_and_overlap() {
        let bounds = Rect::new(0.0, 0.0, 372.0, 871.0);
        let tiling = Tiling::best(bounds, Paper::A4);
        assert!(tiling.grid().contains_rect(bounds.inflate(AROUND_MM - 1e-9, AROUND_MM - 1e-9)));
        let (a, b) = (tiling.tile(0, 0), tiling.tile(1, 1));
        assert!((a.x1 - b.x0 - OVERLAP_MM).abs() < 1e-9 && (a.y1 - b.y0 - OVERLAP_MM).abs() < 1e-9);
    }
}
