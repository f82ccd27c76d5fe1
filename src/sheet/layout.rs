//! The calibration sheet as numbers: where every square, tag and drop of ink stands.
//!
//! Sheet frame: origin at the top-left corner of the board, x right, y down, millimetres. Squares and tag
//! cells are counted (column, row) from the top left. Sheets are counted from 0; the printed number is one more.
//! The geometry is fixed: sheets that people have printed go on working.

use super::family;
use crate::geometry::{Point, Rect};

/// Squares across a board.
pub const COLUMNS: i32 = 9;
/// Squares down a board.
pub const ROWS: i32 = 12;
/// Side of a square, millimetres.
pub const SQUARE_MM: f64 = 20.0;
/// Board width, millimetres: the block the user measures.
pub const BOARD_WIDTH_MM: f64 = 180.0;
/// Board height, millimetres: the block the user measures.
pub const BOARD_HEIGHT_MM: f64 = 240.0;
/// How far the checks go on beyond the board on every side, millimetres. Carries no measure; a printer may clip it.
pub const BLEED_MM: f64 = 10.0;
/// Number of different sheets: the whole tags of the family that 24 a sheet can use.
pub const SHEETS: usize = 24;
/// Tags on a sheet.
pub const TAGS_PER_SHEET: usize = 24;
/// Tags in one row of tags.
pub const TAGS_ACROSS: usize = 4;
/// Side of a tag with its black border, millimetres.
pub const TAG_MM: f64 = 16.0;
/// White margin between a tag and its square's edge, millimetres.
pub const QUIET_MM: f64 = 2.0;
/// Side of a tag's module, millimetres.
pub const MODULE_MM: f64 = 2.0;

/// What the printer left at a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Ink {
    /// Printed black.
    Black,
    /// Left white.
    White,
}

/// A paper that the sheets are printed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Paper {
    /// ISO 216 A4, upright.
    A4,
    /// US Letter, upright.
    Letter,
}

impl Paper {
    /// Width and height of the page, millimetres.
    #[must_use]
    pub const fn size_mm(self) -> (f64, f64) {
        match self {
            Self::A4 => (210.0, 297.0),
            Self::Letter => (215.9, 279.4),
        }
    }

    /// Where the board's origin stands on the page: the board is centred.
    #[must_use]
    pub const fn board_origin_mm(self) -> Point {
        let (width, height) = self.size_mm();
        Point::new((width - BOARD_WIDTH_MM) / 2.0, (height - BOARD_HEIGHT_MM) / 2.0)
    }
}

/// Boards side by side on one roll page: one rigid sheet.
///
/// Frame: origin at the top-left corner of the first board. Between boards there is no strip; one bleed goes
/// round the whole. Each board begins with its own black square, so at the vertical joints two squares of one
/// colour meet (a board has nine columns).
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Roll {
    /// Boards across.
    pub across: usize,
    /// Boards down.
    pub down: usize,
}

impl Roll {
    /// Number of boards; sheet `s` stands at column `s % across`, row `s / across`.
    #[must_use]
    pub const fn boards(self) -> usize {
        self.across * self.down
    }

    /// Where the board of sheet `s` begins, in the roll's frame.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "a few boards")]
    pub const fn board_origin_mm(self, sheet: usize) -> Point {
        Point::new(
            (sheet % self.across) as f64 * BOARD_WIDTH_MM,
            (sheet / self.across) as f64 * BOARD_HEIGHT_MM,
        )
    }

    /// Size of all boards together, bleed not counted, millimetres.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "a few boards")]
    pub const fn block_mm(self) -> (f64, f64) {
        (self.across as f64 * BOARD_WIDTH_MM, self.down as f64 * BOARD_HEIGHT_MM)
    }

    /// Which board a place belongs to: within the bleed, the nearest. `None` outside the printed area.
    #[must_use]
    pub fn sheet_at(self, at: Point) -> Option<usize> {
        let (width, height) = self.block_mm();
        if !with_bleed(width, height).contains(at) {
            return None;
        }
        let column = index(at.x, BOARD_WIDTH_MM, self.across);
        Some(index(at.y, BOARD_HEIGHT_MM, self.down) * self.across + column)
    }

