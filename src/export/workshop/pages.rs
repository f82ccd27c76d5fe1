//! The sheets as pages to print and hang beside the bench.

use super::{Cell, Table, Workshop};
use crate::export::canvas::{Canvas, LEADING, Style};
use crate::export::font;
use crate::export::strokes::{self, QUIET, painted};
use crate::geometry::{Drawing, Face, Layer, Point};
use crate::sheet::Paper;

/// Margin of a page, millimetres.
const MARGIN_MM: f64 = 14.0;
/// Letters of the tables and the steps, millimetres.
const WORDS_MM: f64 = 3.0;
/// Space between columns, millimetres.
const GUTTER_MM: f64 = 3.5;
const PAGE: Layer = Layer::Page;

/// Sets everything on as many pages as it takes.
#[must_use]
pub fn pages(workshop: &Workshop, paper: Paper) -> Vec<Drawing> {
    let mut press = Press { paper, done: Vec::new(), canvas: Canvas::default(), y: MARGIN_MM };
    press.line(&workshop.style, Style::plain(7.0).bold());
    press.line(workshop.edition.trim_end(), Style::plain(WORDS_MM).painted(QUIET));
    for table in workshop.tables.iter().filter(|table| !table.rows.is_empty()) {
        press.table(table);
    }
    press.heading("Order of making");
    for (number, step) in workshop.steps.iter().enumerate() {
        press.room(3.0 * WORDS_MM * LEADING);
        press.y += 0.6 * WORDS_MM;
        press.line(&format!("{}. {}", number + 1, step.title), Style::plain(1.1 * WORDS_MM).bold());
        for line in &step.lines {
            press.paragraph(line, 5.0);
        }
    }
    press.heading("Beware");
    for caution in &workshop.cautions {
        press.paragraph(caution, 0.0);
        press.y += 0.4 * WORDS_MM;
    }
    press.turn_page();
    press.numbered()
}

/// Pages while they are set.
struct Press {
    paper: Paper,
    done: Vec<Canvas>,
    canvas: Canvas,
    /// Where the next line begins, millimetres from the top.
    y: f64,
}

impl Press {
    fn width(&self) -> f64 {
        self.paper.size_mm().0 - 2.0 * MARGIN_MM
    }

    fn turn_page(&mut self) {
        self.done.push(std::mem::take(&mut self.canvas));
        self.y = MARGIN_MM;
    }

    /// Turns the page unless there is so much room on it.
    fn room(&mut self, height: f64) {
        if self.y + height > self.paper.size_mm().1 - 1.5 * MARGIN_MM {
            self.turn_page();
        }
    }

    fn line(&mut self, words: &str, style: Style) {
        self.room(style.size_mm * LEADING);
        self.y += style.size_mm;
        self.canvas.words(PAGE, Point::new(MARGIN_MM, self.y), words, style);
        self.y += style.size_mm * (LEADING - 1.0);
    }

    fn heading(&mut self, words: &str) {
        self.room(8.0 * WORDS_MM);
        self.y += 2.0 * WORDS_MM;
        self.line(words, Style::plain(5.0).bold());
        self.y += 0.5 * WORDS_MM;
    }

    fn paragraph(&mut self, words: &str, indent: f64) {
        for line in font::wrap(words, WORDS_MM, Face::Regular, self.width() - indent) {
            self.room(WORDS_MM * LEADING);
            self.y += WORDS_MM;
            self.canvas.words(PAGE, Point::new(MARGIN_MM + indent, self.y), line, Style::plain(WORDS_MM));
            self.y += WORDS_MM * (LEADING - 1.0);
        }
    }

    fn table(&mut self, table: &Table) {
        self.heading(table.title);
        let heads: Vec<String> = table.columns.iter().map(|head| (*head).to_owned()).collect();
        let rows: Vec<Vec<String>> =
            table.rows.iter().map(|row| row.iter().map(Cell::shown).collect()).collect();
        let natural = |k: usize| {
            let rows = rows.iter().map(|row| font::width_mm(&row[k], WORDS_MM, Face::Regular));
            rows.fold(font::width_mm(&heads[k], WORDS_MM, Face::Bold), f64::max)
        };
        let mut widths: Vec<f64> = (0..heads.len()).map(natural).collect();
        self.narrow(&mut widths);
        self.row(&heads, &widths, Face::Bold);
        let rule = painted(strokes::full(0.2), QUIET);
        let (left, right) = (MARGIN_MM, MARGIN_MM + self.width());
        self.canvas.line(PAGE, &[Point::new(left, self.y), Point::new(right, self.y)], rule.clone());
        self.y += 0.4 * WORDS_MM;
        for (index, row) in rows.iter().enumerate() {
            // A rule where another piece begins.
            if index > 0 && table.columns[0] == "piece" && rows[index - 1][0] != row[0] {
                self.canvas.line(PAGE, &[Point::new(left, self.y), Point::new(right, self.y)], rule.clone());
                self.y += 0.3 * WORDS_MM;
            }
            self.row(row, &widths, Face::Regular);
        }
    }

    /// Takes from the widest columns until all fit on the page; their words are then wrapped.
    fn narrow(&self, widths: &mut [f64]) {
        #[expect(clippy::cast_precision_loss, reason = "a few columns")]
        let free = self.width() - GUTTER_MM * (widths.len().saturating_sub(1)) as f64;
        while widths.iter().sum::<f64>() > free {
            let Some(widest) = widths.iter_mut().max_by(|a, b| a.total_cmp(b)) else { return };
            *widest -= 1.0;
        }
    }

    fn row(&mut self, fields: &[String], widths: &[f64], face: Face) {
        let wrapped = |(field, width): (&String, &f64)| font::wrap(field, WORDS_MM, face, *width);
        let cells: Vec<Vec<String>> = fields.iter().zip(widths).map(wrapped).collect();
        let deepest = cells.iter().map(Vec::len).max().unwrap_or(0);
        #[expect(clippy::cast_precision_loss, reason = "a few lines")]
        self.room(deepest as f64 * WORDS_MM * LEADING);
        for line in 0..deepest {
            self.y += WORDS_MM;
            let mut x = MARGIN_MM;
            for (cell, width) in cells.iter().zip(widths) {
                if let Some(words) = cell.get(line) {
                    let style = Style { face, ..Style::plain(WORDS_MM) };
                    self.canvas.words(PAGE, Point::new(x, self.y), words.as_str(), style);
                }
                x += width + GUTTER_MM;
            }
            self.y += WORDS_MM * (LEADING - 1.0);
        }
    }

    /// The pages with their numbers.
    fn numbered(self) -> Vec<Drawing> {
        let (width, height) = self.paper.size_mm();
        let count = self.done.len();
        let number = |(index, mut canvas): (usize, Canvas)| {
            let at = Point::new(width / 2.0, height - 0.7 * MARGIN_MM);
            let words = format!("workshop sheet {} of {count}", index + 1);
            canvas.words(PAGE, at, words, Style::plain(2.6).middle().painted(QUIET));
            canvas.into_drawing(width, height)
        };
        self.done.into_iter().enumerate().map(number).collect()
    }
}
