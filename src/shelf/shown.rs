//! What lists and the catalogue show of a pattern, kept in its folder so that its recipe is not replayed at every look.
//!
//! `.shown` is made from the pattern's files and known by their checksum. One that was made of other files or by another
//! version of the program, or that is not whole, is made anew: it is never the truth, so nothing waits for the disk when
//! it is written, and where it cannot be written all goes on without it.

use super::entry::Entry;
use super::folder::Folder;
use super::new_folder::{REPORT, TRACED};
use super::small_picture;
use super::{origin, recipe_text, sums};
use crate::export::{Shape, catalogue};
use crate::geometry::Drawing;
use crate::pattern::Drafted;
use serde::{Deserialize, Serialize};
use sha2::{Digest, Sha256};
use std::fs;
use std::path::Path;

/// Name of the file.
pub(super) const FILE: &str = ".shown";

/// Version of the file's layout and of what a replay gives: to be raised when the same recipe gives other measures or
/// another picture than before, so that what was kept is made anew. A new version of the program does so by itself.
const FORMAT: u32 = 2;

/// The files that it is made of.
pub(super) const MADE_OF: [&str; 4] = [recipe_text::FILE, TRACED, REPORT, origin::FILE];

/// The first line of the file.
#[derive(Debug, Serialize, Deserialize)]
struct Head {
    format: u32,
    /// Checksum of what it was made of.
    of: String,
    /// Checksum of the lines that follow.
    sum: String,
}

/// What is shown of a pattern.
#[derive(Debug)]
pub(super) struct Shown {
    /// Its entry in lists.
    pub(super) entry: Entry,
    /// The text of its picture.
    picture: String,
}

/// Keeps what is shown of a folder, where that can be written.
pub(super) fn keep(dir: &Path) {
    Shown::of(dir, "");
}

impl Shown {
    /// What was kept in a folder, or what is made and kept there now. Damage becomes the entry's `problem`.
    pub(super) fn of(dir: &Path, name: &str) -> Self {
        let of = made_of(dir);
        let mut shown = Self::kept(dir, &of).unwrap_or_else(|| {
            let (entry, drawing) = made(dir);
            let text = body(&entry, &small_picture::text(&drawing));
            // What changed while it was made is not told which sum it belongs to.
            if entry.problem.is_none() && made_of(dir) == of {
                let head = Head { format: FORMAT, of, sum: sums::of(text.as_bytes()) };
                let head = serde_json::to_string(&head).unwrap_or_default();
                let _ = fs::write(dir.join(FILE), format!("{head}\n{text}"));
            }
            // Read back, so that what is kept and what is made anew are the same to the last digit.
            Self::read(&text).unwrap_or(Self { entry, picture: String::new() })
        });
        name.clone_into(&mut shown.entry.name);
        shown
    }

    /// Its small picture.
    pub(super) fn picture(&self) -> Drawing {
        small_picture::read(&self.picture).unwrap_or_default()
    }

    fn kept(dir: &Path, of: &str) -> Option<Self> {
        let text = fs::read_to_string(dir.join(FILE)).ok()?;
        let (head, text) = text.split_once('\n')?;
        let head: Head = serde_json::from_str(head).ok()?;
        let whole = head.format == FORMAT && head.of == of && head.sum == sums::of(text.as_bytes());
        if whole { Self::read(text) } else { None }
    }

    fn read(text: &str) -> Option<Self> {
        let (entry, picture) = text.split_once('\n')?;
        Some(Self { entry: serde_json::from_str(entry).ok()?, picture: picture.to_owned() })
    }
}

fn body(entry: &Entry, picture: &str) -> String {
    format!("{}\n{picture}\n", serde_json::to_string(entry).unwrap_or_default())
}

/// The checksum of everything that is shown: the program's version, then name, length and bytes of each file.
fn made_of(dir: &Path) -> String {
    let mut sum = Sha256::new_with_prefix(env!("CARGO_PKG_VERSION"));
    for name in MADE_OF {
        let bytes = fs::read(dir.join(name)).ok();
        let length = bytes.as_ref().map_or_else(|| "-".to_owned(), |bytes| bytes.len().to_string());
        sum.update(format!("\n{name} {length}\n"));
        sum.update(bytes.unwrap_or_default());
    }
    sums::hexadecimal(&sum.finalize())
}

/// The entry and the picture of a folder, its recipe replayed.
fn made(dir: &Path) -> (Entry, Drawing) {
    let folder = match Folder::open(dir) {
        Ok(folder) => folder,
        Err(error) => {
            return (Entry { problem: Some(error.to_string()), ..Entry::default() }, Drawing::default());
        }
    };
    let drafted = folder.replay().map(|(_, drafted)| drafted);
    let picture = picture(&folder, drafted.as_ref().ok());
    (Entry::of(dir, &folder, &drafted), picture)
}

/// The small picture of a pattern: its drafted pieces, or the corrected outline where nothing is folded.
fn picture(folder: &Folder, drafted: Option<&Drafted>) -> Drawing {
    let shapes = match drafted {
        Some(drafted) => drafted.pieces.iter().map(Shape::of_piece).collect::<Result<Vec<_>, _>>(),
        None => Shape::of_rings(&folder.file.record.piece, &folder.rings()).map(|shape| vec![shape]),
    };
    shapes.map(|shapes| catalogue::picture(&shapes)).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Item;

    /// Measures and amount of drawing of both samples as this [`FORMAT`] has them: our own output, for regression only.
    const THIS_FORMAT: [&str; 2] = [
        "864.0x666.3 301.7x253.3 739.5x44.2 200.0x180.0 60.0x183.0 160.0x151.0 120.0x121.1 120.0x60.0 340.2x673.0 \
         620.0x28.0 950.0x28.0 84.5x28.0 60.0x60.0 2503",
        "834.0x634.0 609.6x25.4 84.7x25.4 60.0x60.0 2395",
    ];

    /// Whoever changes what a replay gives raises [`FORMAT`] and writes the new figures here, so that nothing that was kept
    /// before is shown any more.
    #[test]
    fn what_a_replay_gives_is_that_of_this_format() {
        let samples = ["canvas_pattern", "leather_pattern"].map(|name| {
            let (entry, drawing) = made(&Path::new(env!("CARGO_MANIFEST_DIR")).join("testdata").join(name));
            let path =
                |item: &Item| if let Item::Path { path, .. } = item { path.elements().len() } else { 0 };
            let parts: usize = drawing.items.iter().map(path).sum();
            let pieces = entry.pieces.iter().map(|p| format!("{:.1}x{:.1}", p.height_mm, p.width_mm));
            format!("{} {parts}", pieces.collect::<Vec<_>>().join(" "))
        });
        assert_eq!(samples, THIS_FORMAT, "raise FORMAT");
    }
}
