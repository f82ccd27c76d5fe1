//! A piece drawn: its lines, lettered points, named edges, fold and grain, dimensions and label.
//!
//! Enters a piece in its own frame (a half has its fold on x = 0, cloth at x ≥ 0, y down, millimetres); leaves items in
//! the same frame at full scale. Line kinds after ISO 128-2: finished line thick, fold long-dash-dot, dimensions thin.

mod dimension;
mod edge_words;
mod fold_mark;
mod gauge;
mod grain;
mod lines;

use super::ExportError;
use super::canvas::Canvas;
use super::label;
use super::shape::Shape;
use super::space::{Seams, Space};
use super::strokes::{self, THIN_MM};
use crate::geometry::{Item, Line, Paint, Point, Rect};
use crate::pattern::Piece;

/// Words keep this distance from lines, millimetres.
const CLEAR_MM: f64 = 5.0;
/// Width to which a label is wrapped at scale 1, millimetres.
const LABEL_WIDTH_MM: f64 = 150.0;
/// A piece smaller than this both ways has its label below it where none fits inside, millimetres.
const SMALL_MM: f64 = 150.0;
/// Width to which that label is wrapped, millimetres: two stand side by side on a page.
const SMALL_LABEL_MM: f64 = 76.0;
/// Scales at which a label is tried, largest first: the last still has 2 mm letters.
const LABEL_SCALES: [f64; 5] = [1.0, 0.85, 0.7, 0.6, 0.5];
/// Cloth in a picture: light, so that thin black lines stand out.
const CLOTH: Paint = Paint { r: 0.96, g: 0.93, b: 0.87 };

pub(super) use gauge::Gauge;
pub(super) use grain::line as grain_line;
pub(super) use lines::items;

/// How large words and lines are drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Manner {
    /// Letters: 1 for paper at full scale, more for a picture that is looked at whole.
    pub(super) words: f64,
    /// Lines: the same.
    pub(super) lines: f64,
    /// Whether the label is set.
    pub(super) label: bool,
    /// Colour of the cloth.
    pub(super) cloth: Option<Paint>,
}

impl Manner {
    /// Paper at full scale.
    pub(super) const PAPER: Self = Self { words: 1.0, lines: 1.0, label: true, cloth: None };
    /// A picture of a piece of this size, looked at whole on a screen: words as large as a large piece needs, but no
    /// larger than a narrow one takes.
    pub(super) fn picture(piece: Rect) -> Self {
        let words = (piece.width().min(piece.height()) / 140.0).clamp(0.6, 2.4);
        let lines = (piece.width().max(piece.height()) / 360.0).clamp(0.6, 2.4);
        Self { words, lines, label: false, cloth: Some(CLOTH) }
    }
}

/// The pages on which a piece is printed, in its frame; none for one sheet that holds all of it.
#[derive(Debug, Clone, Default)]
pub(super) struct Pages {
    /// Borders that words keep off where they can.
    pub(super) seams: Seams,
    /// What each page shows.
    pub(super) tiles: Vec<Rect>,
}

/// A drawn piece.
#[derive(Debug)]
pub(super) struct Plan {
    /// Items in the piece's frame.
    pub(super) items: Vec<Item>,
    /// What every tile is measured by.
    pub(super) gauges: Vec<Gauge>,
    /// What these and the label had to cross, as a length of lines, those of the piece several times, and what counts against
    /// pages without a square, millimetres.
    pub(super) crossed_mm: f64,
    /// Box round all of it.
    pub(super) bounds: Rect,
    /// What is still free.
    pub(super) space: Space,
}

/// Draws a piece: what belongs to its lines first, then the label, a test square a page, and the grain arrow where
/// there is still room.
pub(super) fn draw(piece: &Piece, manner: Manner, pages: &Pages) -> Result<Plan, ExportError> {
    let shape = Shape::of_piece(piece)?;
    let space = Space::new(&piece.outline.ring(), &piece.holes);
    let bounds = space.bounds();
    let mut drawing = Drafting { canvas: Canvas::default(), space, manner, bounds };
    drawing.lines(&shape);
    if piece.outline.on_fold() {
        drawing.fold(bounds, pages);
    }
    drawing.dimensions(piece, pages);
    drawing.letters(piece);
    drawing.edge_words(piece, pages);
    drawing.line_words(&shape, pages);
    let (gauges, crossed_mm) = drawing.label_and_gauges(piece, pages);
    drawing.grain(piece, pages);
    Ok(Plan { items: drawing.canvas.items, gauges, crossed_mm, bounds: drawing.bounds, space: drawing.space })
}