    /// The ink at a place of the roll; `None` outside the printed area.
    #[must_use]
    pub fn ink_at(self, at: Point) -> Option<Ink> {
        let sheet = self.sheet_at(at)?;
        ink_at(at - self.board_origin_mm(sheet).to_vec2(), sheet)
    }
}

/// Which of `count` strips of this width, the outer ones reaching on without end.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "clamped to a few boards"
)]
fn index(x: f64, width: f64, count: usize) -> usize {
    (x / width).floor().clamp(0.0, count.saturating_sub(1) as f64) as usize
}

const fn with_bleed(width: f64, height: f64) -> Rect {
    Rect::new(-BLEED_MM, -BLEED_MM, width + BLEED_MM, height + BLEED_MM)
}

/// The board: what the user measures.
pub const BOARD: Rect = Rect::new(0.0, 0.0, BOARD_WIDTH_MM, BOARD_HEIGHT_MM);

/// The printed area: the board with its bleed.
pub const PRINTED: Rect = with_bleed(BOARD_WIDTH_MM, BOARD_HEIGHT_MM);

/// True where the square is black; the bleed's half squares are columns -1 and 9, rows -1 and 12.
#[must_use]
pub const fn square_is_black(column: i32, row: i32) -> bool {
    (column + row) % 2 == 0
}

/// Cell (column, row) of a sheet's tag `k`, 0 to 23 in reading order.
#[must_use]
#[expect(clippy::cast_possible_truncation, clippy::cast_possible_wrap, reason = "24 tags")]
pub const fn tag_cell(k: usize) -> (i32, i32) {
    ((2 * (k % TAGS_ACROSS) + 1) as i32, (2 * (k / TAGS_ACROSS)) as i32)
}

/// Which tag of a sheet, 0 to 23, stands in a cell; `None` where no tag is.
#[must_use]
#[expect(clippy::cast_sign_loss, reason = "checked to lie on the board")]
pub const fn tag_in_cell(column: i32, row: i32) -> Option<usize> {
    let on_board = column >= 0 && column < COLUMNS && row >= 0 && row < ROWS;
    if on_board && column % 2 == 1 && row % 2 == 0 {
        Some(TAGS_ACROSS * (row as usize / 2) + (column as usize - 1) / 2)
    } else {
        None
    }
}

/// Number in the family of tag `k` of a sheet, both from 0.
#[must_use]
pub const fn tag_id(sheet: usize, k: usize) -> usize {
    TAGS_PER_SHEET * sheet + k
}

/// Sheet and place of a tag by its number in the family; `None` for the few that no sheet uses.
#[must_use]
pub const fn sheet_and_tag(id: usize) -> Option<(usize, usize)> {
    if id < SHEETS * TAGS_PER_SHEET { Some((id / TAGS_PER_SHEET, id % TAGS_PER_SHEET)) } else { None }
}

/// Outer edge of tag `k`'s black border.
#[must_use]
pub fn tag_rect(k: usize) -> Rect {
    let (column, row) = tag_cell(k);
    let (x, y) = (f64::from(column) * SQUARE_MM + QUIET_MM, f64::from(row) * SQUARE_MM + QUIET_MM);
    Rect::new(x, y, x + TAG_MM, y + TAG_MM)
}

/// The four outer corners of tag `k`: top left, top right, bottom right, bottom left of the upright tag.
#[must_use]
pub fn tag_corners(k: usize) -> [Point; 4] {
    let r = tag_rect(k);
    [(r.x0, r.y0), (r.x1, r.y0), (r.x1, r.y1), (r.x0, r.y1)].map(Point::from)
}

/// The corners where four squares of the board meet, row by row: 8 x 11 points.
pub fn inner_corners() -> impl Iterator<Item = Point> {
    (1..ROWS).flat_map(|row| {
        (1..COLUMNS).map(move |column| Point::new(f64::from(column) * SQUARE_MM, f64::from(row) * SQUARE_MM))
    })
}

