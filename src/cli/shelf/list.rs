//! `onfold shelf list` and `search`.

use super::print_json;
use crate::shelf::{Entry, Query, Shelf};
use crate::units::Length;
use clap::Args;
use std::ops::RangeInclusive;

/// Arguments of `onfold shelf list`.
#[derive(Debug, Args)]
pub(super) struct List {
    /// Print JSON: an array, an object a pattern
    #[arg(long)]
    json: bool,
}

/// Arguments of `onfold shelf search`, which the catalogue takes as well.
#[derive(Debug, Args, Default)]
pub(super) struct Wanted {
    /// Words, all of which must stand somewhere in the name, the record or the pieces
    #[arg(value_name = "WORD")]
    words: Vec<String>,
    /// Part of the pattern's name or style
    #[arg(long, value_name = "TEXT")]
    name: Option<String>,
    /// Part of a piece's name
    #[arg(long, value_name = "TEXT")]
    piece: Option<String>,
    /// Part of the material
    #[arg(long, value_name = "TEXT")]
    material: Option<String>,
    /// The size as the record has it
    #[arg(long, value_name = "SIZE")]
    size: Option<String>,
    /// A tag; give it again for a second one
    #[arg(long = "tag", value_name = "TAG")]
    tags: Vec<String>,
    /// Not before this date: 2026, 2026-03 or 2026-03-18
    #[arg(long, value_name = "DATE", value_parser = date)]
    from: Option<String>,
    /// Not after this date: 2026 is all of that year
    #[arg(long, value_name = "DATE", value_parser = date)]
    until: Option<String>,
    /// Height of the whole piece: 80cm (within 1 cm of it), or 75cm..85cm
    #[arg(long, value_name = "LENGTH", value_parser = range)]
    height: Option<Range>,
    /// Width of the whole piece, likewise
    #[arg(long, value_name = "LENGTH", value_parser = range)]
    width: Option<Range>,
}

/// Arguments of `onfold shelf search`.
#[derive(Debug, Args)]
pub(super) struct Search {
    #[command(flatten)]
    wanted: Wanted,
    /// Print JSON: an array, an object a pattern
    #[arg(long)]
    json: bool,
}

/// How far a size may be off when a single one is given, millimetres.
const ABOUT_MM: f64 = 10.0;

#[derive(Debug, Clone)]
struct Range(RangeInclusive<f64>);

/// `80cm` or `75cm..85cm`.
fn range(text: &str) -> Result<Range, String> {
    let mm = |t: &str| Length::parse_positive(t.trim()).map(|l| l.mm()).map_err(|e| e.to_string());
    Ok(Range(match text.split_once("..") {
        Some((from, to)) => mm(from)?..=mm(to)?,
        None => {
            let middle = mm(text)?;
            middle - ABOUT_MM..=middle + ABOUT_MM
        }
    }))
}

/// A year, a month or a day, year first.
fn date(text: &str) -> Result<String, String> {
    let parts: Vec<&str> = text.split('-').collect();
    let figures = |part: &&str, count: usize| part.len() == count && part.bytes().all(|b| b.is_ascii_digit());
    let counts = [4, 2, 2];
    if parts.len() <= 3 && parts.iter().zip(counts).all(|(part, count)| figures(part, count)) {
        Ok(text.to_owned())
    } else {
        Err("write a date with the year first: 2026, 2026-03 or 2026-03-18".to_owned())
    }
}

impl Wanted {
    pub(super) fn query(&self) -> Query {
        Query {
            words: self.words.clone(),
            name: self.name.clone(),
            piece: self.piece.clone(),
            material: self.material.clone(),
            size: self.size.clone(),
            tags: self.tags.clone(),
            from: self.from.clone(),
            until: self.until.clone(),
            height_mm: self.height.as_ref().map(|r| r.0.clone()),
            width_mm: self.width.as_ref().map(|r| r.0.clone()),
        }
    }
}

impl List {
    pub(super) fn run(self, shelf: &Shelf) -> anyhow::Result<()> {
        let entries = shelf.list()?;
        if self.json {
            return print_json(&entries);
        }
        if entries.is_empty() {
            println!("nothing on the shelf yet; put something there with: onfold shelf add FOLDER");
        }
        table(&entries);
        Ok(())
    }
}

impl Search {
    pub(super) fn run(self, shelf: &Shelf) -> anyhow::Result<()> {
        let entries = shelf.search(&self.wanted.query())?;
        if self.json {
            return print_json(&entries);
        }
        if entries.is_empty() {
            println!("nothing like that on the shelf; onfold shelf list shows everything");
        }
        table(&entries);
        Ok(())
    }
}

/// Height by width of a pattern's first piece, centimetres, as a maker compares garments.
pub(super) fn size(entry: &Entry) -> String {
    entry.pieces.first().map_or_else(String::new, |piece| {
        format!("{:.1} x {:.1} cm", piece.height_mm / 10.0, piece.width_mm / 10.0)
    })
}

/// One line a pattern, columns as wide as they need; damage in the place of the words.
fn table(entries: &[Entry]) {
    let row = |entry: &Entry| {
        let pieces = match &entry.pieces[..] {
            [] => String::new(),
            [one] => one.name.clone(),
            [first, more @ ..] => format!("{} + {}", first.name, more.len()),
        };
        let field = |key: &str| entry.field(key).to_owned();
        [
            entry.name.clone(),
            field("style"),
            pieces,
            size(entry),
            field("material"),
            field("date"),
            entry.tags.join(", "),
        ]
    };
    let heads = ["name", "style", "pieces", "height x width", "material", "date", "tags"].map(str::to_owned);
    let rows: Vec<[String; 7]> = entries.iter().map(row).collect();
    if rows.is_empty() {
        return;
    }
    let width = |k: usize| rows.iter().chain([&heads]).map(|r| r[k].chars().count()).max().unwrap_or(0);
    let widths: Vec<usize> = (0..heads.len()).map(width).collect();
    let line = |cells: &[String]| {
        let padded = cells.iter().zip(&widths).map(|(cell, width)| format!("{cell:width$}"));
        padded.collect::<Vec<_>>().join("  ").trim_end().to_owned()
    };
    let mut out = line(&heads) + "\n";
    for (entry, row) in entries.iter().zip(&rows) {
        match &entry.problem {
            Some(problem) => {
                out += &format!("{:width$}  damaged: {problem}\n", entry.name, width = widths[0]);
            }
            None => out += &(line(row) + "\n"),
        }
    }
    let count =
        if entries.len() == 1 { "1 pattern".to_owned() } else { format!("{} patterns", entries.len()) };
    // A reader that has seen enough (`| head`) is no mishap.
    let _ = std::io::Write::write_all(&mut std::io::stdout(), format!("{out}{count}\n").as_bytes());
}
