//! The page that goes before the calibration sheets: in pictures and few words, how to print, check, lay out and
//! photograph.

use super::canvas::{Canvas, Style, boxed, circle, polyline};
use super::strokes::{self, full, painted};
use crate::geometry::{Affine, BezPath, Drawing, Layer, Paint, Point, Rect, Vec2};
use crate::sheet::Paper;
use crate::sheet::layout::{
    BLEED_MM, BOARD_HEIGHT_MM, BOARD_WIDTH_MM, COLUMNS, ROWS, SQUARE_MM, square_is_black,
};
use kurbo::{Arc, Ellipse, Shape};

/// Margin of the page, millimetres: inside what any printer reaches.
const MARGIN_MM: f64 = 13.0;
/// Space between panels, millimetres.
const GAP_MM: f64 = 5.0;
/// Height kept for the title, millimetres.
const TITLE_MM: f64 = 16.0;
/// Height kept for the foot of the page, millimetres.
const FOOT_MM: f64 = 21.0;
/// Height of a panel's words, millimetres.
const WORDS_MM: f64 = 17.0;

const PAGE: Layer = Layer::Page;
const CLOTH: Paint = Paint { r: 0.78, g: 0.70, b: 0.58 };
const GOOD: Paint = Paint { r: 0.10, g: 0.50, b: 0.25 };
const BAD: Paint = Paint { r: 0.78, g: 0.13, b: 0.10 };
const SHADE: Paint = Paint::grey(0.93);

/// What one panel shows and says.
struct Step {
    heading: &'static str,
    words: &'static str,
    picture: fn(&mut Canvas, Rect),
}

const STEPS: [Step; 8] = [
    Step {
        heading: "Print at 100 %",
        words: "Choose “actual size” or 100 %. Never “fit to page”. Plain white matt paper, black ink.",
        picture: print_picture,
    },
    Step {
        heading: "Measure a sheet",
        words: "A steel ruler over 9 squares across and 12 down (tick to tick on a page): 180 and 240 mm. \
                Enter what it really says, both ways: --measured 179.5mm,239.2mm",
        picture: measure_picture,
    },
    Step {
        heading: "Lay a ring of sheets",
        words: "Sheets lie flat under the garment’s whole outline, half covered, half in sight. Gaps and overlaps \
                do no harm. Each number once. None is needed in the middle.",
        picture: ring_picture,
    },
    Step {
        heading: "Tuck straps under",
        words: "Straps, ties, rings and labels go under the garment, so that only its true outline shows.",
        picture: straps_picture,
    },
    Step {
        heading: "Smooth it, do not pull",
        words: "Flat hands from the middle outward. Relaxed, closed, no folds. A pulled edge is copied pulled.",
        picture: flat_picture,
    },
    Step {
        heading: "Hold the camera above",
        words: "As square from above as you can, tilt under 30°. Stand on a chair; step back rather than use \
                the wide-angle lens.",
        picture: camera_picture,
    },
    Step {
        heading: "All of it in the frame",
        words: "The whole garment with sheets on every side fills the frame. Highest resolution, main lens, \
                no zoom, no filter.",
        picture: frame_picture,
    },
    Step {
        heading: "Even light, no flash",
        words: "Daylight from a window or a bright overcast sky. No flash, no hard shadow across the edge. \
                Hold still: the checks must be sharp.",
        picture: light_picture,
    },
];

/// The guide on a page of this paper.
#[must_use]
pub fn page(paper: Paper) -> Drawing {
    let (width, height) = paper.size_mm();
    let mut canvas = Canvas::default();
    let title = Style::plain(7.0).bold();
    canvas.words(PAGE, Point::new(MARGIN_MM, MARGIN_MM + 6.0), "Print, check, lay out, photograph", title);
    let note =
        "The pages after this one are the calibration sheets. Keep them: they can be used again and again.";
    let quiet = Style::plain(2.8).painted(strokes::QUIET);
    canvas.words(PAGE, Point::new(MARGIN_MM, MARGIN_MM + 11.0), note, quiet);

    let panel_width = (width - 2.0 * MARGIN_MM - GAP_MM) / 2.0;
    let panel_height = (height - 2.0 * MARGIN_MM - TITLE_MM - FOOT_MM + 3.0 * -GAP_MM) / 4.0;
    for (number, step) in STEPS.iter().enumerate() {
        #[expect(clippy::cast_precision_loss, reason = "eight panels")]
        let (column, row) = ((number % 2) as f64, (number / 2) as f64);
        let corner = Point::new(
            MARGIN_MM + column * (panel_width + GAP_MM),
            MARGIN_MM + TITLE_MM + row * (panel_height + GAP_MM),
        );
        panel(&mut canvas, Rect::from_origin_size(corner, (panel_width, panel_height)), number + 1, step);
    }
    foot(
        &mut canvas,
        Rect::new(MARGIN_MM, height - MARGIN_MM - FOOT_MM, width - MARGIN_MM, height - MARGIN_MM),
    );
    canvas.into_drawing(width, height)
}

