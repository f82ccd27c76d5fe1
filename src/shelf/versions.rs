//! Versions: a pattern made again beside the old one, and two laid over each other.

use super::error::ShelfError;
use super::folder::Folder;
use super::making;
use super::origin::{self, Origin};
use super::store::{Shelf, complete, names};
use super::sums;
use crate::export::overlay::{self, Overlay};
use crate::export::{Shape, png};
use crate::pattern::{Measures, Piece};
use serde::Serialize;

/// Pixels to a millimetre of an overlay: half a millimetre of difference is still a pixel.
const DOTS_PER_MM: f64 = 2.0;
/// Lengths that differ by less are the same, millimetres: below what anybody can cut.
const SAME_MM: f64 = 0.05;

/// Two versions laid over each other.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// The overlay (PNG): the first in blue dashes, the second in black.
    pub picture: Vec<u8>,
    /// What differs, by piece and measure, in the order of pieces.
    pub differences: Vec<Difference>,
}

/// One thing that differs. Lengths in millimetres, areas in mm², words as they stand.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Difference {
    /// The piece, `record` or `steps`.
    pub of: String,
    /// Which measure, edge or field.
    pub what: String,
    /// In the first; empty where it has none.
    pub first: String,
    /// In the second.
    pub second: String,
    /// The second less the first, for numbers.
    pub change: Option<f64>,
}

impl Shelf {
    /// Copies a pattern as its next version, which supersedes it, with some fields of its record set. The old one stays
    /// as it is. Gives the new name.
    ///
    /// # Errors
    /// [`ShelfError::Unknown`]; the old one must read; the system refused.
    pub fn new_version(&self, name: &str, fields: &[(&str, &str)]) -> Result<String, ShelfError> {
        let from = self.folder_of(name)?;
        let making = self.make()?;
        let folder = Folder::open(&from)?;
        let files: Vec<String> = sums::files(&from)?
            .into_iter()
            .filter(|file| file != origin::FILE && file != sums::FILE)
            .collect();
        making::copy(&from, &making.dir, &files)?;
        // The photographs stay those of the first; a version made by hand has no source of its own.
        let photographs = Origin::read(&from)?.map(|old| old.photographs).unwrap_or_default();
        let origin = Origin::today(String::new(), photographs);
        let _held = self.hold()?;
        let base = base_name(name);
        let number = self.next_number(base, &folder.file.record.version)?;
        let version = number.to_string();
        let mut all =
            vec![("version", version.as_str()), ("supersedes", name), ("date", origin.added.as_str())];
        all.extend_from_slice(fields);
        complete(&making.dir, &origin, &all)?;
        self.place(making, &format!("{base}-v{number}"))
    }

    /// The number after the highest that any version of this pattern has.
    fn next_number(&self, base: &str, version: &str) -> Result<u32, ShelfError> {
        let of_name = |name: &String| name.strip_prefix(base)?.strip_prefix("-v")?.parse::<u32>().ok();
        let highest = names(self.dir())?.iter().filter_map(of_name).max().unwrap_or(1);
        Ok(highest.max(version.trim().parse().unwrap_or(1)) + 1)
    }

