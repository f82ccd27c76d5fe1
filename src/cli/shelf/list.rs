//! `onfold shelf list` and `search`.

use crate::shelf::{Entry, Query, Shelf};
use crate::units::Length;
use clap::Args;
use std::io::{BufWriter, Write};
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
        let nothing = "nothing on the shelf yet; put something there with: onfold shelf add FOLDER";
        tell(shelf, &Query::default(), self.json, nothing)
    }
}

impl Search {
    pub(super) fn run(self, shelf: &Shelf) -> anyhow::Result<()> {
        let nothing = "nothing like that on the shelf; onfold shelf list shows everything";
        tell(shelf, &self.wanted.query(), self.json, nothing)
    }
}

fn tell(shelf: &Shelf, query: &Query, json: bool, nothing: &str) -> anyhow::Result<()> {
    let mut out = BufWriter::new(std::io::stdout().lock());
    let told = if json { array(shelf, query, &mut out)? } else { table(shelf, query, nothing, &mut out)? };
    // A reader that has seen enough (`| head`) is no mishap.
    let _ = told.and_then(|()| out.flush());
    Ok(())
}

/// An array on one line, written as the patterns come.
fn array(shelf: &Shelf, query: &Query, out: &mut impl Write) -> anyhow::Result<std::io::Result<()>> {
    let mut told = out.write_all(b"[");
    let mut comma: &[u8] = b"";
    shelf.each(query, |entry| {
        if told.is_ok() {
            told = out.write_all(comma).and_then(|()| Ok(serde_json::to_writer(&mut *out, &entry)?));
            comma = b",";
        }
    })?;
    Ok(told.and_then(|()| out.write_all(b"]\n")))
}

/// Height by width of a pattern's first piece, centimetres, as a maker compares garments.
fn size(entry: &Entry) -> String {
    entry.pieces.first().map_or_else(String::new, |piece| {
        format!("{:.1} x {:.1} cm", piece.height_mm / 10.0, piece.width_mm / 10.0)
    })
}

/// A line of the table.
struct Row {
    cells: [String; 7],
    damage: Option<String>,
}

impl Row {
    fn of(entry: Entry) -> Self {
        let pieces = match &entry.pieces[..] {
            [] => String::new(),
            [one] => one.name.clone(),
            [first, more @ ..] => format!("{} + {}", first.name, more.len()),
        };
        let field = |key: &str| entry.field(key).to_owned();
        let [style, material, date] = ["style", "material", "date"].map(field);
        let (size, tags) = (size(&entry), entry.tags.join(", "));
        Self { cells: [entry.name, style, pieces, size, material, date, tags], damage: entry.problem }
    }
}

/// One line a pattern, columns as wide as they need; damage in the place of the words.
fn table(
    shelf: &Shelf,
    query: &Query,
    nothing: &str,
    out: &mut impl Write,
) -> anyhow::Result<std::io::Result<()>> {
    let mut rows: Vec<Row> = Vec::new();
    shelf.each(query, |entry| rows.push(Row::of(entry)))?;
    if rows.is_empty() {
        return Ok(writeln!(out, "{nothing}"));
    }
    let heads = ["name", "style", "pieces", "height x width", "material", "date", "tags"].map(str::to_owned);
    let cells = || rows.iter().map(|row| &row.cells).chain([&heads]);
    let widths: [usize; 7] =
        std::array::from_fn(|k| cells().map(|cells| cells[k].chars().count()).max().unwrap_or(0));
    let line = |cells: &[String; 7]| {
        let padded = cells.iter().zip(&widths).map(|(cell, width)| format!("{cell:width$}"));
        padded.collect::<Vec<_>>().join("  ").trim_end().to_owned()
    };
    let count = if rows.len() == 1 { "1 pattern".to_owned() } else { format!("{} patterns", rows.len()) };
    let lines = rows.iter().map(|row| match &row.damage {
        Some(problem) => format!("{:width$}  damaged: {problem}", row.cells[0], width = widths[0]),
        None => line(&row.cells),
    });
    let mut all = std::iter::once(line(&heads)).chain(lines).chain([count]);
    Ok(all.try_for_each(|line| writeln!(out, "{line}")))
}