fn panel(canvas: &mut Canvas, r: Rect, number: usize, step: &Step) {
    let picture = Rect::new(r.x0, r.y0, r.x1, r.y1 - WORDS_MM);
    canvas.fill(PAGE, picture.to_rounded_rect(2.0).to_path(0.01), SHADE);
    (step.picture)(canvas, picture.inset((-9.0, -3.0)));
    let dot = Point::new(r.x0 + 5.5, r.y0 + 5.5);
    canvas.fill(PAGE, circle(dot, 3.6), Paint::BLACK);
    let figure = Style::plain(4.2).bold().middle().painted(Paint::WHITE);
    canvas.words(PAGE, dot + Vec2::new(0.0, 1.5), number.to_string(), figure);
    let base = picture.y1 + 4.6;
    canvas.words(PAGE, Point::new(r.x0, base), step.heading, Style::plain(3.7).bold());
    canvas.paragraph(PAGE, Point::new(r.x0, base + 4.2), r.width(), step.words, Style::plain(2.65));
}

/// A line of 100 mm to lay a ruler on, and what the sheets are not for.
fn foot(canvas: &mut Canvas, r: Rect) {
    let y = r.y0 + 8.0;
    let line = full(0.25);
    canvas.line(PAGE, &[Point::new(r.x0, y), Point::new(r.x0 + 100.0, y)], line.clone());
    for step in 0..=10 {
        let x = r.x0 + 10.0 * f64::from(step);
        let tall = if step % 5 == 0 { 3.0 } else { 1.8 };
        canvas.line(PAGE, &[Point::new(x, y), Point::new(x, y - tall)], line.clone());
    }
    let words =
        "This line is 100 mm. If your ruler says otherwise, the print was scaled: print again at 100 %.";
    canvas.paragraph(
        PAGE,
        Point::new(r.x0 + 104.0, y - 2.0),
        r.width() - 104.0,
        words,
        Style::plain(2.65).bold(),
    );
    let cautions = "Before you start, measure the garment by hand, two lengths and two widths: the result must agree \
        within 3 mm. A copied garment is a work garment: it is not tested or certified as protective equipment.";
    let quiet = Style::plain(2.5).painted(strokes::QUIET);
    canvas.paragraph(PAGE, Point::new(r.x0, y + 7.5), r.width(), cautions, quiet);
}

/// A small calibration sheet, `width` wide, its board's middle at `centre`, turned.
fn sheet(canvas: &mut Canvas, centre: Point, width: f64, turn_deg: f64) {
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
fn apron(centre_top: Point, scale: f64) -> BezPath {
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

fn cloth(canvas: &mut Canvas, path: BezPath) {
    canvas.push(PAGE, path, Some(full(0.35)), Some(CLOTH));
}

fn tick(canvas: &mut Canvas, at: Point) {
    let path = polyline(&[at + Vec2::new(-3.0, 0.0), at + Vec2::new(-0.8, 2.4), at + Vec2::new(3.4, -3.2)]);
    canvas.stroke(PAGE, path, painted(full(1.1), GOOD));
}

fn cross(canvas: &mut Canvas, at: Point) {
    for side in [-1.0, 1.0] {
        let arm = Vec2::new(2.6, 2.6 * side);
        canvas.line(PAGE, &[at - arm, at + arm], painted(full(1.1), BAD));
    }
}

fn print_picture(canvas: &mut Canvas, r: Rect) {
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

fn measure_picture(canvas: &mut Canvas, r: Rect) {
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

/// Sheets round an apron of 100 x `scale` high whose middle top is `top`; places in the apron's own numbers.
fn ring(canvas: &mut Canvas, top: Point, scale: f64) {
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

fn ring_picture(canvas: &mut Canvas, r: Rect) {
    let scale = r.height() / 115.0;
    let top = Point::new(r.center().x, r.y0 + 8.0 * scale);
    ring(canvas, top, scale);
    cloth(canvas, apron(top, scale));
}

fn straps_picture(canvas: &mut Canvas, r: Rect) {
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

fn flat_picture(canvas: &mut Canvas, r: Rect) {
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

/// A telephone seen from the side, its back towards `towards`.
fn phone(canvas: &mut Canvas, at: Point, turn_deg: f64) {
    let place = Affine::translate(at.to_vec2()) * Affine::rotate(turn_deg.to_radians());
    let body = Rect::from_center_size((0.0, 0.0), (13.0, 2.0)).to_rounded_rect(0.8).to_path(0.01);
    canvas.fill(PAGE, place * body, Paint::grey(0.15));
    canvas.fill(PAGE, place * boxed(Rect::new(-1.2, 1.0, 1.2, 1.7)), Paint::grey(0.15));
}

fn camera_picture(canvas: &mut Canvas, r: Rect) {
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

fn frame_picture(canvas: &mut Canvas, r: Rect) {
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

fn light_picture(canvas: &mut Canvas, r: Rect) {
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
