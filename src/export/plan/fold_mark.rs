//! The bracket whose arrows point to the fold, and its words.

use super::{Drafting, Pages};
use crate::export::canvas::Style;
use crate::export::font;
use crate::export::strokes::{self, THIN_MM};
use crate::geometry::{Face, Layer, Point, Rect};

/// The bracket stands this far inside, millimetres.
const BRACKET_MM: f64 = 12.0;
/// The large word stands off the bracket by this part of its size.
const OFF: f64 = 0.35;

impl Drafting {
    /// The bracket whose arrows point to the fold, with its words.
    pub(super) fn fold(&mut self, bounds: Rect, pages: &Pages) {
        let (top, bottom) = (bounds.y0 + 0.28 * bounds.height(), bounds.y0 + 0.78 * bounds.height());
        let x = BRACKET_MM * self.manner.words.sqrt();
        let line = strokes::full(1.4 * THIN_MM * self.manner.lines);
        self.canvas.line(Layer::Marks, &[Point::new(x, top), Point::new(x, bottom)], line.clone());
        for y in [top, bottom] {
            self.canvas.arrow(Layer::Marks, Point::new(x, y), Point::new(1.0, y), &line);
        }
        let (large, small) = (self.size(7.0), self.size(4.0));
        let base = x + (OFF + font::CAPITAL) * large;
        let middle = f64::midpoint(top, bottom);
        let says = "place this edge on the fold, do not cut it";
        let widths = (font::width_mm("FOLD", large, Face::Bold), font::width_mm(says, small, Face::Regular));
        // Read from the right-hand side of the sheet: words run upward.
        let total = widths.0 + large * 0.5 + widths.1;
        let fits = total < bottom - top;
        let run = if fits { total } else { widths.0 };
        // On one page if it can be: the place nearest to the middle that crosses no seam.
        let free = (bottom - top - run).max(0.0) / 2.0;
        let shifts = [0.0, 0.25, -0.25, 0.5, -0.5, 0.75, -0.75, 1.0, -1.0].map(|part| part * free);
        let whole = |shift: &&f64| {
            let centre = middle + **shift;
            !pages.seams.level.iter().any(|y| (y - centre).abs() < run / 2.0 + large)
        };
        let begin = middle + shifts.iter().find(whole).unwrap_or(&0.0) + 0.5 * run;
        let word = Style::plain(large).bold().turned(-90.0);
        self.canvas.words(Layer::Text, Point::new(base, begin), "FOLD", word);
        if fits {
            let at = Point::new(base, begin - widths.0 - large * 0.5);
            self.canvas.words(Layer::Text, at, says, Style::plain(small).turned(-90.0));
        }
        self.space.take(Rect::new(0.0, top - 3.0, base + 0.3 * large, bottom + 3.0));
        // The word again and again, so that no page along the fold lacks it.
        if self.manner.label {
            let mut y = bounds.y0 + 30.0;
            while y < bounds.y1 - 10.0 {
                let small = Style::plain(3.0).turned(-90.0).middle();
                self.canvas.words(Layer::Text, Point::new(5.0, y), "FOLD", small);
                y += 120.0;
            }
        }
        self.space.take(Rect::new(0.0, bounds.y0, 6.0, bounds.y1));
    }
}
