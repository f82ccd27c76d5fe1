//! The first page of a tiled pattern: which page goes where, how to join them, the record and the cautions.

use super::canvas::{Canvas, LEADING, Style, TEST_SQUARE_MM, boxed, polyline, test_square};
use super::label;
use super::strokes::{self, QUIET, full, painted};
use super::tiling::{Tiling, name};
use crate::geometry::{Affine, Drawing, Layer, Paint, Point, Rect, Vec2};
use crate::pattern::Piece;
use crate::sheet::Paper;

/// Margin of the page, millimetres.
const MARGIN_MM: f64 = 13.0;
/// Space between the map and the right-hand column, millimetres.
const GUTTER_MM: f64 = 7.0;
/// Height kept below the map for the rest, millimetres.
const BELOW_MAP_MM: f64 = 98.0;
const PAGE: Layer = Layer::Page;
const CLOTH: Paint = Paint::grey(0.88);

/// The map page of a piece, itself page number `own` of the file; its tiles follow it.
pub(super) fn page(
    piece: &Piece,
    paper: Paper,
    tiling: &Tiling,
    used: &[(usize, usize)],
    own: usize,
) -> Drawing {
    let (width, height) = paper.size_mm();
    let mut canvas = Canvas::default();
    let record = &piece.record;
    let title = if record.style.is_empty() {
        record.piece.clone()
    } else {
        format!("{}: {}", record.style, record.piece)
    };
    canvas.words(PAGE, Point::new(MARGIN_MM, MARGIN_MM + 6.0), title, Style::plain(7.0).bold());
    let kind = if piece.outline.on_fold() { "half pattern, full scale" } else { "pattern, full scale" };
    let sheets = format!(
        "{kind}, on the {} after this one: {}, {}",
        counted(used.len(), "page"),
        counted(tiling.rows, "row"),
        counted(tiling.columns, "column")
    );
    canvas.words(PAGE, Point::new(MARGIN_MM, MARGIN_MM + 12.0), sheets, Style::plain(3.4));

    let top = MARGIN_MM + 18.0;
    let right = width - MARGIN_MM - TEST_SQUARE_MM;
    let map_end = height - MARGIN_MM - BELOW_MAP_MM;
    map(&mut canvas, Rect::new(MARGIN_MM, top, right - GUTTER_MM, map_end), piece, tiling, used, own);
    test_square(&mut canvas, Point::new(right, top));
    let loud = label::kind_of_line(piece);
    let style = Style::plain(4.0).bold();
    let below =
        canvas.paragraph(PAGE, Point::new(right, top + TEST_SQUARE_MM + 9.0), TEST_SQUARE_MM, loud, style);
    canvas.paragraph(
        PAGE,
        Point::new(right, below + 1.0),
        TEST_SQUARE_MM,
        "Print at 100 % (“actual size”, never “fit to page”). Measure the square on this page first: 100 mm across \
         and down. If it is not, do not go on.",
        Style::plain(2.9),
    );

    let mut y = map_end + 7.0;
    y = join(&mut canvas, Rect::new(MARGIN_MM, y, width - MARGIN_MM, y + 30.0));
    let half = (width - 2.0 * MARGIN_MM - GUTTER_MM) / 2.0;
    let lines = label::lines(piece, 0.62, half);
    label::set(&mut canvas, Point::new(MARGIN_MM, y), &lines);
    let mut at = Point::new(MARGIN_MM + half + GUTTER_MM, y + 3.2);
    for caution in label::CAUTIONS {
        at.y = canvas.paragraph(PAGE, at, half, caution, Style::plain(2.35)) + 0.8;
    }
    canvas.into_drawing(width, height)
}

fn counted(number: usize, thing: &str) -> String {
    if number == 1 { format!("1 {thing}") } else { format!("{number} {thing}s") }
}

