//! What the page was opened on: one pattern folder, or a folder of pattern folders.

use super::refusal::Refusal;
use crate::export::svg;
use crate::geometry::{Drawing, Item, Layer, Line, Paint, Ring};
use crate::shelf::{Folder, ShelfError};
use serde_json::{Value, json};
use std::fs;
use std::path::{Path, PathBuf};

/// Folders looked at, at most: more is no shelf of patterns.
const MOST_PATTERNS: usize = 2000;
/// Longest name of a new folder, letters.
const NAME_MOST: usize = 60;

/// The patterns that the page may open. A pattern is known by its number here, which no request can turn into a path.
#[derive(Debug)]
pub(super) struct Home {
    root: PathBuf,
    /// The root is itself a pattern.
    single: bool,
    known: Vec<PathBuf>,
}

impl Home {
    /// A pattern folder, or a folder that holds some or will.
    pub(super) fn open(root: &Path) -> Result<Self, ShelfError> {
        match Folder::open(root) {
            Ok(_) => Ok(Self { root: root.to_owned(), single: true, known: vec![root.to_owned()] }),
            Err(ShelfError::NoPattern(_)) if root.is_dir() => {
                Ok(Self { root: root.to_owned(), single: false, known: Vec::new() })
            }
            Err(error) => Err(error),
        }
    }

    /// Folders that hold a pattern, by name.
    fn refresh(&mut self) {
        if self.single {
            return;
        }
        let Ok(entries) = fs::read_dir(&self.root) else { return };
        let mut found: Vec<PathBuf> = entries
            .filter_map(Result::ok)
            .filter(|e| !e.file_name().to_string_lossy().starts_with('.'))
            .map(|e| e.path())
            .filter(|p| p.join("pattern.toml").is_file())
            .take(MOST_PATTERNS)
            .collect();
        found.sort();
        for path in found {
            if !self.known.contains(&path) {
                self.known.push(path);
            }
        }
    }

    /// The folder of a pattern by its number.
    pub(super) fn folder(&mut self, number: usize) -> Result<&Path, Refusal> {
        if number >= self.known.len() {
            self.refresh();
        }
        let path = self.known.get(number).map(PathBuf::as_path);
        path.ok_or_else(|| Refusal::nothing_there("there is no such pattern; go back to the shelf"))
    }

    /// Its number, once it is known.
    pub(super) fn number_of(&mut self, path: &Path) -> Option<usize> {
        self.refresh();
        self.known.iter().position(|p| p == path)
    }

    /// The patterns whose record has all the words, each with what a person knows it by.
    pub(super) fn list(&mut self, words: &str) -> Value {
        self.refresh();
        let words: Vec<String> = words.split_whitespace().map(str::to_lowercase).collect();
        let one = |(number, path): (usize, &PathBuf)| {
            let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
            let folder = match Folder::open(path) {
                Ok(folder) => folder,
                Err(ShelfError::NoPattern(_)) => return None,
                Err(error) => {
                    return Some(json!({ "id": number, "title": name, "problem": error.to_string() }));
                }
            };
            let record = &folder.file.record;
            let all = record.entries().map(|(_, text)| text).join(" ") + " " + &name;
            let all = all.to_lowercase();
            words.iter().all(|w| all.contains(w)).then(|| {
                json!({
                    "id": number,
                    "title": if record.style.is_empty() { &name } else { &record.style },
                    "folder": name,
                    "material": record.material,
                    "date": record.date,
                    "steps": folder.file.recipe.steps.len(),
                })
            })
        };
        let patterns: Vec<Value> = self.known.iter().enumerate().filter_map(one).collect();
        json!({ "single": self.single, "patterns": patterns })
    }

    /// A folder for a new pattern, named after what the person called it; it is not there yet.
    pub(super) fn place_for(&self, name: &str) -> Result<PathBuf, Refusal> {
        if self.single {
            return Err(Refusal::cannot(
                "this page was opened on one pattern; open it on a folder of patterns to photograph a new one: onfold open FOLDER",
            ));
        }
        let plain = plain(name);
        let base = if plain.is_empty() { "pattern".to_owned() } else { plain };
        let numbered = (2..).map(|n| format!("{base}-{n}"));
        let mut names = std::iter::once(base.clone()).chain(numbered);
        let free = names.find(|n| !self.root.join(n).exists()).unwrap_or(base);
        Ok(self.root.join(free))
    }
}

/// Letters, figures and single hyphens of a name; nothing that a path could be made of.
fn plain(name: &str) -> String {
    let mut out = String::new();
    for c in name.to_lowercase().chars().take(NAME_MOST) {
        if c.is_ascii_alphanumeric() {
            out.push(c);
        } else if !out.is_empty() && !out.ends_with('-') {
            out.push('-');
        }
    }
    out.trim_end_matches('-').to_owned()
}

/// The corrected outline as a small picture, holes left open.
pub(super) fn picture(folder: &Folder) -> String {
    /// White round it, millimetres.
    const MARGIN_MM: f64 = 20.0;
    let rings = folder.rings();
    let bounds = rings[0].bounds().inflate(MARGIN_MM, MARGIN_MM);
    let shift = crate::geometry::Affine::translate(-bounds.origin().to_vec2());
    let line = Line { width_mm: 4.0, dashes_mm: Vec::new(), paint: Paint::BLACK };
    let cloth = Paint { r: 0.93, g: 0.88, b: 0.78 };
    let item = |(k, ring): (usize, &Ring)| Item::Path {
        layer: Layer::Finished,
        name: String::new(),
        path: ring.transformed(shift).path(),
        line: Some(line.clone()),
        fill: Some(if k == 0 { cloth } else { Paint::WHITE }),
    };
    let items = rings.iter().enumerate().map(item).collect();
    svg::write("outline", &Drawing { width_mm: bounds.width(), height_mm: bounds.height(), items })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_hold_no_paths() {
        for (name, folder) in [
            ("Potter's apron", "potter-s-apron"),
            ("../../etc/passwd", "etc-passwd"),
            ("C:\\temp\\x", "c-temp-x"),
            ("..", ""),
            ("-- a --", "a"),
        ] {
            assert_eq!(plain(name), folder);
        }
    }
}
