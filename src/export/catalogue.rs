//! A printed catalogue of a shelf: a picture, the name, the pieces, their measures and the date of every pattern.
//!
//! Entries enter one after another; pages leave, eight patterns on each, and are written at once. The pictures are drawings of the pieces, each
//! as large as its box allows, so they are not to one scale; the measures stand beside them.

use super::canvas::{Canvas, Style};
use super::font;
use super::shape::Shape;
use super::strokes::{self, QUIET, painted};
use super::{ExportError, pdf, picture};
use crate::geometry::{Affine, Drawing, Face, Layer, Point, Rect, Vec2};
use crate::sheet::Paper;
use std::io::Write;

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

/// A picture's room, millimetres: what a box of an A4 page leaves beside its words, and nearly that of a letter page's.
const PICTURE_MM: Vec2 = Vec2::new(37.0, 58.0);

/// One pattern in the catalogue.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct CatalogueEntry {
    /// Its name.
    pub name: String,
    /// Lines below the name: style, pieces with measures, material, date.
    pub lines: Vec<String>,
    /// Its pieces, as [`picture()`] draws them.
    pub picture: Drawing,
}

/// The picture of a pattern's pieces, arranged for its box.
#[must_use]
pub fn picture(shapes: &[Shape]) -> Drawing {
    picture::small(shapes, PICTURE_MM)
}

/// What is said of all pages.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct About {
    /// The head of every page.
    pub title: String,
    /// What they are printed on.
    pub paper: Paper,
}

/// Pages that are written as entries come in: however many come, one page is kept.
#[derive(Debug)]
pub struct Catalogue<W> {
    about: About,
    /// How many entries there will be.
    total: usize,
    page: Canvas,
    count: usize,
    file: pdf::Pages<W>,
}

impl<W: Write> Catalogue<W> {
    /// An empty one for so many entries; the file (PDF) goes to `out`.
    ///
    /// # Errors
    /// [`ExportError::Unwritten`].
    pub fn new(about: About, total: usize, out: W) -> Result<Self, ExportError> {
        let file = pdf::Pages::new(out)?;
        Ok(Self { about, total, page: Canvas::default(), count: 0, file })
    }

    /// Sets one pattern in the next box.
    ///
    /// # Errors
    /// [`ExportError::Unwritten`].
    pub fn push(&mut self, entry: &CatalogueEntry) -> Result<(), ExportError> {
        let on_page = self.count % (ACROSS * DOWN);
        if on_page == 0 && self.count > 0 {
            self.turn()?;
        }
        self.count += 1;
        let (width, height) = self.about.paper.size_mm();
        #[expect(clippy::cast_precision_loss, reason = "a few boxes")]
        let (columns, rows) = (ACROSS as f64, DOWN as f64);
        let size =
            Vec2::new((width - 2.0 * MARGIN_MM) / columns, (height - 2.0 * MARGIN_MM - HEAD_MM) / rows);
        #[expect(clippy::cast_precision_loss, reason = "a few boxes")]
        let place = Vec2::new((on_page % ACROSS) as f64 * size.x, (on_page / ACROSS) as f64 * size.y);
        let corner = Point::new(MARGIN_MM, MARGIN_MM + HEAD_MM) + place;
        set(&mut self.page, Rect::from_origin_size(corner, size.to_size()), entry);
        Ok(())
    }

    /// Writes the last page and the rest of the file.
    ///
    /// # Errors
    /// [`ExportError::Nothing`] without entries, [`ExportError::Unwritten`].
    pub fn finish(mut self) -> Result<W, ExportError> {
        if self.count > 0 {
            self.turn()?;
        }
        self.file.finish(&pdf::About { title: &self.about.title, subject: "catalogue of patterns" })
    }

    /// Writes the page at hand, with its head and number.
    fn turn(&mut self) -> Result<(), ExportError> {
        let (width, height) = self.about.paper.size_mm();
        let mut canvas = std::mem::take(&mut self.page);
        let head = Point::new(MARGIN_MM, MARGIN_MM + 3.0);
        canvas.words(PAGE, head, self.about.title.clone(), Style::plain(NAME_MM).bold());
        let at = Point::new(width / 2.0, height - 0.6 * MARGIN_MM);
        let on_page = ACROSS * DOWN;
        let words = format!("page {} of {}", self.count.div_ceil(on_page), self.total.div_ceil(on_page));
        canvas.words(PAGE, at, words, Style::plain(WORDS_MM).middle().painted(QUIET));
        self.file.add(&canvas.into_drawing(width, height))
    }
}

fn set(canvas: &mut Canvas, cell: Rect, entry: &CatalogueEntry) {
    let rule = painted(strokes::full(0.2), QUIET);
    canvas.line(PAGE, &[Point::new(cell.x0, cell.y0), Point::new(cell.x1, cell.y0)], rule);
    let inner = cell.inflate(-1.5, -2.5);
    let frame = Rect::new(inner.x0, inner.y0, inner.x0 + PICTURE_PART * inner.width(), inner.y1);
    let drawing = &entry.picture;
    if drawing.width_mm > 0.0 && drawing.height_mm > 0.0 {
        let scale = (frame.width() / drawing.width_mm).min(frame.height() / drawing.height_mm);
        let size = Vec2::new(drawing.width_mm * scale, drawing.height_mm * scale);
        let corner = Vec2::new(frame.x0 + (frame.width() - size.x) / 2.0, frame.y0);
        canvas.place(None, Affine::translate(corner) * Affine::scale(scale), drawing.items.clone());
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
