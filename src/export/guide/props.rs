//! What the guide's pictures are made of: a small sheet, an apron, a telephone, right and wrong.

use super::{BAD, CLOTH, GOOD, PAGE};
use crate::export::canvas::{Canvas, boxed, polyline};
use crate::export::strokes::{self, full, painted};
use crate::geometry::{Affine, BezPath, Paint, Point, Rect, Vec2};
use crate::sheet::layout::{
    BLEED_MM, BOARD_HEIGHT_MM, BOARD_WIDTH_MM, COLUMNS, ROWS, SQUARE_MM, square_is_black,
};
use kurbo::Shape;

/// A small calibration sheet, `width` wide, its board's middle at `centre`, turned.
pub(super) fn sheet(canvas: &mut Canvas, centre: Point, width: f64, turn_deg: f64) {
    let printed = Rect::new(-BLEED_MM, -BLEED_MM, BOARD_WIDTH_MM + BLEED_MM, BOARD_HEIGHT_MM + BLEED_MM);
    let place = Affine::translate(centre.to_vec2())
        * Affine::rotate(turn_deg.to_radians())
        * Affine::scale(width / 210.0)
        * Affine::translate((-BOARD_WIDTH_MM / 2.0, -BOARD_HEIGHT_MM / 2.0));
    let mut black = BezPath::new();
    for row in -1..=ROWS {
        for column in (-1..=COLUMNS).filter(|&column| square_is_black(column, row)) {
            let corner = Point::new(f64::from(column), f64::from(row)).to_vec2() * SQUARE_MM;
            let square = Rect::new(0.0, 0.0, SQUARE_MM, SQUARE_MM) + corner;
            black.extend(boxed(square.intersect(printed)));
        }
    }
    let paper = place * boxed(printed.inset((5.0, 18.5)));
    canvas.push(PAGE, paper, Some(painted(full(0.15), strokes::QUIET)), Some(Paint::WHITE));
    canvas.fill(PAGE, place * black, Paint::grey(0.15));
}

/// An apron, 100 x `scale` high, its top's middle at `centre_top`.
pub(super) fn apron(centre_top: Point, scale: f64) -> BezPath {
    let mut path = BezPath::new();
    path.move_to((-13.0, 0.0));
    path.line_to((13.0, 0.0));
    path.curve_to((14.0, 18.0), (20.0, 30.0), (34.0, 33.0));
    path.line_to((36.0, 100.0));
    path.line_to((-36.0, 100.0));
    path.line_to((-34.0, 33.0));
    path.curve_to((-20.0, 30.0), (-14.0, 18.0), (-13.0, 0.0));
    path.close_path();
    Affine::translate(centre_top.to_vec2()) * Affine::scale(scale) * path
}

pub(super) fn cloth(canvas: &mut Canvas, path: BezPath) {
    canvas.push(PAGE, path, Some(full(0.35)), Some(CLOTH));
}

pub(super) fn tick(canvas: &mut Canvas, at: Point) {
    let path = polyline(&[at + Vec2::new(-3.0, 0.0), at + Vec2::new(-0.8, 2.4), at + Vec2::new(3.4, -3.2)]);
    canvas.stroke(PAGE, path, painted(full(1.1), GOOD));
}

pub(super) fn cross(canvas: &mut Canvas, at: Point) {
    for side in [-1.0, 1.0] {
        let arm = Vec2::new(2.6, 2.6 * side);
        canvas.line(PAGE, &[at - arm, at + arm], painted(full(1.1), BAD));
    }
}

/// Sheets round an apron of 100 x `scale` high whose middle top is `top`; places in the apron's own numbers.
pub(super) fn ring(canvas: &mut Canvas, top: Point, scale: f64) {
    let places = [
        (0.0, 2.0, 90.0),
        (-22.0, 12.0, 3.0),
        (22.0, 13.0, -4.0),
        (-34.0, 42.0, 1.0),
        (35.0, 43.0, 2.0),
        (-36.0, 72.0, -2.0),
        (36.0, 73.0, -1.0),
        (-25.0, 97.0, 88.0),
        (3.0, 98.0, 91.0),
        (30.0, 97.0, 89.0),
    ];
    for (x, y, turn) in places {
        sheet(canvas, top + Vec2::new(x, y) * scale, 21.0 * scale, turn);
    }
}

/// A telephone seen from the side, its back towards `towards`.
pub(super) fn phone(canvas: &mut Canvas, at: Point, turn_deg: f64) {
    let place = Affine::translate(at.to_vec2()) * Affine::rotate(turn_deg.to_radians());
    let body = Rect::from_center_size((0.0, 0.0), (13.0, 2.0)).to_rounded_rect(0.8).to_path(0.01);
    canvas.fill(PAGE, place * body, Paint::grey(0.15));
    canvas.fill(PAGE, place * boxed(Rect::new(-1.2, 1.0, 1.2, 1.7)), Paint::grey(0.15));
}
