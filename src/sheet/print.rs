//! The calibration sheet's drawing: one sheet on a page, or boards side by side on a roll.
//!
//! All black of a page is one path, so that squares that touch leave no hairline between them. Page furniture (ticks,
//! number, arrow, size line) stands outside the printed area and carries no measure.

use super::family::{self, MODULES};
use super::layout::{
    BLEED_MM, BOARD_HEIGHT_MM, BOARD_WIDTH_MM, COLUMNS, MODULE_MM, Paper, ROWS, Roll, SHEETS, SQUARE_MM,
    TAGS_PER_SHEET, square_is_black, tag_id, tag_rect,
};
use crate::geometry::{Anchor, BezPath, Drawing, Face, Item, Layer, Line, Paint, Point, Rect, Text, Vec2};

/// Ticks at the board's edges begin this far outside the bleed, millimetres.
const TICK_GAP_MM: f64 = 0.5;
/// Length of a tick, millimetres.
const TICK_MM: f64 = 3.0;
/// Width of a tick's line, millimetres.
const TICK_WIDTH_MM: f64 = 0.2;
/// White paper round the roll's bleed, millimetres: room for the machine's grip and the size line.
const ROLL_MARGIN_MM: f64 = 15.0;
/// Baseline of the words below the bleed, millimetres, where the paper has the room.
const WORDS_BELOW_MM: f64 = 7.6;
/// Words keep at least this from the paper's edge, millimetres; most printers reach that far.
const WORDS_MARGIN_MM: f64 = 4.5;

/// Sheet `sheet`, counted from 0, on a page.
#[must_use]
pub fn page(sheet: usize, paper: Paper) -> Drawing {
    let (width_mm, height_mm) = paper.size_mm();
    let origin = paper.board_origin_mm().to_vec2();
    let mut black = BezPath::new();
    squares(&mut black, origin, [true; 4]);
    tags(&mut black, origin, sheet);
    let mut items = vec![target(black)];
    ticks(&mut items, origin, (BOARD_WIDTH_MM, BOARD_HEIGHT_MM));
    let bleed_end = origin.y + BOARD_HEIGHT_MM + BLEED_MM;
    let baseline = (bleed_end + WORDS_BELOW_MM).min(height_mm - WORDS_MARGIN_MM);
    up_arrow(&mut items, Point::new(origin.x + 61.0, baseline));
    words(&mut items, Point::new(origin.x + 2.0, baseline), 3.5, Face::Bold, number(sheet));
    let size = size_line("between the corner ticks ", BOARD_WIDTH_MM, BOARD_HEIGHT_MM);
    words(&mut items, Point::new(origin.x + 66.0, baseline), 2.25, Face::Regular, size);
    Drawing { width_mm, height_mm, items }
}

/// Boards side by side on one page, sheets numbered from 0 row by row.
#[must_use]
pub fn roll_page(roll: Roll) -> Drawing {
    let (block_width, block_height) = roll.block_mm();
    let margin = ROLL_MARGIN_MM + BLEED_MM;
    let mut black = BezPath::new();
    for sheet in 0..roll.boards() {
        let origin = roll.board_origin_mm(sheet).to_vec2() + Vec2::new(margin, margin);
        let (column, row) = (sheet % roll.across, sheet / roll.across);
        let outer = [row == 0, column + 1 == roll.across, row + 1 == roll.down, column == 0];
        squares(&mut black, origin, outer);
        tags(&mut black, origin, sheet);
    }
    let mut items = vec![target(black)];
    ticks(&mut items, Vec2::new(margin, margin), (block_width, block_height));
    let at = Point::new(margin + 4.0, block_height + 2.0 * margin - 5.0);
    let line = size_line("", block_width, block_height);
    words(&mut items, at, 3.5, Face::Regular, format!("roll {} x {}; {line}", roll.across, roll.down));
    Drawing { width_mm: block_width + 2.0 * margin, height_mm: block_height + 2.0 * margin, items }
}

fn number(sheet: usize) -> String {
    format!("sheet {} of {SHEETS}", sheet + 1)
}

fn size_line(between: &str, width: f64, height: f64) -> String {
    format!("print at 100 %; the checked block {between}must measure {width:.1} x {height:.1} mm")
}

fn target(black: BezPath) -> Item {
    let fill = Some(Paint::BLACK);
    Item::Path { layer: Layer::Target, name: String::new(), path: black, line: None, fill }
}

/// Black squares of a board, with half squares on the sides (top, right, bottom, left) that have a bleed.
fn squares(black: &mut BezPath, origin: Vec2, bleed: [bool; 4]) {
    let reach = |on: bool| if on { BLEED_MM } else { 0.0 };
    let shown = Rect::new(
        -reach(bleed[3]),
        -reach(bleed[0]),
        BOARD_WIDTH_MM + reach(bleed[1]),
        BOARD_HEIGHT_MM + reach(bleed[2]),
    );
    for row in -1..=ROWS {
        for column in -1..=COLUMNS {
            let (x, y) = (f64::from(column) * SQUARE_MM, f64::from(row) * SQUARE_MM);
            let square = Rect::new(x, y, x + SQUARE_MM, y + SQUARE_MM).intersect(shown);
            if square_is_black(column, row) && square.area() > 0.0 {
                rect(black, square + origin);
            }
        }
    }
}

