//! The grain arrow.

use super::{CLEAR_MM, Drafting, Pages};
use crate::export::canvas::Style;
use crate::export::font;
use crate::export::strokes::{self, THIN_MM};
use crate::geometry::{Face, Layer, Point, Vec2};
use crate::pattern::Piece;

/// Lengths of the arrow that are tried, as parts of the piece's height: long enough to lay along the cloth's threads.
const LENGTHS: [f64; 5] = [0.35, 0.25, 0.2, 0.15, 0.08];

impl Drafting {
    /// The grain arrow, parallel to the fold unless the record says across or bias.
    pub(super) fn grain(&mut self, piece: &Piece, pages: &Pages) {
        let said = piece.record.grain.to_lowercase();
        let way = if said.contains("bias") {
            Vec2::from_angle(-std::f64::consts::FRAC_PI_4)
        } else if said.contains("across") {
            Vec2::new(1.0, 0.0)
        } else {
            Vec2::new(0.0, -1.0)
        };
        let bounds = self.space.bounds();
        let size = self.size(4.0);
        let wish = Point::new(bounds.x0 + 0.72 * bounds.width(), bounds.y0 + 0.6 * bounds.height());
        // The longest arrow that fits, shorter where that keeps it on one page.
        let places = LENGTHS.iter().filter_map(|part| {
            let length = part * bounds.height();
            let covered = Vec2::new((way.x * length).abs() + 2.5 * size, (way.y * length).abs() + 2.0);
            let (cost, r) = self.space.place(covered, CLEAR_MM, wish, &pages.seams)?;
            Some((cost + (LENGTHS[0] - part) * bounds.height(), length, r))
        });
        let Some((_, length, r)) = places.min_by(|a, b| a.0.total_cmp(&b.0)) else { return };
        let centre = r.center() - Vec2::new(way.y.abs() * size * 0.5, 0.0);
        let line = strokes::full(1.4 * THIN_MM * self.manner.lines);
        self.canvas.double_arrow(
            Layer::Marks,
            centre - way * (length / 2.0),
            centre + way * (length / 2.0),
            &line,
        );
        let words = format!("grain {}", piece.record.grain);
        let side = Vec2::new(-way.y, way.x) * (size * (0.4 + font::CAPITAL));
        let fits = font::width_mm(&words, size, Face::Regular) < length;
        let words = if fits { words } else { "grain".to_owned() };
        let style = Style::plain(size).middle().turned(way.atan2().to_degrees());
        self.canvas.words(Layer::Text, centre + side, words, style);
        self.space.take(r);
    }
}
