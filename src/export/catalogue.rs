//! A printed catalogue of a shelf: a picture, the name, the pieces, their measures and the date of every pattern.
//!
//! Entries enter one after another; pages leave, eight patterns on each. The pictures are drawings of the pieces, each
//! as large as its box allows, so they are not to one scale; the measures stand beside them.

use super::canvas::{Canvas, Style};
use super::font;
use super::shape::Shape;
use super::strokes::{self, QUIET, painted};
use super::{ExportError, pdf, picture};
use crate::geometry::{Affine, Drawing, Face, Layer, Point, Rect, Vec2};
use crate::sheet::Paper;

/// Margin of a page, millimetres.
const MARGIN_MM: f64 = 14.0;
/// Patterns across and down a page.
const ACROSS: usize = 2;
const DOWN: usize = 4;
/// Part of a box's width that the picture has.
const PICTURE_PART: f64 = 0.42;
/// Letters of the words, millimetres.
const WORDS_MM: f64 = 2.6;
/// Letters of a name, millimetres.
const NAME_MM: f64 = 4.0;
/// Room above the boxes for the head of the page, millimetres.
const HEAD_MM: f64 = 8.0;
const PAGE: Layer = Layer::Page;

/// One pattern in the catalogue.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CatalogueEntry {
    /// Its name.
    pub name: String,
    /// Lines below the name: style, pieces with measures, material, date.
    pub lines: Vec<String>,
    /// Its pieces.
    pub shapes: Vec<Shape>,
}

/// Pages while entries come in. Of a pattern only its drawing is kept.
#[derive(Debug)]
pub struct Catalogue {
    title: String,
    paper: Paper,
    done: Vec<Canvas>,
    count: usize,
}

impl Catalogue {
    /// An empty one.
    #[must_use]
    pub fn new(title: &str, paper: Paper) -> Self {
        Self { title: title.to_owned(), paper, done: Vec::new(), count: 0 }
    }

    /// Sets one pattern in the next box.
    pub fn push(&mut self, entry: &CatalogueEntry) {
        let on_page = self.count % (ACROSS * DOWN);
        if on_page == 0 {
            self.done.push(Canvas::default());
        }
        self.count += 1;
        let (width, height) = self.paper.size_mm();
        #[expect(clippy::cast_precision_loss, reason = "a few boxes")]
        let (columns, rows) = (ACROSS as f64, DOWN as f64);
        let size =
            Vec2::new((width - 2.0 * MARGIN_MM) / columns, (height - 2.0 * MARGIN_MM - HEAD_MM) / rows);
        #[expect(clippy::cast_precision_loss, reason = "a few boxes")]
        let place = Vec2::new((on_page % ACROSS) as f64 * size.x, (on_page / ACROSS) as f64 * size.y);
        let corner = Point::new(MARGIN_MM, MARGIN_MM + HEAD_MM) + place;
        let cell = Rect::from_origin_size(corner, size.to_size());
        if let Some(canvas) = self.done.last_mut() {
            set(canvas, cell, entry);
        }
    }

    /// The file (PDF).
    ///
    /// # Errors
    /// [`ExportError::Nothing`] without entries.
    pub fn into_pdf(self) -> Result<Vec<u8>, ExportError> {
        let title = self.title.clone();
        pdf::write(&pdf::About { title: &title, subject: "catalogue of patterns" }, &self.pages())
    }

    /// The pages, numbered.
    #[must_use]
    pub fn pages(self) -> Vec<Drawing> {
        let (width, height) = self.paper.size_mm();
        let count = self.done.len();
        let page = |(index, mut canvas): (usize, Canvas)| {
            let head = Point::new(MARGIN_MM, MARGIN_MM + 3.0);
            canvas.words(PAGE, head, self.title.clone(), Style::plain(NAME_MM).bold());
            let at = Point::new(width / 2.0, height - 0.6 * MARGIN_MM);
            let words = format!("page {} of {count}", index + 1);
            canvas.words(PAGE, at, words, Style::plain(WORDS_MM).middle().painted(QUIET));
            canvas.into_drawing(width, height)
        };
        self.done.into_iter().enumerate().map(page).collect()
    }
}

fn set(canvas: &mut Canvas, cell: Rect, entry: &CatalogueEntry) {
    let rule = painted(strokes::full(0.2), QUIET);
    canvas.line(PAGE, &[Point::new(cell.x0, cell.y0), Point::new(cell.x1, cell.y0)], rule);
    let inner = cell.inflate(-1.5, -2.5);
    let frame = Rect::new(inner.x0, inner.y0, inner.x0 + PICTURE_PART * inner.width(), inner.y1);
    let drawing = picture::small(&entry.shapes, frame.size().to_vec2());
    if drawing.width_mm > 0.0 && drawing.height_mm > 0.0 {
        let scale = (frame.width() / drawing.width_mm).min(frame.height() / drawing.height_mm);
        let size = Vec2::new(drawing.width_mm * scale, drawing.height_mm * scale);
        let corner = Vec2::new(frame.x0 + (frame.width() - size.x) / 2.0, frame.y0);
        canvas.place(None, Affine::translate(corner) * Affine::scale(scale), drawing.items);
    }
    let left = frame.x1 + 3.0;
    let mut y = inner.y0;
    let mut say = |words: &str, size: f64, face: Face| {
        for line in font::wrap(words, size, face, inner.x1 - left) {
            if y + size * 1.35 > inner.y1 {
                return;
            }
            y += size;
            canvas.words(PAGE, Point::new(left, y), line, Style { face, ..Style::plain(size) });
            y += size * 0.35;
        }
    };
    say(&entry.name, NAME_MM, Face::Bold);
    for line in &entry.lines {
        say(line, WORDS_MM, Face::Regular);
    }
}
