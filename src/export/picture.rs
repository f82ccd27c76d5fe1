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

/// Shapes without words in rows, the highest first, as they fill a room of this width and height best; lines as thick as a
/// picture of a few hundred pixels needs.
#[must_use]
pub fn small(shapes: &[Shape], room: Vec2) -> Drawing {
    let bounds: Vec<Rect> = shapes.iter().map(|shape| shape.outer.bounds()).collect();
    let longest = bounds.iter().map(|b| b.width().max(b.height())).fold(0.0, f64::max);
    let margin = longest / SMALL_MARGINS;
    let framed: Vec<Rect> = bounds.iter().map(|b| b.inflate(margin, margin)).collect();
    let mut order: Vec<usize> = (0..shapes.len()).collect();
    order.sort_by(|a, b| framed[*b].height().total_cmp(&framed[*a].height()));
    let widest = framed.iter().map(Rect::width).fold(0.0, f64::max);
    let all: f64 = framed.iter().map(Rect::width).sum();
    let scale = |rows: &Rows| (room.x / rows.width_mm).min(room.y / rows.height_mm);
    let best = (0..=ROW_WIDTHS)
        .map(|k| Rows::of(&framed, &order, widest + (all - widest) * f64::from(k) / f64::from(ROW_WIDTHS)))
        .reduce(|a, b| if scale(&b) > scale(&a) { b } else { a });
    let Some(rows) = best.filter(|rows| rows.width_mm > 0.0) else { return Drawing::default() };
    let lines = rows.width_mm.max(rows.height_mm) / SMALL_WIDTHS;
    let mut canvas = Canvas::default();
    for ((shape, frame), place) in shapes.iter().zip(&framed).zip(&rows.places) {
        let manner = Manner { lines, ..Manner::picture(shape.outer.bounds()) };
        let mut one = Canvas { items: plan::items(shape, manner) };
        one.shift(*place - frame.origin().to_vec2());
        canvas.items.append(&mut one.items);
    }
    Canvas { items: joined(canvas.items) }.into_drawing(rows.width_mm, rows.height_mm)
}

/// Paths that follow one another and look alike as one: a seam's holes are then not drawn one by one.
fn joined(items: Vec<Item>) -> Vec<Item> {
    let mut out: Vec<Item> = Vec::new();
    for item in items {
        match (out.last_mut(), item) {
            (
                Some(Item::Path { layer, path, line, fill, .. }),
                Item::Path { layer: l, path: more, line: s, fill: f, .. },
            ) if (*layer, &*line, *fill) == (l, &s, f) => path.extend(more),
            (_, item) => out.push(item),
        }
    }
    out
}

/// Widths of rows that are tried for a small picture.
const ROW_WIDTHS: u32 = 40;

/// Frames in rows.
struct Rows {
    /// Where the corner of each frame goes.
    places: Vec<Vec2>,
    width_mm: f64,
    height_mm: f64,
}

impl Rows {
    /// Frames in this order in rows no wider than that.
    fn of(frames: &[Rect], order: &[usize], most_mm: f64) -> Self {
        let mut out = Self { places: vec![Vec2::ZERO; frames.len()], width_mm: 0.0, height_mm: 0.0 };
        let (mut x, mut y) = (0.0, 0.0);
        for &k in order {
            // A hundredth of a millimetre for rounding, so that the widest frame has room.
            if x > 0.0 && x + frames[k].width() > most_mm + 0.01 {
                (x, y) = (0.0, out.height_mm);
            }
            out.places[k] = Vec2::new(x, y);
            x += frames[k].width();
            out.width_mm = out.width_mm.max(x);
            out.height_mm = out.height_mm.max(y + frames[k].height());
        }
        out
    }
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