    /// Lays two patterns over each other at the tops of their folds and lists what differs. The picture has the pieces that
    /// differ, or all where none does.
    ///
    /// # Errors
    /// [`ShelfError::Unknown`]; both must read and be drafted.
    pub fn compare(&self, first: &str, second: &str) -> Result<Comparison, ShelfError> {
        let drafted = |name: &str| {
            let folder = self.pattern(name)?;
            match folder.replay() {
                Ok((_, drafted)) => Ok((folder, drafted.pieces)),
                Err(error) => Err(ShelfError::Compare { name: name.to_owned(), problem: error.to_string() }),
            }
        };
        let (first_folder, a) = drafted(first)?;
        let (second_folder, b) = drafted(second)?;
        let mut differences = records(&first_folder, &second_folder);
        let steps = [&first_folder, &second_folder].map(|folder| folder.file.recipe.steps.len());
        if first_folder.file.recipe.steps != second_folder.file.recipe.steps {
            differences.push(words("steps", "number of steps", &steps[0].to_string(), &steps[1].to_string()));
        }
        let mut overlays = Vec::new();
        let twin =
            |piece: &Piece, of: &[Piece]| of.iter().find(|p| p.record.piece == piece.record.piece).cloned();
        for piece in &a {
            let other = twin(piece, &b);
            match &other {
                Some(other) => differences.extend(measures(piece, other)),
                None => differences.push(words(&piece.record.piece, "piece", "there", "")),
            }
            let shape = other.as_ref().map(Shape::of_piece).transpose()?;
            overlays.push(Overlay {
                name: piece.record.piece.clone(),
                first: Some(Shape::of_piece(piece)?),
                second: shape,
            });
        }
        for piece in b.iter().filter(|piece| twin(piece, &a).is_none()) {
            differences.push(words(&piece.record.piece, "piece", "", "there"));
            let name = piece.record.piece.clone();
            overlays.push(Overlay { name, first: None, second: Some(Shape::of_piece(piece)?) });
        }
        // Pieces that are the same in both would only make the others small.
        if overlays.iter().any(differs) {
            overlays.retain(differs);
        }
        let picture = png::write(&overlay::draw(&overlays, first, second), DOTS_PER_MM)?;
        Ok(Comparison { picture, differences })
    }
}

fn differs(piece: &Overlay) -> bool {
    let lines = |shape: &Shape| (shape.outer.clone(), shape.holes.clone());
    piece.first.as_ref().map(lines) != piece.second.as_ref().map(lines)
}

/// The name without a version at its end.
fn base_name(name: &str) -> &str {
    match name.rsplit_once("-v") {
        Some((base, number)) if !base.is_empty() && number.parse::<u32>().is_ok() => base,
        _ => name,
    }
}

fn words(of: &str, what: &str, first: &str, second: &str) -> Difference {
    Difference {
        of: of.to_owned(),
        what: what.to_owned(),
        first: first.to_owned(),
        second: second.to_owned(),
        change: None,
    }
}

fn number(of: &str, what: &str, a: f64, b: f64, unit: &str) -> Difference {
    Difference {
        change: Some(b - a),
        ..words(of, what, &format!("{a:.1} {unit}"), &format!("{b:.1} {unit}"))
    }
}

fn records(a: &Folder, b: &Folder) -> Vec<Difference> {
    let (a, b) = (a.file.record.entries(), b.file.record.entries());
    let pairs = a.iter().zip(&b).filter(|(x, y)| x.1 != y.1);
    pairs.map(|(x, y)| words("record", x.0, &x.1, &y.1)).collect()
}

/// Sizes and edges of one piece that differ. Edges are known by the letters of their ends.
fn measures(a: &Piece, b: &Piece) -> Vec<Difference> {
    let of = &a.record.piece;
    let list = |m: Measures| {
        [
            ("height", m.height_mm, "mm"),
            ("width", m.width_mm, "mm"),
            ("round", m.perimeter_mm, "mm"),
            ("area", m.area_mm2 / 100.0, "cm²"),
        ]
    };
    let mut out: Vec<Difference> = list(a.measures())
        .iter()
        .zip(list(b.measures()))
        .filter(|(x, y)| (x.1 - y.1).abs() > SAME_MM)
        .map(|(x, y)| number(of, x.0, x.1, y.1, x.2))
        .collect();
    let edges = |piece: &Piece| -> Vec<(String, f64)> {
        let edges = piece.outline.edges();
        (0..edges.len()).map(|k| (piece.outline.spoken(k), edges[k].length_mm())).collect()
    };
    let (a, b) = (edges(a), edges(b));
    for (edge, length) in &a {
        match b.iter().find(|(other, _)| other == edge) {
            Some((_, other)) if (other - length).abs() > SAME_MM => {
                out.push(number(of, edge, *length, *other, "mm"));
            }
            Some(_) => {}
            None => out.push(words(of, edge, &format!("{length:.1} mm"), "")),
        }
    }
    let new = b.iter().filter(|(edge, _)| !a.iter().any(|(other, _)| other == edge));
    out.extend(new.map(|(edge, length)| words(of, edge, "", &format!("{length:.1} mm"))));
    out
}
