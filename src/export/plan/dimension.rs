//! The two dimensions of a piece: along the fold (or down the left), and across at the widest place.

use super::{Drafting, Pages};
use crate::export::canvas::Style;
use crate::export::space::{SEAM_COST_MM, least, offsets};
use crate::export::{font, label};
use crate::geometry::{Face, Layer, Point, Rect};
use crate::pattern::{Piece, in_both_units};

/// The dimension along the fold stands this far inside, millimetres.
const FOLD_DIMENSION_MM: f64 = 30.0;
/// A whole piece narrower than this has its dimension outside, millimetres.
const NARROW_MM: f64 = 100.0;
/// How far outside, millimetres: its words stand between.
const OUTSIDE_MM: f64 = 9.0;
/// Lines that lead to a dimension outside begin this far from the piece, millimetres.
const GAP_MM: f64 = 1.5;
/// A dimension across stands at least this far from the place it measures, millimetres.
const ACROSS_OFFSET_MM: f64 = 20.0;
/// Widest places within this of the greatest width count as one edge, millimetres.
const WIDEST_MM: f64 = 0.02;
/// Words of a dimension are left to the label rather than set smaller than this, millimetres.
const LEAST_WORDS_MM: f64 = 2.4;

impl Drafting {
    /// Two dimensions: along the fold (or down the left), and across at the widest place.
    pub(super) fn dimensions(&mut self, piece: &Piece, pages: &Pages) {
        let ring = piece.outline.ring();
        let bounds = ring.bounds();
        let size = self.size(4.0);
        let on_fold = piece.outline.on_fold();
        let (left, ends) = match piece.outline.edges().last() {
            Some(fold) if on_fold => (0.0, (fold.end().y, fold.start().y)),
            _ => (bounds.x0, (bounds.y0, bounds.y1)),
        };
        let usual = left
            + FOLD_DIMENSION_MM * self.manner.words.sqrt()
            + if self.manner.words > 1.5 { 8.0 } else { 0.0 };
        // Farther inside where words of the piece stand in the way; outside a narrow piece, which has no room in it.
        let way_free = |x: f64| !self.space.meets_words(Rect::new(x - 1.0, ends.0, x + 1.0, ends.1));
        let tried = (0..8).map(|k| usual + 0.2 * FOLD_DIMENSION_MM * f64::from(k));
        let x = if !on_fold && bounds.width() < NARROW_MM {
            self.bounds.x0 - OUTSIDE_MM
        } else {
            tried.filter(|x| *x < bounds.center().x).find(|x| way_free(*x)).unwrap_or(usual)
        };
        self.bounds = self.bounds.union_pt(Point::new(x - 2.0, ends.0));
        self.dimension(Point::new(x, ends.0), Point::new(x, ends.1));
        for y in [ends.0, ends.1] {
            self.canvas.line(
                Layer::Marks,
                &[Point::new(left, y), Point::new(x + if x < left { -2.0 } else { 2.0 }, y)],
                self.thin(),
            );
        }
        let words = in_both_units(ends.1 - ends.0);
        let width = font::width_mm(&words, size, Face::Regular);
        let base = x + size * (0.4 + font::CAPITAL);
        let middle = f64::midpoint(ends.0, ends.1);
        let wish = (ends.0 + 0.16 * (ends.1 - ends.0)).max(ends.0 + width / 2.0 + 1.0).min(middle);
        // Near the top, on one page if it can be, and off the lines.
        let covered = |y: f64| Rect::new(x - 2.0, y - width / 2.0, base + 1.0, y + width / 2.0);
        let reach = (ends.0 + width / 2.0).min(wish)..=(ends.1 - width / 2.0).max(wish);
        let spots = offsets(ends.1 - ends.0).map(|d| wish + d).filter(|y| reach.contains(y));
        #[expect(clippy::cast_precision_loss, reason = "a few seams")]
        let cost = |at: Point| {
            let r = covered(at.y);
            pages.seams.crossed(r) as f64 * SEAM_COST_MM + self.space.crowding_mm(r)
        };
        let y = least(spots.map(|y| Point::new(x, y)), cost).map_or(wish, |at| at.y);
        let at = Point::new(base, y);
        self.canvas.words(Layer::Text, at, words, Style::plain(size).turned(-90.0).middle());
        self.space.take(covered(y));
        self.space.wall(Point::new(x, ends.0), Point::new(x, ends.1));

        let widest: Vec<Point> =
            ring.flatten(0.01).into_iter().filter(|p| p.x > bounds.x1 - WIDEST_MM).collect();
        let (high, low) = widest.iter().fold((f64::MAX, f64::MIN), |(a, b), p| (a.min(p.y), b.max(p.y)));
        if !on_fold && bounds.width() < NARROW_MM {
            self.width_below(bounds, piece);
            return;
        }
        let offset = ACROSS_OFFSET_MM * self.manner.words.sqrt();
        // On a straight side the dimension stands on it; at a single corner it stands off, towards the middle.
        let y = if low - high > 2.0 * offset {
            low - offset
        } else if low > bounds.center().y {
            high - offset
        } else {
            low + offset
        };
        self.dimension(Point::new(left, y), Point::new(bounds.x1, y));
        let (near, far) = if y < high { (high, y - 2.0) } else { (low, y + 2.0) };
        self.canvas.line(
            Layer::Marks,
            &[Point::new(bounds.x1, near), Point::new(bounds.x1, far)],
            self.thin(),
        );
        self.across_words(piece, pages, (x.max(left), bounds.x1), y);
        self.space.wall(Point::new(left, y), Point::new(bounds.x1, y));
    }

