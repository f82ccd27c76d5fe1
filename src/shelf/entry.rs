//! What a shelf knows of one pattern: enough to list, find and show it without opening its folder again.

use super::error::ShelfError;
use super::folder::{Folder, is_absent};
use super::new_folder::REPORT;
use super::origin::Origin;
use crate::pattern::{Drafted, Piece, Record};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::path::Path;

/// A pattern on a shelf. What is damaged has a `problem` and may lack the rest.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Entry {
    /// The name of its folder, by which it is asked for.
    pub name: String,
    /// The record's fields by their names ([`Record::KEYS`]); lengths as written.
    pub record: BTreeMap<String, String>,
    /// Words to find it by.
    pub tags: Vec<String>,
    /// Its pieces after the last step; the corrected outline alone where it has no fold.
    pub pieces: Vec<PieceEntry>,
    /// Number of steps in the recipe.
    pub steps: usize,
    /// The typical standard deviation of the traced outline, millimetres, as its capture told.
    pub accuracy_median_mm: Option<f64>,
    /// The largest, millimetres.
    pub accuracy_worst_mm: Option<f64>,
    /// Length of outline where no edge was to be seen, millimetres.
    pub bridged_mm: Option<f64>,
    /// What the capture advised, a line each.
    pub advice: Vec<String>,
    /// When and of what it was put on the shelf.
    pub origin: Option<Origin>,
    /// Why there are no drafted pieces: the outline has no fold, or a step cannot be done.
    pub note: Option<String>,
    /// What is damaged, and where.
    pub problem: Option<String>,
}

/// A piece in a list.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct PieceEntry {
    /// Its name.
    pub name: String,
    /// How many to cut, and how.
    pub quantity: String,
    /// Height of the whole finished piece, millimetres.
    pub height_mm: f64,
    /// Width of the whole finished piece, millimetres.
    pub width_mm: f64,
    /// Its area, mm².
    pub area_mm2: f64,
}

impl PieceEntry {
    fn of(piece: &Piece) -> Self {
        let measures = piece.measures();
        Self {
            name: piece.record.piece.clone(),
            quantity: piece.record.quantity.clone(),
            height_mm: measures.height_mm,
            width_mm: measures.width_mm,
            area_mm2: measures.area_mm2,
        }
    }
}

impl Entry {
    /// The entry of a pattern folder that was read and replayed, without its name. A report or an origin that does not
    /// read becomes its `problem`.
    #[must_use]
    pub(super) fn of(dir: &Path, folder: &Folder, drafted: &Result<Drafted, ShelfError>) -> Self {
        let record = &folder.file.record;
        let mut entry = Self {
            record: record.entries().map(|(key, text)| (key.to_owned(), text)).into(),
            tags: tags(record),
            steps: folder.file.recipe.steps.len(),
            ..Self::default()
        };
        match drafted {
            Ok(drafted) => entry.pieces = drafted.pieces.iter().map(PieceEntry::of).collect(),
            Err(error) => {
                entry.note = Some(error.to_string());
                entry.pieces = vec![unfolded(folder)];
            }
        }
        entry.tell(dir);
        entry
    }

    /// What the capture's report and the origin tell.
    fn tell(&mut self, dir: &Path) {
        match report(dir) {
            Ok(report) => {
                let number = |key: &str| report.get(key).and_then(serde_json::Value::as_f64);
                self.accuracy_median_mm = number("outline_accuracy_median_mm");
                self.accuracy_worst_mm = number("outline_accuracy_worst_mm");
                self.bridged_mm = number("bridged_mm");
                let advice = report.get("advice").and_then(serde_json::Value::as_array);
                let words = |list: &Vec<serde_json::Value>| {
                    list.iter().filter_map(|line| line.as_str().map(str::to_owned)).collect()
                };
                self.advice = advice.map(words).unwrap_or_default();
            }
            Err(error) => self.problem = Some(error.to_string()),
        }
        match Origin::read(dir) {
            Ok(origin) => self.origin = origin,
            Err(error) => self.problem = Some(error.to_string()),
        }
    }

    /// One field of the record; empty for none.
    #[must_use]
    pub fn field(&self, key: &str) -> &str {
        self.record.get(key).map_or("", String::as_str)
    }

    /// Everything a person may look for, in small letters.
    pub(super) fn words(&self) -> String {
        let pieces = self.pieces.iter().map(|piece| piece.name.as_str());
        let photographs = self.origin.iter().flat_map(|o| o.photographs.iter().map(|p| p.name.as_str()));
        let all: Vec<&str> = std::iter::once(self.name.as_str())
            .chain(self.record.values().map(String::as_str))
            .chain(pieces)
            .chain(photographs)
            .collect();
        all.join("\n").to_lowercase()
    }
}

/// The whole corrected outline, for a pattern that is not folded.
fn unfolded(folder: &Folder) -> PieceEntry {
    let rings = folder.rings();
    let holes: f64 = rings[1..].iter().map(|hole| hole.area_mm2().abs()).sum();
    let bounds = rings[0].bounds();
    PieceEntry {
        name: folder.file.record.piece.clone(),
        quantity: folder.file.record.quantity.clone(),
        height_mm: bounds.height(),
        width_mm: bounds.width(),
        area_mm2: rings[0].area_mm2().abs() - holes,
    }
}

/// The tags of a record, without blanks round them.
fn tags(record: &Record) -> Vec<String> {
    record.tags.split(',').map(|tag| tag.trim().to_owned()).filter(|tag| !tag.is_empty()).collect()
}

/// The capture's report; nothing for a pattern that was not captured.
fn report(dir: &Path) -> Result<serde_json::Value, ShelfError> {
    let path = dir.join(REPORT);
    match std::fs::read(&path) {
        Ok(bytes) => serde_json::from_slice(&bytes).map_err(|error| ShelfError::damaged(&path, &error)),
        Err(error) if is_absent(&error) => Ok(serde_json::Value::Null),
        Err(error) => Err(ShelfError::io("read", &path, error)),
    }
}
