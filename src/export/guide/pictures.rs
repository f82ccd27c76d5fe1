//! The guide's eight pictures, each drawn into its box.

use super::props::{apron, cloth, cross, phone, ring, sheet, tick};
use super::{BAD, CLOTH, GOOD, PAGE};
use crate::export::canvas::{Canvas, Style, boxed, polyline};
use crate::export::strokes::{self, full, painted};
use crate::geometry::{Affine, BezPath, Paint, Point, Rect, Vec2};
use crate::sheet::layout::{BOARD_HEIGHT_MM, BOARD_WIDTH_MM};
use kurbo::{Arc, Ellipse, Shape};

pub(super) fn print_picture(canvas: &mut Canvas, r: Rect) {
    let width = r.height() * 0.6;
    for (side, right) in [(-1.0, true), (1.0, false)] {
        let centre = r.center() + Vec2::new(side * width * 0.78, 0.0);
        if right {
            sheet(canvas, centre, width, 0.0);
        } else {
            let page = Rect::from_center_size(centre, (width, width * 297.0 / 210.0));
            canvas.push(PAGE, boxed(page), Some(painted(full(0.15), strokes::QUIET)), Some(Paint::WHITE));
            sheet(canvas, centre, width * 0.8, 0.0);
        }
        let beside = centre + Vec2::new(side * (width * 0.5 + 8.0), -4.0);
        let says = Style::plain(3.0).bold().middle();
        if right {
            tick(canvas, beside);
            canvas.words(PAGE, beside + Vec2::new(0.0, 8.0), "100 %", says);
        } else {
            cross(canvas, beside);
            canvas.words(PAGE, beside + Vec2::new(0.0, 8.0), "97 %", says);
        }
    }
}

pub(super) fn measure_picture(canvas: &mut Canvas, r: Rect) {
    let width = r.height() * 0.56;
    let centre = r.center() + Vec2::new(0.0, 2.6);
    sheet(canvas, centre, width, 0.0);
    let half = Vec2::new(BOARD_WIDTH_MM, BOARD_HEIGHT_MM) * (width / 210.0) / 2.0;
    let line = painted(full(0.3), BAD);
    let says = Style::plain(3.2).bold().middle().painted(BAD);
    let (left, right, top, bottom) =
        (centre.x - half.x, centre.x + half.x, centre.y - half.y, centre.y + half.y);
    let (above, beside) = (top - 5.2, right + 6.5);
    canvas.double_arrow(PAGE, Point::new(left, above), Point::new(right, above), &line);
    canvas.double_arrow(PAGE, Point::new(beside, top), Point::new(beside, bottom), &line);
    for x in [left, right] {
        canvas.line(PAGE, &[Point::new(x, top), Point::new(x, above - 1.0)], painted(full(0.15), BAD));
    }
    for y in [top, bottom] {
        canvas.line(PAGE, &[Point::new(right, y), Point::new(beside + 1.0, y)], painted(full(0.15), BAD));
    }
    canvas.words(PAGE, Point::new(centre.x - half.x - 11.0, above + 1.0), "180 mm", says);
    canvas.words(PAGE, Point::new(beside + 8.5, centre.y + 1.0), "240 mm", says);
}

pub(super) fn ring_picture(canvas: &mut Canvas, r: Rect) {
    let scale = r.height() / 115.0;
    let top = Point::new(r.center().x, r.y0 + 8.0 * scale);
    ring(canvas, top, scale);
    cloth(canvas, apron(top, scale));
}

pub(super) fn straps_picture(canvas: &mut Canvas, r: Rect) {
    let scale = r.height() / 70.0;
    for (side, right) in [(-1.0, false), (1.0, true)] {
        let top = Point::new(r.center().x + side * r.width() * 0.27, r.y0 + 18.0 * scale);
        let shown = Rect::new(top.x - 46.0 * scale, r.y0, top.x + 46.0 * scale, r.y1);
        let mut inner = Canvas::default();
        let neck = |reach: f64| {
            let mut path = BezPath::new();
            path.move_to(top + Vec2::new(-10.0, 0.0) * scale);
            path.curve_to(
                top + Vec2::new(-16.0, reach) * scale,
                top + Vec2::new(16.0, reach) * scale,
                top + Vec2::new(10.0, 0.0) * scale,
            );
            path
        };
        if right {
            cloth(&mut inner, apron(top, scale));
            inner.stroke(PAGE, neck(30.0), strokes::dashed(0.4));
            for s in [-1.0, 1.0] {
                let tie = [(34.0, 36.0), (20.0, 44.0), (26.0, 50.0)]
                    .map(|(x, y)| top + Vec2::new(s * x, y) * scale);
                inner.line(PAGE, &tie, strokes::dashed(0.4));
            }
        } else {
            inner.stroke(PAGE, neck(-22.0), painted(full(2.0), CLOTH));
            for s in [-1.0, 1.0] {
                let tie = [(33.0, 36.0), (42.0, 39.0), (44.0, 47.0)]
                    .map(|(x, y)| top + Vec2::new(s * x, y) * scale);
                inner.line(PAGE, &tie, painted(full(2.0), CLOTH));
            }
            cloth(&mut inner, apron(top, scale));
        }
        canvas.place(Some(shown), Affine::IDENTITY, inner.items);
        let mark = top + Vec2::new(27.0, -8.0) * scale;
        if right { tick(canvas, mark) } else { cross(canvas, mark) }
    }
}