/// The piece, small, under the grid of its pages.
fn map(canvas: &mut Canvas, area: Rect, piece: &Piece, tiling: &Tiling, used: &[(usize, usize)], own: usize) {
    let grid = tiling.grid();
    let scale = (area.width() / grid.width()).min(area.height() / grid.height());
    let left = area.center().x - scale * grid.width() / 2.0;
    let place = Affine::translate((left, area.y0))
        * Affine::scale(scale)
        * Affine::translate(-grid.origin().to_vec2());
    let cut = piece.cut_line().ok().flatten().map_or_else(|| piece.outline.ring(), |cut| cut.ring);
    canvas.push(PAGE, place * cut.path(), Some(full(0.4)), Some(CLOTH));
    for hole in &piece.holes {
        canvas.push(PAGE, place * hole.path(), Some(full(0.3)), Some(Paint::WHITE));
    }
    for row in 0..tiling.rows {
        for column in 0..tiling.columns {
            let tile = place.transform_rect_bbox(tiling.tile(column, row));
            let index = used.iter().position(|t| *t == (column, row));
            let line = if index.is_some() { full(0.2) } else { painted(strokes::dashed(0.12), QUIET) };
            canvas.stroke(PAGE, boxed(tile), line);
            if let Some(index) = index {
                let size = (tile.width() / 4.2).min(tile.height() / 3.5).min(5.0);
                let middle = tile.center();
                canvas.words(PAGE, middle, name(column, row), Style::plain(size).bold().middle());
                let under = middle + Vec2::new(0.0, size * LEADING * 0.75);
                let says = format!("page {}", own + 1 + index);
                canvas.words(PAGE, under, says, Style::plain(size * 0.6).middle());
            }
        }
    }
}

/// Three small pictures: trim, lay over, cross on cross. Returns the height after them.
fn join(canvas: &mut Canvas, area: Rect) -> f64 {
    let each = area.width() / 3.0;
    let says = [
        "1. Trim each page along its border at the top and at the left, where a page joins.",
        "2. Lay it over the page before it, up to the dashed line: row by row, left to right.",
        "3. Cross on cross, circle on circle. Tape. The lines must run on without a step.",
    ];
    for (number, words) in says.iter().enumerate() {
        #[expect(clippy::cast_precision_loss, reason = "three pictures")]
        let left = area.x0 + number as f64 * each;
        let picture = Rect::from_origin_size((left, area.y0), (18.0, 22.0));
        match number {
            0 => trim(canvas, picture),
            1 => lay_over(canvas, picture),
            _ => cross_on_cross(canvas, picture),
        }
        canvas.paragraph(PAGE, Point::new(left + 22.0, area.y0 + 5.0), each - 25.0, words, Style::plain(2.7));
    }
    area.y0 + 28.0
}

fn sheet(canvas: &mut Canvas, r: Rect) {
    canvas.push(PAGE, boxed(r), Some(full(0.2)), Some(Paint::WHITE));
    canvas.stroke(PAGE, boxed(r.inset(-1.8)), painted(full(0.15), QUIET));
}

fn trim(canvas: &mut Canvas, r: Rect) {
    sheet(canvas, r);
    let inner = r.inset(-1.8);
    let cut = polyline(&[Point::new(inner.x0, r.y1), inner.origin(), Point::new(r.x1, inner.y0)]);
    canvas.stroke(PAGE, cut, strokes::dashed(0.4));
}

fn lay_over(canvas: &mut Canvas, r: Rect) {
    let half = Rect::new(r.x0, r.y0 + 3.0, r.x0 + 10.0, r.y0 + 17.0);
    sheet(canvas, half);
    let over = half + Vec2::new(7.5, 0.0);
    canvas.push(PAGE, boxed(over), Some(full(0.3)), Some(Paint::grey(0.92)));
    canvas.arrow(
        PAGE,
        Point::new(over.x1 + 0.5, over.y1 + 3.0),
        Point::new(over.x0, over.y1 + 3.0),
        &full(0.3),
    );
}

fn cross_on_cross(canvas: &mut Canvas, r: Rect) {
    let at = r.center();
    for arm in [Vec2::new(7.0, 0.0), Vec2::new(0.0, 7.0)] {
        canvas.line(PAGE, &[at - arm, at + arm], full(0.3));
    }
    canvas.stroke(PAGE, super::canvas::circle(at, 3.5), full(0.3));
}