/// The black modules of a sheet's tags; runs along a row are one box.
fn tags(black: &mut BezPath, origin: Vec2, sheet: usize) {
    for k in 0..TAGS_PER_SHEET {
        let (id, corner) = (tag_id(sheet, k), tag_rect(k).origin() + origin);
        for row in 0..MODULES {
            let mut column = 0;
            while column < MODULES {
                let run = (column..MODULES).take_while(|&c| family::module_is_black(id, c, row)).count();
                if run > 0 {
                    rect(black, modules(corner, column, row, run));
                }
                column += run.max(1);
            }
        }
    }
}

#[expect(clippy::cast_precision_loss, reason = "eight modules")]
fn modules(corner: Point, column: usize, row: usize, run: usize) -> Rect {
    let at = corner + Vec2::new(column as f64, row as f64) * MODULE_MM;
    Rect::new(at.x, at.y, at.x + run as f64 * MODULE_MM, at.y + MODULE_MM)
}

fn rect(path: &mut BezPath, r: Rect) {
    path.move_to((r.x0, r.y0));
    path.line_to((r.x1, r.y0));
    path.line_to((r.x1, r.y1));
    path.line_to((r.x0, r.y1));
    path.close_path();
}

/// Short lines outside the bleed that carry on the block's four edges.
fn ticks(items: &mut Vec<Item>, origin: Vec2, (width, height): (f64, f64)) {
    let (near, far) = (BLEED_MM + TICK_GAP_MM, BLEED_MM + TICK_GAP_MM + TICK_MM);
    let mut path = BezPath::new();
    let mut tick = |a: (f64, f64), b: (f64, f64)| {
        path.move_to(Point::from(a) + origin);
        path.line_to(Point::from(b) + origin);
    };
    for x in [0.0, width] {
        tick((x, -far), (x, -near));
        tick((x, height + near), (x, height + far));
    }
    for y in [0.0, height] {
        tick((-far, y), (-near, y));
        tick((width + near, y), (width + far, y));
    }
    let line = Line { width_mm: TICK_WIDTH_MM, dashes_mm: Vec::new(), paint: Paint::BLACK };
    items.push(Item::Path { layer: Layer::Page, name: String::new(), path, line: Some(line), fill: None });
}

/// An arrow towards the sheet's top, its middle line through `foot`.
fn up_arrow(items: &mut Vec<Item>, foot: Point) {
    let outline =
        [(-0.35, 0.8), (-0.35, -1.2), (-1.5, -1.2), (0.0, -3.4), (1.5, -1.2), (0.35, -1.2), (0.35, 0.8)];
    let mut path = BezPath::new();
    path.move_to(foot + Vec2::from(outline[0]));
    for step in &outline[1..] {
        path.line_to(foot + Vec2::from(*step));
    }
    path.close_path();
    let fill = Some(Paint::BLACK);
    items.push(Item::Path { layer: Layer::Page, name: String::new(), path, line: None, fill });
}

fn words(items: &mut Vec<Item>, at: Point, size_mm: f64, face: Face, words: String) {
    let text = Text { at, words, size_mm, turn_deg: 0.0, anchor: Anchor::Start, face, paint: Paint::BLACK };
    items.push(Item::Text { layer: Layer::Page, text });
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::sheet::layout::{Ink, PRINTED, ink_at};
    use kurbo::Shape;

    fn black_of(drawing: &Drawing) -> &BezPath {
        match &drawing.items[0] {
            Item::Path { layer: Layer::Target, path, .. } => path,
            other => panic!("the target comes first, not {other:?}"),
        }
    }

    /// Every module's middle, of squares, tags and bleed.
    fn places(area: Rect) -> impl Iterator<Item = Point> {
        let steps = |from: f64, to: f64| {
            (0..).map(move |i| from + 1.0 + 2.0 * f64::from(i)).take_while(move |v| *v < to)
        };
        steps(area.y0, area.y1).flat_map(move |y| steps(area.x0, area.x1).map(move |x| Point::new(x, y)))
    }

    #[test]
    fn what_is_drawn_is_what_the_layout_says() {
        let drawing = page(7, Paper::Letter);
        let (black, origin) = (black_of(&drawing), Paper::Letter.board_origin_mm().to_vec2());
        let mut looked_at = 0;
        for at in places(PRINTED) {
            let drawn = black.contains(at + origin);
            assert_eq!(ink_at(at, 7), Some(if drawn { Ink::Black } else { Ink::White }), "{at}");
            looked_at += 1;
        }
        assert_eq!(looked_at, 100 * 130);
    }

    #[test]
    fn a_roll_is_drawn_as_the_layout_says() {
        let roll = Roll { across: 2, down: 1 };
        let drawing = roll_page(roll);
        let (black, margin) = (black_of(&drawing), Vec2::new(25.0, 25.0));
        for at in places(Rect::new(-10.0, -10.0, 370.0, 250.0)) {
            let drawn = black.contains(at + margin);
            assert_eq!(roll.ink_at(at), Some(if drawn { Ink::Black } else { Ink::White }), "{at}");
        }
    }
}
