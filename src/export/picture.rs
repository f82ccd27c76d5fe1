//! A piece as a picture: looked at whole, with letters, edges and dimensions.

use super::plan::{self, Manner, Pages};
use super::{ExportError, canvas::Canvas};
use crate::geometry::{Drawing, Item, Layer, Ring, Vec2};
use crate::pattern::Piece;

/// White round the piece, millimetres.
const MARGIN_MM: f64 = 15.0;

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

/// A plain outline with its holes: the outer line's id is the piece's name.
///
/// # Errors
/// [`ExportError::Nothing`] without a ring.
pub fn of_rings(name: &str, rings: &[Ring]) -> Result<Drawing, ExportError> {
    let outer = rings.first().ok_or(ExportError::Nothing)?;
    let id = plan::id_of(name);
    let items = rings.iter().enumerate().map(|(number, ring)| Item::Path {
        layer: Layer::Finished,
        name: if number == 0 { id.clone() } else { format!("{id}-hole-{number}") },
        path: ring.path(),
        line: Some(super::strokes::full(super::strokes::THICK_MM)),
        fill: None,
    });
    Ok(framed(Canvas { items: items.collect() }, outer.bounds()))
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

fn framed(mut canvas: Canvas, bounds: crate::geometry::Rect) -> Drawing {
    let bounds = bounds.inflate(MARGIN_MM, MARGIN_MM);
    canvas.shift(Vec2::new(-bounds.x0, -bounds.y0));
    canvas.into_drawing(bounds.width(), bounds.height())
}