/// The ink at a place of a sheet's frame, squares, tags and bleed counted; `None` outside the printed area.
#[must_use]
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "inside the printed area, or inside a tag"
)]
pub fn ink_at(at: Point, sheet: usize) -> Option<Ink> {
    if !PRINTED.contains(at) {
        return None;
    }
    // The bleed is less than a square wide: one square on, what is cut off is what is rounded down.
    let [column, row] = [at.x, at.y].map(|v| (v / SQUARE_MM + 1.0) as i32 - 1);
    if square_is_black(column, row) {
        return Some(Ink::Black);
    }
    let Some(k) = tag_in_cell(column, row) else { return Some(Ink::White) };
    let tag = tag_rect(k);
    if !tag.contains(at) {
        return Some(Ink::White);
    }
    let module = (at - tag.origin()) / MODULE_MM;
    let last = family::MODULES - 1;
    let black = family::module_is_black(
        tag_id(sheet, k),
        (module.x as usize).min(last),
        (module.y as usize).min(last),
    );
    Some(if black { Ink::Black } else { Ink::White })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn tags_are_numbered_in_reading_order() {
        assert_eq!(tag_cell(0), (1, 0));
        assert_eq!(tag_cell(5), (3, 2));
        assert_eq!(tag_cell(23), (7, 10));
        for k in 0..TAGS_PER_SHEET {
            let (column, row) = tag_cell(k);
            assert_eq!(tag_in_cell(column, row), Some(k));
            assert!(!square_is_black(column, row), "tags stand in white squares");
        }
        let cells = (-1..=COLUMNS).flat_map(|c| (-1..=ROWS).map(move |r| tag_in_cell(c, r)));
        assert_eq!(cells.flatten().count(), TAGS_PER_SHEET);
        assert_eq!(tag_id(23, 23), 575);
        assert_eq!(sheet_and_tag(575), Some((23, 23)));
        assert_eq!(sheet_and_tag(576), None);
    }

    #[test]
    fn boards_stand_where_the_sheet_says() {
        assert!((Paper::A4.board_origin_mm() - Point::new(15.0, 28.5)).hypot() < 1e-9);
        assert!((Paper::Letter.board_origin_mm() - Point::new(17.95, 19.7)).hypot() < 1e-9);
        let roll = Roll { across: 4, down: 3 };
        assert_eq!(roll.board_origin_mm(6), Point::new(360.0, 240.0));
        assert_eq!(roll.boards(), 12);
        assert_eq!(inner_corners().count(), 88);
    }

    #[test]
    fn ink_follows_squares_bleed_and_tags() {
        let at = |x, y| ink_at(Point::new(x, y), 0);
        assert_eq!(at(5.0, 5.0), Some(Ink::Black));
        assert_eq!(at(-5.0, -5.0), Some(Ink::Black), "the bleed's corner goes on the checks");
        assert_eq!(at(-5.0, 5.0), Some(Ink::White));
        assert_eq!(at(21.0, 1.0), Some(Ink::White), "quiet zone");
        assert_eq!(at(23.0, 3.0), Some(Ink::Black), "tag border");
        assert_eq!(at(185.0, 245.0), Some(Ink::White));
        assert_eq!(at(191.0, 0.0), None);
    }

    #[test]
    fn a_roll_is_its_boards() {
        let roll = Roll { across: 2, down: 2 };
        assert_eq!(roll.sheet_at(Point::new(-3.0, 485.0)), Some(2));
        assert_eq!(roll.ink_at(Point::new(175.0, 5.0)), Some(Ink::Black));
        assert_eq!(
            roll.ink_at(Point::new(185.0, 5.0)),
            Some(Ink::Black),
            "two black squares meet at the joint"
        );
        assert_eq!(roll.ink_at(Point::new(371.0, 5.0)), None);
    }
}
