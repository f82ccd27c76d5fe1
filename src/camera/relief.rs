//! How a board departs from the plane of the table: lying on others, curled up at its corners.

use crate::geometry::{Point, Rect};

/// Numbers of a relief: its height and a lift at each corner.
pub(super) const RELIEF_PARAMETERS: usize = 5;
/// From a curled corner along the page's diagonal the paper comes down to the table within this, millimetres. Paper
/// that is lifted at a corner bends as a cylinder across the diagonal and lies flat beyond (measured on renders).
const CURL_MM: f64 = 150.0;

/// Height of a board over the table, place by place: h + Σ lift · (1 - s / 150 mm)², s the distance from the corner
/// along the page's diagonal, up to 150 mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Relief {
    /// Height of the flat part, millimetres; negative below the table's plane, to which the highest boards belong.
    pub height_mm: f64,
    /// How far the page's corners are lifted beyond that, millimetres: top left, top right, bottom right, bottom left.
    pub lifts_mm: [f64; 4],
    /// The page in the board's frame; `None` when it bends nowhere.
    page: Option<Rect>,
}

impl Relief {
    /// In the plane of the table.
    pub const FLAT: Self = Self { height_mm: 0.0, lifts_mm: [0.0; 4], page: None };

    /// Flat at this height.
    #[must_use]
    pub fn level(height_mm: f64) -> Self {
        Self { height_mm, ..Self::FLAT }
    }

    /// A flat board whose page may curl.
    pub(super) fn of_page(page: Option<Rect>) -> Self {
        Self { page, ..Self::FLAT }
    }

    /// Height over the table's plane at a place of the board, millimetres.
    #[must_use]
    pub fn height_at(&self, on_board: Point) -> f64 {
        let [_, a, b, c, d] = self.shapes(on_board);
        let [la, lb, lc, ld] = self.lifts_mm;
        self.height_mm + la * a + lb * b + lc * c + ld * d
    }

    /// The most that a corner is lifted, and which (in the order of `lifts_mm`).
    #[must_use]
    pub fn most_lifted(&self) -> (f64, usize) {
        let mut most = (self.lifts_mm[0], 0);
        for (corner, lift) in self.lifts_mm.into_iter().enumerate() {
            if lift.abs() > most.0.abs() {
                most = (lift, corner);
            }
        }
        most
    }

    /// Derivatives of the height at a place by the relief's numbers.
    pub(super) fn shapes(&self, on_board: Point) -> [f64; RELIEF_PARAMETERS] {
        let Some(page) = self.page else { return [1.0, 0.0, 0.0, 0.0, 0.0] };
        let (w, h) = (page.width(), page.height());
        let diagonal = w.hypot(h);
        let shape = |from_x: f64, from_y: f64| {
            let along = (from_x * w + from_y * h) / diagonal;
            (1.0 - along / CURL_MM).max(0.0).powi(2)
        };
        let (left, right) = (on_board.x - page.x0, page.x1 - on_board.x);
        let (top, bottom) = (on_board.y - page.y0, page.y1 - on_board.y);
        [1.0, shape(left, top), shape(right, top), shape(right, bottom), shape(left, bottom)]
    }

    pub(super) fn to_array(self) -> [f64; RELIEF_PARAMETERS] {
        let [a, b, c, d] = self.lifts_mm;
        [self.height_mm, a, b, c, d]
    }

    pub(super) fn moved(self, by: [f64; RELIEF_PARAMETERS]) -> Self {
        let [h, a, b, c, d] = by;
        let [la, lb, lc, ld] = self.lifts_mm;
        Self { height_mm: self.height_mm + h, lifts_mm: [la + a, lb + b, lc + c, ld + d], page: self.page }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_lifted_corner_comes_down_along_the_diagonal() {
        let page = Rect::new(-15.0, -28.5, 195.0, 268.5);
        let curled = Relief { height_mm: 0.2, lifts_mm: [2.0, 0.0, 0.0, 0.0], page: Some(page) };
        assert!((curled.height_at(Point::new(-15.0, -28.5)) - 2.2).abs() < 1e-12);
        assert!((curled.height_at(Point::new(195.0, 268.5)) - 0.2).abs() < 1e-12);
        let (dx, dy) = (210.0 / 363.7, 297.0 / 363.7);
        let half_way = Point::new(-15.0 + 75.0 * dx, -28.5 + 75.0 * dy);
        assert!((curled.height_at(half_way) - 0.7).abs() < 1e-3);
        assert_eq!(curled.most_lifted(), (2.0, 0));
    }
}