/// A name fit for an id: small letters, figures and hyphens.
pub(super) fn id_of(name: &str) -> String {
    let plain: String =
        name.to_lowercase().chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
    if plain.starts_with(char::is_alphabetic) { plain } else { format!("piece-{plain}") }
}

#[derive(Clone)]
struct Drafting {
    canvas: Canvas,
    space: Space,
    manner: Manner,
    bounds: Rect,
}

impl Drafting {
    fn size(&self, mm: f64) -> f64 {
        mm * self.manner.words
    }

    fn thin(&self) -> Line {
        strokes::full(THIN_MM * self.manner.lines)
    }

    /// The label, as large as fits inside; beside the piece where none fits, on one page. What it had to cross, as a length of
    /// lines, millimetres.
    fn label(&mut self, piece: &Piece, pages: &Pages) -> f64 {
        let bounds = self.space.bounds();
        let wish = Point::new(bounds.x0 + 0.5 * bounds.width(), bounds.y0 + 0.42 * bounds.height());
        for scale in LABEL_SCALES {
            let shapes = [LABEL_WIDTH_MM, 0.65 * LABEL_WIDTH_MM]
                .map(|width| label::lines(piece, scale, width * scale));
            let places = shapes.iter().filter_map(|lines| {
                let (cost, r) =
                    self.space.place(label::size(lines), CLEAR_MM, wish, &pages.seams, f64::INFINITY)?;
                Some((cost, r, lines))
            });
            if let Some((_, r, lines)) = places.min_by(|a, b| a.0.total_cmp(&b.0)) {
                label::set(&mut self.canvas, r.origin(), lines);
                self.space.take(r);
                return 0.0;
            }
        }
        if !pages.tiles.is_empty() {
            return self.label_on_page(piece, pages);
        }
        // Below a small piece, so that several stand on a page.
        let small = bounds.width().max(bounds.height()) < SMALL_MM;
        let (lines, corner) = if small {
            (label::lines(piece, 0.5, SMALL_LABEL_MM), Point::new(bounds.x0, self.bounds.y1 + CLEAR_MM))
        } else {
            let beside = Point::new(self.bounds.x1 + 8.0, bounds.y0);
            (label::lines(piece, 0.7, 0.7 * LABEL_WIDTH_MM), beside)
        };
        let r = Rect::from_origin_size(corner, label::size(&lines).to_size());
        label::set(&mut self.canvas, corner, &lines);
        self.space.take(r);
        self.bounds = self.bounds.union(r);
        0.0
    }

    /// The label somewhere on the pages, as large as there is room for; where it crosses least when there is none.
    fn label_on_page(&mut self, piece: &Piece, pages: &Pages) -> f64 {
        let clear = 0.5 * CLEAR_MM;
        let shapes = LABEL_SCALES.iter().flat_map(|scale| {
            [1.0, 0.65, 0.5].map(|part| label::lines(piece, *scale, part * LABEL_WIDTH_MM * scale))
        });
        let free = shapes.into_iter().find_map(|lines| {
            let r = self.space.place_on(pages, label::size(&lines), clear)?;
            Some((0.0, r, lines))
        });
        let (cost, r, lines) = free.unwrap_or_else(|| {
            let lines = label::lines(piece, 0.5, SMALL_LABEL_MM);
            let size = label::size(&lines);
            let beside = Rect::from_origin_size((self.bounds.x1 + CLEAR_MM, self.bounds.y0), size.to_size());
            let (cost, r) = self.space.least_crowded_on(&pages.tiles, size, clear).unwrap_or((0.0, beside));
            (cost, r, lines)
        });
        label::set(&mut self.canvas, r.origin(), &lines);
        self.space.take(r);
        cost
    }
}
