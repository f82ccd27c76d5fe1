//! A piece as a picture: looked at whole, with letters, edges and dimensions.

use super::ExportError;
use super::canvas::{Canvas, Style};
use super::plan::{self, Manner, Pages};
use super::shape::Shape;
use crate::geometry::{Drawing, Item, Layer, Rect, Vec2};
use crate::pattern::Piece;

/// White round the piece, millimetres.
const MARGIN_MM: f64 = 15.0;
/// A small picture is so many half-millimetre lines long: a thick line is then a pixel of two hundred.
const SMALL_WIDTHS: f64 = 100.0;
/// White round a small picture, as a part of its length.
const SMALL_MARGINS: f64 = 40.0;

/// A drafted piece at its true size in millimetres, words large enough to read when the whole is looked at.
///
/// # Errors
/// [`ExportError::NotFinite`] for an outline that is not made of numbers.
pub fn of_piece(piece: &Piece) -> Result<Drawing, ExportError> {
    let manner = Manner::picture(piece.outline.ring().bounds());
    let plan = plan::draw(piece, manner, &Pages::default())?;
    let canvas = Canvas { items: plan.items };
    Ok(framed(canvas, plan.bounds))
}

/// What is drawn of a drafted piece, in its own frame, as for [`of_piece`], and the box round it.
///
/// # Errors
/// As [`of_piece`].
pub fn in_own_frame(piece: &Piece) -> Result<(Rect, Vec<Item>), ExportError> {
    let manner = Manner { cloth: None, ..Manner::picture(piece.outline.ring().bounds()) };
    let plan = plan::draw(piece, manner, &Pages::default())?;
    Ok((plan.bounds.inflate(MARGIN_MM, MARGIN_MM), plan.items))
}

/// A drafted piece at its true size in millimetres, words and label as on paper.
///
/// # Errors
/// As [`of_piece`].
pub fn at_full_scale(piece: &Piece) -> Result<Drawing, ExportError> {
    let plan = plan::draw(piece, Manner::PAPER, &Pages::default())?;
    Ok(framed(Canvas { items: plan.items }, plan.bounds))
}

/// A shape's lines without a piece's letters and dimensions, at true size in millimetres.
#[must_use]
pub fn of_shape(shape: &Shape) -> Drawing {
    let mut canvas = Canvas { items: plan::items(shape, Manner::PAPER) };
    for words in &shape.words {
        let style = Style::plain(words.size_mm).turned(words.turn_deg);
        canvas.words(Layer::Text, words.at, words.words.clone(), style);
    }
    framed(canvas, shape.outer.bounds())
}

/// A shape without words, its lines as thick as a picture of a few hundred pixels needs.
#[must_use]
pub fn outline(shape: &Shape) -> Drawing {
    let bounds = shape.outer.bounds();
    let longest = bounds.width().max(bounds.height());
    let manner = Manner { lines: longest / SMALL_WIDTHS, ..Manner::picture(bounds) };
    let canvas = Canvas { items: plan::items(shape, manner) };
    let margin = longest / SMALL_MARGINS;
    let bounds = bounds.inflate(margin, margin);
    moved(canvas, bounds)
}

/// Several drawings side by side, tops level.
#[must_use]
pub fn row(mut drawings: Vec<Drawing>) -> Drawing {
    if drawings.len() == 1 {
        return drawings.remove(0);
    }
    let mut all = Drawing::default();
    for drawing in drawings {
        let mut canvas = Canvas { items: drawing.items };
        canvas.shift(Vec2::new(all.width_mm, 0.0));
        all.items.append(&mut canvas.items);
        all.width_mm += drawing.width_mm;
        all.height_mm = all.height_mm.max(drawing.height_mm);
    }
    all
}

fn framed(canvas: Canvas, bounds: Rect) -> Drawing {
    moved(canvas, bounds.inflate(MARGIN_MM, MARGIN_MM))
}

fn moved(mut canvas: Canvas, bounds: Rect) -> Drawing {
    canvas.shift(Vec2::new(-bounds.x0, -bounds.y0));
    canvas.into_drawing(bounds.width(), bounds.height())
}
