//! Where a board lies on the table.

use crate::geometry::{Point, Vec2};

/// A board's place: table = turn · board + (x, y).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// Where the board's origin lies on the table, millimetres.
    pub origin: Point,
    /// How far the board is turned, radians, clockwise as seen from above.
    pub turn: f64,
}

impl Place {
    /// At the table's origin, not turned.
    pub const HOME: Self = Self { origin: Point::ZERO, turn: 0.0 };

    /// The table place of a board place.
    #[must_use]
    pub fn table_from_board(&self, p: Point) -> Point {
        let (s, c) = self.turn.sin_cos();
        self.origin + Vec2::new(c * p.x - s * p.y, s * p.x + c * p.y)
    }

    /// The board place of a table place.
    #[must_use]
    pub fn board_from_table(&self, p: Point) -> Point {
        let (s, c) = self.turn.sin_cos();
        let d = p - self.origin;
        Point::new(c * d.x + s * d.y, -s * d.x + c * d.y)
    }

    /// The rigid place that brings board points nearest to table points (least squares, closed form).
    /// `None` for fewer than two pairs.
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "counts are small")]
    pub fn fit(pairs: &[(Point, Point)]) -> Option<Self> {
        if pairs.len() < 2 {
            return None;
        }
        let n = pairs.len() as f64;
        let mean = |f: &dyn Fn(&(Point, Point)) -> Point| {
            (pairs.iter().fold(Vec2::ZERO, |m, p| m + f(p).to_vec2()) / n).to_point()
        };
        let (board, table) = (mean(&|p| p.0), mean(&|p| p.1));
        let (mut along, mut across) = (0.0, 0.0);
        for p in pairs {
            let (b, t) = (p.0 - board, p.1 - table);
            along += b.dot(t);
            across += b.cross(t);
        }
        let turn = across.atan2(along);
        let turned = Self { origin: Point::ZERO, turn };
        Some(Self { origin: (table - turned.table_from_board(board)).to_point(), turn })
    }
}
