//! The printed catalogue of a shelf.

use super::entry::Entry;
use super::error::ShelfError;
use super::query::Query;
use super::store::{Shelf, shapes};
use crate::export::catalogue::{Catalogue, CatalogueEntry};
use rayon::prelude::*;

/// Patterns read at one time: enough for all cores, few enough that memory does not grow with the shelf.
const AT_ONCE: usize = 64;

/// Pieces told of one pattern: its box has room for so many below its record.
const PIECES_MOST: usize = 6;

impl Shelf {
    /// Fills an empty catalogue with the patterns that a query asks for, by name, and gives its PDF. A damaged one is in it with what is wrong.
    ///
    /// # Errors
    /// [`ShelfError::Export`] when nothing is found; the system refused.
    pub fn catalogue(&self, query: &Query, mut catalogue: Catalogue) -> Result<Vec<u8>, ShelfError> {
        let entries = self.search(query)?;
        for some in entries.chunks(AT_ONCE) {
            let set: Vec<CatalogueEntry> = some.par_iter().map(|entry| self.catalogued(entry)).collect();
            for entry in &set {
                catalogue.push(entry);
            }
        }
        Ok(catalogue.into_pdf()?)
    }

    fn catalogued(&self, entry: &Entry) -> CatalogueEntry {
        let shapes = self.pattern(&entry.name).and_then(|folder| shapes(&folder));
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
        CatalogueEntry { name: entry.name.clone(), lines, shapes: shapes.unwrap_or_default() }
    }
}
