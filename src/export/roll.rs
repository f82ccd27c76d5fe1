//! A piece at full scale on one page as wide as a roll of paper.

use super::canvas::{Canvas, Style, TEST_SQUARE_MM, test_square};
use super::plan::{self, Manner, Pages, Plan};
use super::{ExportError, label};
use crate::geometry::{Affine, Drawing, Layer, Point, Rect, Vec2};
use crate::pattern::Piece;

/// White on every side, millimetres: what a roll printer's grip needs.
const MARGIN_MM: f64 = 15.0;
/// Space between the piece and the notes, millimetres.
const GAP_MM: f64 = 15.0;
/// Width of the notes: the test square and, below it, words, millimetres.
const NOTES_MM: f64 = TEST_SQUARE_MM + 30.0;
/// Height of the notes, millimetres.
const NOTES_HEIGHT_MM: f64 = 205.0;
/// Height of the notes where they stand below the piece, the words beside the square, millimetres.
const NOTES_LEVEL_MM: f64 = TEST_SQUARE_MM + 5.0;

/// The piece on one page of a roll `roll_mm` wide, turned where that saves paper.
///
/// # Errors
/// [`ExportError::RollTooNarrow`] when it fits neither way, [`ExportError::NotFinite`] for an outline that is not made
/// of numbers.
pub fn page(piece: &Piece, roll_mm: f64) -> Result<Drawing, ExportError> {
    let plan = plan::draw(piece, Manner::PAPER, &Pages::default())?;
    let (width, height) = (plan.bounds.width(), plan.bounds.height());
    let free_mm = roll_mm - 2.0 * MARGIN_MM;
    let fits = |across: f64| across <= free_mm;
    let turned = match (fits(width), fits(height)) {
        (true, true) => length(height, width, free_mm).0 < length(width, height, free_mm).0,
        (true, false) => false,
        (false, true) => true,
        (false, false) => {
            return Err(ExportError::RollTooNarrow {
                piece: piece.record.piece.clone(),
                piece_width_mm: width,
                piece_height_mm: height,
                roll_mm,
                free_mm: free_mm.max(0.0),
            });
        }
    };
    Ok(lay_out(piece, plan, turned, roll_mm))
}

/// How long the page is when the piece lies `across` the roll and `along` it, and whether the notes stand beside it.
fn length(across: f64, along: f64, free_mm: f64) -> (f64, bool) {
    let beside = across + GAP_MM + NOTES_MM <= free_mm;
    if beside { (along.max(NOTES_HEIGHT_MM), true) } else { (along + GAP_MM + NOTES_LEVEL_MM, false) }
}

fn lay_out(piece: &Piece, plan: Plan, turned: bool, roll_mm: f64) -> Drawing {
    let b = plan.bounds;
    let corner = Vec2::new(MARGIN_MM, MARGIN_MM);
    // A quarter turn clockwise: the fold comes to lie along the top, and its words stand upright.
    let (page_from_piece, across, along) = if turned {
        let turn = Affine::new([0.0, 1.0, -1.0, 0.0, b.y1, -b.x0]);
        (Affine::translate(corner) * turn, b.height(), b.width())
    } else {
        (Affine::translate(corner - b.origin().to_vec2()), b.width(), b.height())
    };
    let (used, beside) = length(across, along, roll_mm - 2.0 * MARGIN_MM);
    let mut canvas = Canvas::default();
    canvas.place(None, page_from_piece, plan.items);
    if beside {
        let left = roll_mm - MARGIN_MM - NOTES_MM;
        let square = Point::new(left, MARGIN_MM);
        let words = Rect::new(left, MARGIN_MM + TEST_SQUARE_MM + 8.0, roll_mm - MARGIN_MM, 0.0);
        notes(&mut canvas, piece, square, words);
    } else {
        let top = MARGIN_MM + along + GAP_MM;
        let words = Rect::new(MARGIN_MM + TEST_SQUARE_MM + 10.0, top + 5.0, roll_mm - MARGIN_MM, 0.0);
        notes(&mut canvas, piece, Point::new(MARGIN_MM, top), words);
    }
    canvas.into_drawing(roll_mm, used + 2.0 * MARGIN_MM)
}

/// The test square, and the print's own words from the top-left corner of `words` as wide as it is.
fn notes(canvas: &mut Canvas, piece: &Piece, square: Point, words: Rect) {
    test_square(canvas, square);
    let width = words.x1 - words.x0;
    let mut at = words.origin();
    let title = if piece.record.style.is_empty() {
        piece.record.piece.clone()
    } else {
        format!("{}: {}", piece.record.style, piece.record.piece)
    };
    at.y = canvas.paragraph(Layer::Page, at, width, &title, Style::plain(6.0).bold());
    let loud = format!("Print at 100 % and measure the square first. {}", label::kind_of_line(piece));
    at.y = canvas.paragraph(Layer::Page, at, width, &loud, Style::plain(3.6).bold());
    for caution in label::CAUTIONS {
        at.y = canvas.paragraph(Layer::Page, at, width, caution, Style::plain(2.8)) + 0.8;
    }
}
