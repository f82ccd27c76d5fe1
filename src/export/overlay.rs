//! Two versions of pieces laid over each other, as a picture.
//!
//! Shapes enter in their own frames, which share the top of the fold; a drawing leaves, the pieces side by side: the first
//! version in thin blue dashes, the second in a thick black line.

use super::canvas::{Canvas, Style};
use super::font;
use super::picture;
use super::shape::Shape;
use super::strokes::{self, painted};
use crate::geometry::{Drawing, Face, Layer, Line, Paint, Point, Rect, Vec2};

/// The older of two lines; also told by its dashes, for eyes and printers without colour.
const OLDER: Paint = Paint { r: 0.1, g: 0.3, b: 0.75 };
/// White round each piece, millimetres.
const MARGIN_MM: f64 = 20.0;

/// One piece in two versions; either may be without it.
#[derive(Debug, Clone, PartialEq)]
pub struct Overlay {
    /// The piece's name.
    pub name: String,
    /// The first version.
    pub first: Option<Shape>,
    /// The second.
    pub second: Option<Shape>,
}

/// Draws pieces side by side, with the names of the versions above.
#[must_use]
pub fn draw(pieces: &[Overlay], first: &str, second: &str) -> Drawing {
    let bounds = |piece: &Overlay| {
        let all = [&piece.first, &piece.second].into_iter().flatten().map(|shape| shape.outer.bounds());
        all.reduce(|a, b| a.union(b)).unwrap_or(Rect::ZERO)
    };
    let highest = pieces.iter().map(|piece| bounds(piece).height()).fold(0.0, f64::max);
    let words = (highest / 60.0).clamp(4.0, 14.0);
    let width = words / 12.0;
    let drawings = pieces.iter().map(|piece| {
        let mut canvas = Canvas::default();
        if let Some(shape) = &piece.first {
            lines(&mut canvas, shape, &painted(strokes::dashed(width), OLDER));
        }
        if let Some(shape) = &piece.second {
            lines(&mut canvas, shape, &strokes::full(1.5 * width));
        }
        let b = bounds(piece);
        // The name has room beside the next one's.
        let name_mm = font::width_mm(&piece.name, words, Face::Regular);
        let right = b.x1.max(b.x0 + name_mm);
        let r = Rect::new(b.x0, b.y0 - 2.0 * words, right, b.y1).inflate(MARGIN_MM, MARGIN_MM);
        canvas.words(Layer::Text, Point::new(b.x0, b.y0 - words), piece.name.clone(), Style::plain(words));
        canvas.shift(Vec2::new(-r.x0, -r.y0));
        canvas.into_drawing(r.width(), r.height())
    });
    let mut row = picture::row(drawings.collect());
    let head = 3.0 * words;
    let mut canvas = Canvas { items: std::mem::take(&mut row.items) };
    canvas.shift(Vec2::new(0.0, 2.0 * head));
    let keys = [(first, painted(strokes::dashed(width), OLDER)), (second, strokes::full(1.5 * width))];
    for (k, (name, line)) in keys.into_iter().enumerate() {
        let y = MARGIN_MM + head * if k == 0 { 0.3 } else { 0.9 };
        let at = Point::new(MARGIN_MM + 6.0 * words, y + 0.35 * words);
        canvas.line(Layer::Page, &[Point::new(MARGIN_MM, y), Point::new(MARGIN_MM + 5.0 * words, y)], line);
        canvas.words(Layer::Page, at, name.to_owned(), Style::plain(words));
    }
    canvas.into_drawing(row.width_mm, row.height_mm + 2.0 * head)
}

/// What the knife and the punch make.
fn lines(canvas: &mut Canvas, shape: &Shape, line: &Line) {
    for ring in std::iter::once(&shape.outer).chain(&shape.holes) {
        canvas.stroke(Layer::Cut, ring.path(), line.clone());
    }
}