pub(super) fn flat_picture(canvas: &mut Canvas, r: Rect) {
    let half = r.width() / 4.0;
    for (side, right) in [(-1.0, false), (1.0, true)] {
        let scale = r.height() / 78.0;
        let middle = r.center().x + side * half;
        let top = Point::new(middle, r.y0 + 3.0);
        let mut inner = Canvas::default();
        if right {
            cloth(&mut inner, apron(top, scale * 0.72));
        } else {
            // Pulled at the lower corners: the hem sags between them, wrinkles run to the hands.
            let s = scale * 0.72;
            let mut path = BezPath::new();
            path.move_to(top + Vec2::new(-13.0, 0.0) * s);
            path.line_to(top + Vec2::new(13.0, 0.0) * s);
            path.curve_to(
                top + Vec2::new(14.0, 18.0) * s,
                top + Vec2::new(18.0, 32.0) * s,
                top + Vec2::new(30.0, 38.0) * s,
            );
            path.quad_to(top + Vec2::new(31.0, 75.0) * s, top + Vec2::new(44.0, 100.0) * s);
            path.quad_to(top + Vec2::new(0.0, 90.0) * s, top + Vec2::new(-44.0, 100.0) * s);
            path.quad_to(top + Vec2::new(-31.0, 75.0) * s, top + Vec2::new(-30.0, 38.0) * s);
            path.curve_to(
                top + Vec2::new(-18.0, 32.0) * s,
                top + Vec2::new(-14.0, 18.0) * s,
                top + Vec2::new(-13.0, 0.0) * s,
            );
            path.close_path();
            cloth(&mut inner, path);
            for s2 in [-1.0, 1.0] {
                let at = |x: f64, y: f64| top + Vec2::new(x * s2, y) * s;
                for k in 0..3 {
                    let k = f64::from(k) * 7.0;
                    inner.line(
                        PAGE,
                        &[at(38.0 - k * 0.6, 92.0 - k), at(16.0 - k * 0.6, 74.0 - k * 1.2)],
                        full(0.25),
                    );
                }
                inner.arrow(PAGE, at(44.0, 98.0), at(60.0, 107.0), &painted(full(0.5), BAD));
            }
        }
        canvas.items.append(&mut inner.items);
        let mark = Point::new(middle + half * 0.72, r.y0 + 5.0);
        if right { tick(canvas, mark) } else { cross(canvas, mark) }
    }
}

pub(super) fn camera_picture(canvas: &mut Canvas, r: Rect) {
    let floor = r.y1 - 2.0;
    let middle = r.center().x;
    canvas.line(PAGE, &[Point::new(r.x0, floor), Point::new(r.x1, floor)], full(0.5));
    let (left, right) = (middle - 22.0, middle + 22.0);
    for x in [left, right] {
        canvas.line(
            PAGE,
            &[Point::new(x - 7.0, floor - 0.5), Point::new(x + 7.0, floor - 0.5)],
            painted(full(0.5), strokes::QUIET),
        );
    }
    canvas.line(
        PAGE,
        &[Point::new(left, floor - 1.3), Point::new(right, floor - 1.3)],
        painted(full(1.2), CLOTH),
    );
    let foot = Point::new(middle, floor - 1.5);
    let reach = r.height() - 7.0;
    let upright = foot - Vec2::new(0.0, reach);
    canvas.line(PAGE, &[foot, upright], painted(strokes::dash_dot(0.2), strokes::QUIET));
    let lean = 14_f64.to_radians();
    let eye = foot + Vec2::new(lean.sin(), -lean.cos()) * reach;
    for x in [left - 4.0, right + 4.0] {
        canvas.line(PAGE, &[eye, Point::new(x, floor - 1.5)], painted(strokes::dashed(0.2), strokes::QUIET));
    }
    canvas.line(PAGE, &[foot, eye], full(0.25));
    phone(canvas, eye, 14.0);
    // The largest tilt, 30 degrees, as an arc on both sides of upright.
    let up = -std::f64::consts::FRAC_PI_2;
    let tilt = 30_f64.to_radians();
    let arc = Arc::new(foot, (reach * 0.72, reach * 0.72), up, tilt, 0.0);
    canvas.stroke(PAGE, arc.to_path(0.01), painted(full(0.3), GOOD));
    let limit = foot + Vec2::new(tilt.sin(), -tilt.cos()) * (reach * 0.95);
    canvas.line(PAGE, &[foot, limit], painted(full(0.25), GOOD));
    canvas.words(PAGE, limit + Vec2::new(2.0, 5.0), "30° at most", Style::plain(3.0).bold().painted(GOOD));
}

