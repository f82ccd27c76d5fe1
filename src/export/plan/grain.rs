//! The grain arrow.

use super::{CLEAR_MM, Drafting, Pages};
use crate::export::canvas::Style;
use crate::export::font;
use crate::export::shape::Shape;
use crate::export::space::Space;
use crate::export::strokes::{self, THIN_MM};
use crate::geometry::{Face, Layer, Point, Rect, Vec2};
use crate::pattern::Piece;

/// Lengths of the arrow that are tried, as parts of the piece's height: long enough to lay along the cloth's threads.
const LENGTHS: [f64; 5] = [0.35, 0.25, 0.2, 0.15, 0.08];

/// And as parts of its smaller side, for an arrow across a strip.
const SHORT: [f64; 2] = [0.6, 0.4];
/// In a narrow piece the arrow keeps this from lines, millimetres.
const NARROW_CLEAR_MM: f64 = 1.5;

/// Where the arrow lies.
struct Arrow {
    /// Its middle.
    centre: Point,
    /// Where it points, a unit vector.
    way: Vec2,
    /// How long it is, millimetres.
    length: f64,
    /// What it covers with its words.
    covered: Rect,
}

/// The longest arrow that fits in the free space, shorter where that keeps it on one page; `size` is that of its words.
/// It is parallel to the fold unless the record says across or bias.
fn place(space: &Space, said: &str, size: f64, pages: &Pages) -> Option<Arrow> {
    let said = said.to_lowercase();
    let way = if said.contains("bias") {
        Vec2::from_angle(-std::f64::consts::FRAC_PI_4)
    } else if said.contains("across") {
        Vec2::new(1.0, 0.0)
    } else {
        Vec2::new(0.0, -1.0)
    };
    let bounds = space.bounds();
    let wish = Point::new(bounds.x0 + 0.72 * bounds.width(), bounds.y0 + 0.6 * bounds.height());
    let longest = LENGTHS[0] * bounds.height();
    let lengths: Vec<f64> = LENGTHS
        .iter()
        .map(|part| part * bounds.height())
        .chain(SHORT.iter().map(|part| part * bounds.width().min(bounds.height())))
        .collect();
    let box_of = |length: f64| Vec2::new((way.x * length).abs() + 2.5 * size, (way.y * length).abs() + 2.0);
    // A shorter arrow counts what it lacks; only a place that is better for that is looked for.
    let best = |place: &dyn Fn(Vec2, f64) -> Option<(f64, Rect)>| {
        let mut best: Option<(f64, f64, Rect)> = None;
        for &length in &lengths {
            let under = best.map_or(f64::INFINITY, |(cost, ..)| cost) - (longest - length);
            if let Some((cost, covered)) = place(box_of(length), under).filter(|(cost, _)| *cost < under) {
                best = Some((cost + longest - length, length, covered));
            }
        }
        best
    };
    let free = |clear_mm: f64| best(&|r, under| space.place(r, clear_mm, wish, &pages.seams, under));
    let (_, length, covered) = free(CLEAR_MM)
        .or_else(|| free(NARROW_CLEAR_MM))
        .or_else(|| best(&|r, _| space.place_across(r, wish, &pages.seams)))?;
    let centre = covered.center() - Vec2::new(way.y.abs() * size * 0.5, 0.0);
    Some(Arrow { centre, way, length, covered })
}

/// The grain line of a shape, for files that have nothing but lines; `None` for a plain outline or one with no room.
pub(in crate::export) fn line(shape: &Shape) -> Option<(Point, Point)> {
    let record = shape.record.as_ref()?;
    let space = Space::new(&shape.outer, &shape.holes);
    let arrow = place(&space, &record.grain, 0.0, &Pages::default())?;
    let half = arrow.way * (arrow.length / 2.0);
    Some((arrow.centre - half, arrow.centre + half))
}

impl Drafting {
    /// The grain arrow and its words.
    pub(super) fn grain(&mut self, piece: &Piece, pages: &Pages) {
        let size = self.size(4.0);
        let Some(Arrow { centre, way, length, covered }) =
            place(&self.space, &piece.record.grain, size, pages)
        else {
            return;
        };
        let (line, half) = (strokes::full(1.4 * THIN_MM * self.manner.lines), way * (length / 2.0));
        self.canvas.double_arrow(Layer::Marks, centre - half, centre + half, &line);
        let words = format!("grain {}", piece.record.grain);
        let side = Vec2::new(-way.y, way.x) * (size * (0.4 + font::CAPITAL));
        let fits = font::width_mm(&words, size, Face::Regular) < length;
        let words = if fits { words } else { "grain".to_owned() };
        let style = Style::plain(size).middle().turned(way.atan2().to_degrees());
        self.canvas.words(Layer::Text, centre + side, words, style);
        self.space.take(covered);
    }
}
