//! The printed catalogue of a shelf.

use super::entry::Entry;
use super::error::ShelfError;
use super::query::Query;
use super::shown::Shown;
use super::store::Shelf;
use crate::export::catalogue::{About, Catalogue, CatalogueEntry};
use rayon::prelude::*;
use std::io::Write;

/// Patterns read at one time: enough for all cores, few enough that memory does not grow with the shelf.
const AT_ONCE: usize = 16;

/// Pieces told of one pattern: its box has room for so many below its record.
const PIECES_MOST: usize = 6;

impl Shelf {
    /// Writes the catalogue (PDF) of the patterns that a query asks for, by name, page by page. A damaged pattern
    /// is in it with what is wrong.
    ///
    /// # Errors
    /// [`ShelfError::Export`] when nothing is found or `out` takes no more; the system refused.
    pub fn catalogue<W: Write>(&self, query: &Query, about: About, out: W) -> Result<W, ShelfError> {
        let mut names = Vec::new();
        self.each(query, |entry| names.push(entry.name))?;
        let mut catalogue = Catalogue::new(about, names.len(), out)?;
        for some in names.chunks(AT_ONCE) {
            let set: Vec<CatalogueEntry> =
                some.par_iter().map(|name| catalogued(&Shown::of(&self.dir().join(name), name))).collect();
            set.iter().try_for_each(|entry| catalogue.push(entry))?;
        }
        Ok(catalogue.finish()?)
    }
}

fn catalogued(shown: &Shown) -> CatalogueEntry {
    CatalogueEntry { name: shown.entry.name.clone(), lines: lines(&shown.entry), picture: shown.picture() }
}

/// What stands beside the picture.
fn lines(entry: &Entry) -> Vec<String> {
    let mut lines = Vec::new();
    let mut say = |head: &str, text: &str| {
        if !text.is_empty() {
            lines.push(format!("{head}{text}"));
        }
    };
    say("", entry.field("style"));
    say("material: ", entry.field("material"));
    say("thickness: ", entry.field("thickness"));
    say("size: ", entry.field("size"));
    say("date: ", entry.field("date"));
    say("version: ", entry.field("version"));
    say("supersedes: ", entry.field("supersedes"));
    say("tags: ", &entry.tags.join(", "));
    if let Some(problem) = &entry.problem {
        say("DAMAGED: ", problem);
    }
    let more = entry.pieces.len().saturating_sub(PIECES_MOST);
    let shown = entry.pieces.len() - if more > 1 { more } else { 0 };
    for piece in &entry.pieces[..shown] {
        let (height, width) = (piece.height_mm / 10.0, piece.width_mm / 10.0);
        say("", &format!("{}: {height:.1} x {width:.1} cm, {}", piece.name, piece.quantity));
    }
    if more > 1 {
        say("", &format!("and {more} more pieces"));
    }
    lines
}