    /// The width of a narrow piece, below it: there is no room for it inside.
    fn width_below(&mut self, finished: Rect, piece: &Piece) {
        let (size, y) = (self.size(4.0), self.bounds.y1 + OUTSIDE_MM);
        self.dimension(Point::new(finished.x0, y), Point::new(finished.x1, y));
        for x in [finished.x0, finished.x1] {
            self.canvas.line(
                Layer::Marks,
                &[Point::new(x, self.bounds.y1 + GAP_MM), Point::new(x, y + 2.0)],
                self.thin(),
            );
        }
        let words = label::dimensions(piece).pop().unwrap_or_default();
        let half = font::width_mm(&words, size, Face::Regular) / 2.0;
        let (middle, base) = (finished.center().x, y + size * (0.6 + font::CAPITAL));
        self.canvas.words(Layer::Text, Point::new(middle, base), words, Style::plain(size).middle());
        let covered = Rect::new(middle - half, y - 1.0, middle + half, base + 0.3 * size);
        self.space.take(covered);
        self.bounds = self.bounds.union(covered);
    }

    /// The words of the dimension across, as many as there is room for above its line, on one page if they can be.
    fn across_words(&mut self, piece: &Piece, pages: &Pages, (from, to): (f64, f64), y: f64) {
        let said = label::dimensions(piece);
        let short = said[1].split(" (").next().unwrap_or_default().to_owned();
        let wished = self.size(4.0);
        let room = to - from - 6.0;
        let mut set: Option<(String, f64, Rect)> = None;
        for words in [said[1..].join(", "), said[1].clone(), short] {
            let size = wished.min(room / font::width_mm(&words, 1.0, Face::Regular));
            if size < LEAST_WORDS_MM.min(wished) {
                continue;
            }
            let half = font::width_mm(&words, size, Face::Regular) / 2.0;
            let covered = |middle: f64| Rect::new(middle - half, y - 1.4 * size, middle + half, y + 1.0);
            let centre = f64::midpoint(from, to);
            let places = || offsets(room / 2.0 - half).map(|d| covered(centre + d));
            let whole = places()
                .find(|r| pages.seams.crossed(*r) == 0 && self.space.is_clear(*r))
                .or_else(|| places().find(|r| pages.seams.crossed(*r) == 0));
            if let Some(r) = whole {
                set = Some((words, size, r));
                break;
            }
            set = set.or_else(|| Some((words, size, covered(centre))));
        }
        if let Some((words, size, r)) = set {
            let at = Point::new(r.center().x, y - 0.4 * size);
            self.canvas.words(Layer::Text, at, words, Style::plain(size).middle());
            self.space.take(r);
        }
    }

    fn dimension(&mut self, a: Point, b: Point) {
        let line = self.thin();
        self.canvas.double_arrow(Layer::Marks, a, b, &line);
    }
}
