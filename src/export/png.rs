//! PNG: a drawing in, a picture out, on white.
//!
//! Words are filled outlines of the same font as in the PDF. Edges are smoothed.

use super::{ExportError, font};
use crate::geometry::{Affine, BezPath, Drawing, Item, Line, Paint};
use kurbo::PathEl;
use tiny_skia::{
    Color, FillRule, LineJoin, Mask, Paint as Ink, Path, PathBuilder, Pixmap, Stroke, StrokeDash, Transform,
};

/// Most pixels of a picture: the same limit as for photographs; more takes over 800 MB.
const MOST_PIXELS: u64 = 200_000_000;

/// Draws at `dots_per_mm` pixels to a millimetre.
///
/// # Errors
/// [`ExportError::Nothing`] for an empty page, [`ExportError::PictureTooLarge`] beyond 200 million pixels.
pub fn write(drawing: &Drawing, dots_per_mm: f64) -> Result<Vec<u8>, ExportError> {
    let (width, height) = (pixels(drawing.width_mm * dots_per_mm), pixels(drawing.height_mm * dots_per_mm));
    if width == 0 || height == 0 {
        return Err(ExportError::Nothing);
    }
    let too_large = ExportError::PictureTooLarge { width, height };
    if width.saturating_mul(height) > MOST_PIXELS {
        return Err(too_large);
    }
    let side = |v: u64| u32::try_from(v).map_err(|_| too_large.clone());
    let mut picture = Pixmap::new(side(width)?, side(height)?).ok_or_else(|| too_large.clone())?;
    picture.fill(Color::WHITE);
    items(&mut picture, &drawing.items, Affine::scale(dots_per_mm), None);
    picture.encode_png().map_err(|_| too_large)
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a cast saturates")]
fn pixels(v: f64) -> u64 {
    v.round() as u64
}

fn items(picture: &mut Pixmap, list: &[Item], picture_from_items: Affine, mask: Option<&Mask>) {
    for item in list {
        match item {
            Item::Path { path, line, fill, .. } => {
                let Some(shape) = path_of(path, picture_from_items) else { continue };
                if let Some(paint) = fill {
                    fill_shape(picture, &shape, *paint, mask);
                }
                if let Some(line) = line {
                    let scale = picture_from_items.determinant().abs().sqrt();
                    let ink = ink(line.paint);
                    picture.stroke_path(&shape, &ink, &stroke(line, scale), Transform::identity(), mask);
                }
            }
            Item::Text { text, .. } => {
                if let Some(shape) = path_of(&font::outline(text), picture_from_items) {
                    fill_shape(picture, &shape, text.paint, mask);
                }
            }
            Item::Clip(clip) => {
                let inner = picture_from_items * clip.parent_from_items;
                match clip.window {
                    None => items(picture, &clip.items, inner, mask),
                    Some(window) => {
                        let shape = path_of(&kurbo::Shape::to_path(&window, 0.1), picture_from_items);
                        let whole = Mask::new(picture.width(), picture.height());
                        if let (Some(shape), Some(mut cut)) = (shape, whole) {
                            cut.fill_path(&shape, FillRule::Winding, true, Transform::identity());
                            if let Some(outer) = mask {
                                for (a, b) in cut.data_mut().iter_mut().zip(outer.data()) {
                                    *a = (*a).min(*b);
                                }
                            }
                            items(picture, &clip.items, inner, Some(&cut));
                        }
                    }
                }
            }
        }
    }
}

fn fill_shape(picture: &mut Pixmap, shape: &Path, paint: Paint, mask: Option<&Mask>) {
    picture.fill_path(shape, &ink(paint), FillRule::Winding, Transform::identity(), mask);
}

fn ink(paint: Paint) -> Ink<'static> {
    let channel = |v: f64| single(v.clamp(0.0, 1.0));
    let colour = Color::from_rgba(channel(paint.r), channel(paint.g), channel(paint.b), 1.0);
    let mut ink = Ink::default();
    ink.set_color(colour.unwrap_or(Color::BLACK));
    ink
}

fn stroke(line: &Line, scale: f64) -> Stroke {
    let dashes = line.dashes_mm.iter().map(|d| single(d * scale)).collect();
    Stroke {
        width: single(line.width_mm * scale),
        line_join: LineJoin::Round,
        dash: StrokeDash::new(dashes, 0.0),
        ..Stroke::default()
    }
}

fn path_of(path: &BezPath, picture_from_path: Affine) -> Option<Path> {
    let mut out = PathBuilder::new();
    for element in path.elements() {
        match picture_from_path * *element {
            PathEl::MoveTo(p) => out.move_to(single(p.x), single(p.y)),
            PathEl::LineTo(p) => out.line_to(single(p.x), single(p.y)),
            PathEl::QuadTo(a, p) => out.quad_to(single(a.x), single(a.y), single(p.x), single(p.y)),
            PathEl::CurveTo(a, b, p) => {
                out.cubic_to(single(a.x), single(a.y), single(b.x), single(b.y), single(p.x), single(p.y));
            }
            PathEl::ClosePath => out.close(),
        }
    }
    out.finish()
}

#[expect(clippy::cast_possible_truncation, reason = "a picture has some thousand pixels across")]
fn single(v: f64) -> f32 {
    v as f32
}