pub(super) fn frame_picture(canvas: &mut Canvas, r: Rect) {
    let width = r.height() * 0.8;
    for (side, right) in [(-1.0, true), (1.0, false)] {
        let frame =
            Rect::from_center_size(r.center() + Vec2::new(side * width * 0.62, 0.0), (width, r.height()));
        let (scale, shift) =
            if right { (r.height() / 130.0, Vec2::ZERO) } else { (r.height() / 108.0, Vec2::new(7.0, 8.0)) };
        let top = Point::new(frame.center().x, frame.y0 + 14.0 * scale) + shift;
        let mut inner = Canvas::default();
        inner.fill(PAGE, boxed(frame), Paint::WHITE);
        ring(&mut inner, top, scale);
        cloth(&mut inner, apron(top, scale));
        canvas.place(Some(frame), Affine::IDENTITY, inner.items);
        canvas.stroke(PAGE, frame.to_rounded_rect(1.5).to_path(0.01), full(1.0));
        let mark = Point::new(frame.center().x + side * (width * 0.5 + 6.0), frame.center().y);
        if right { tick(canvas, mark) } else { cross(canvas, mark) }
    }
}

pub(super) fn light_picture(canvas: &mut Canvas, r: Rect) {
    let floor = r.y1 - 3.0;
    let middle = r.center().x;
    canvas.line(PAGE, &[Point::new(r.x0, floor), Point::new(r.x1, floor)], full(0.5));
    canvas.line(
        PAGE,
        &[Point::new(middle - 20.0, floor - 0.9), Point::new(middle + 20.0, floor - 0.9)],
        painted(full(1.2), CLOTH),
    );
    // A window with light from it.
    let window = Rect::from_origin_size((r.x0 + 1.0, r.y0 + 4.0), (15.0, 19.0));
    canvas.push(PAGE, boxed(window), Some(full(0.5)), Some(Paint::WHITE));
    let c = window.center();
    canvas.line(PAGE, &[Point::new(c.x, window.y0), Point::new(c.x, window.y1)], full(0.3));
    canvas.line(PAGE, &[Point::new(window.x0, c.y), Point::new(window.x1, c.y)], full(0.3));
    let gold = Paint { r: 0.85, g: 0.60, b: 0.05 };
    for k in 0..3 {
        let from = Point::new(window.x1 + 2.0, window.y0 + 4.0 + 5.5 * f64::from(k));
        canvas.arrow(PAGE, from, from + Vec2::new(13.0, 6.5), &painted(full(0.3), gold));
    }
    tick(canvas, Point::new(window.x1 + 20.0, r.y0 + 5.0));
    // A flash struck out.
    let flash = Point::new(r.x1 - 12.0, r.y0 + 14.0);
    let bolt = [(1.5, -8.0), (-4.0, 1.0), (-0.5, 1.0), (-2.0, 8.0), (4.0, -2.0), (0.5, -2.0)];
    let mut path = polyline(&bolt.map(|p| flash + Vec2::from(p)));
    path.close_path();
    canvas.push(PAGE, path, Some(full(0.25)), Some(gold));
    canvas.stroke(PAGE, Ellipse::new(flash, (10.0, 10.0), 0.0).to_path(0.01), painted(full(1.1), BAD));
    let arm = Vec2::new(7.1, 7.1);
    canvas.line(PAGE, &[flash - arm, flash + arm], painted(full(1.1), BAD));
}
