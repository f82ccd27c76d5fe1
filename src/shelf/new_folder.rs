//! A new pattern folder: made beside its place, then moved there in one stroke.

use super::error::ShelfError;
use super::recipe_text::{self, PatternFile};
use super::shown;
use crate::capture::{Captured, CapturedRing};
use crate::pattern::{Traced, TracedRing};
use std::fs::{self, File};
use std::io::Write;
use std::path::{Path, PathBuf};

/// Name of the traced rings.
pub(super) const TRACED: &str = "traced.json";
/// Name of the capture's full report.
pub(super) const REPORT: &str = "capture.json";
/// Name of the outline after the last step.
pub(super) const DRAFTED: &str = "drafted.json";
/// Name of the folder of pictures.
pub(super) const PICTURES: &str = "pictures";

/// What a capture hands over to be kept.
#[derive(Debug, Clone, PartialEq)]
pub struct NewPattern {
    /// The traced piece.
    pub traced: Traced,
    /// The record, the half to keep, names and steps to begin with.
    pub file: PatternFile,
    /// How the photograph was measured, a few lines for a person: name and text.
    pub facts: Vec<(String, String)>,
    /// The full report, for scripts.
    pub report: serde_json::Value,
    /// Pictures.
    pub pictures: Vec<Picture>,
}

impl NewPattern {
    /// What a capture of these photographs gives, with the record and recipe to begin with.
    #[must_use]
    pub fn of_captured(captured: &Captured, file: PatternFile, photographs: &[String]) -> Self {
        let ring = |r: &CapturedRing| TracedRing { fitted: r.fitted.clone(), trace: r.trace.clone() };
        let r = &captured.report;
        let facts = [
            ("photographs", photographs.join(", ")),
            ("checked_block", format!("{:.1} x {:.1} mm", r.block_mm[0], r.block_mm[1])),
            ("scale", if r.scale_checked { "checked with a ruler" } else { "not checked" }.to_owned()),
            ("height_by_width", format!("{:.1} x {:.1} mm", r.height_mm, r.width_mm)),
            (
                "accuracy",
                format!(
                    "{:.2} mm typical, {:.2} mm worst",
                    r.outline_accuracy_median_mm, r.outline_accuracy_worst_mm
                ),
            ),
        ];
        let picture =
            |p: &crate::capture::CapturePicture| Picture { name: p.name.clone(), bytes: p.bytes.clone() };
        Self {
            traced: Traced { outer: ring(&captured.outer), holes: captured.holes.iter().map(ring).collect() },
            file,
            facts: facts.into_iter().map(|(k, v)| (k.to_owned(), v)).collect(),
            // Numbers, lists and words only: nothing that could fail to be written.
            report: serde_json::to_value(&captured.report).unwrap_or_default(),
            pictures: captured.pictures.iter().map(picture).collect(),
        }
    }
}

/// A picture file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// Its name: `outline.png`.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// Makes the folder. Either all of it is there afterwards or nothing has changed: it is written under another name
/// beside its place and then moved. With `replace`, a pattern that is there is moved aside first, brought back if
/// anything fails, and removed only in the end; files in it that are not this program's are kept.
///
/// # Errors
/// [`ShelfError`]: the place is taken, is no folder, holds other files; the disk is full; the system refused.
pub fn create(dir: &Path, pattern: &NewPattern, replace: bool) -> Result<(), ShelfError> {
    let old = occupant(dir)?;
    match old {
        Occupant::Pattern if !replace => return Err(ShelfError::Taken(dir.to_owned())),
        Occupant::OtherFiles => return Err(ShelfError::NotEmpty(dir.to_owned())),
        Occupant::Pattern | Occupant::Empty | Occupant::Nothing => {}
    }
    let place = place_of(dir)?;
    let making = Aside::new(&place, "new")?;
    fs::create_dir(&making.path).map_err(|e| ShelfError::writing(&making.path, 0, e))?;
    write_all(&making.path, pattern)?;
    // A shelf that takes the folder in need not replay it.
    shown::keep(&making.path);
    let moved = |from: &Path, to: &Path| fs::rename(from, to).map_err(|e| ShelfError::io("moved", from, e));
    match old {
        Occupant::Nothing => moved(&making.path, &place),
        Occupant::Empty => {
            fs::remove_dir(&place).map_err(|e| ShelfError::io("replaced", &place, e))?;
            moved(&making.path, &place)
        }
        Occupant::Pattern | Occupant::OtherFiles => {
            let aside = Aside::new(&place, "old")?;
            let aside_path = aside.path.clone();
            moved(&place, &aside_path)?;
            if let Err(error) = moved(&making.path, &place) {
                // Bring the old one back; it must not be swept away with the rest.
                std::mem::forget(aside);
                moved(&aside_path, &place)?;
                return Err(error);
            }
            let kept = keep_foreign_files(&aside_path, &place);
            if kept.is_err() {
                // What could not be carried over stays in the old folder, which the message names.
                std::mem::forget(aside);
            }
            kept
        }
    }
}

/// What stands at the place.
enum Occupant {
    Nothing,
    Empty,
    Pattern,
    OtherFiles,
}

fn occupant(dir: &Path) -> Result<Occupant, ShelfError> {
    if !dir.exists() {
        return Ok(Occupant::Nothing);
    }
    if !dir.is_dir() {
        return Err(ShelfError::NotAFolder(dir.to_owned()));
    }
    if dir.join(recipe_text::FILE).exists() {
        return Ok(Occupant::Pattern);
    }
    let mut entries = fs::read_dir(dir).map_err(|e| ShelfError::io("read", dir, e))?;
    Ok(if entries.next().is_none() { Occupant::Empty } else { Occupant::OtherFiles })
}

/// The folder's full path, its parents made.
fn place_of(dir: &Path) -> Result<PathBuf, ShelfError> {
    if dir.exists() {
        return dir.canonicalize().map_err(|e| ShelfError::io("read", dir, e));
    }
    let parent = dir.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    fs::create_dir_all(parent).map_err(|e| ShelfError::writing(parent, 0, e))?;
    let parent = parent.canonicalize().map_err(|e| ShelfError::io("read", parent, e))?;
    let name = dir.file_name().ok_or_else(|| ShelfError::NotAFolder(dir.to_owned()))?;
    Ok(parent.join(name))
}

/// A folder beside the place that is swept away when it is no longer needed.
struct Aside {
    path: PathBuf,
}

impl Aside {
    fn new(place: &Path, why: &str) -> Result<Self, ShelfError> {
        let name = place.file_name().ok_or_else(|| ShelfError::NotAFolder(place.to_owned()))?;
        let aside = format!(".{}.{why}-{}", name.to_string_lossy(), std::process::id());
        let path = place.with_file_name(aside);
        if path.exists() {
            // Left behind by a run of the same number that was cut off.
            fs::remove_dir_all(&path).map_err(|e| ShelfError::io("removed", &path, e))?;
        }
        Ok(Self { path })
    }
}

impl Drop for Aside {
    fn drop(&mut self) {
        // Nothing can be done about a refusal here; what is left over has a hidden name and says whose it is.
        let _ = fs::remove_dir_all(&self.path);
    }
}

pub(super) fn write_all(dir: &Path, pattern: &NewPattern) -> Result<(), ShelfError> {
    let report = format!("{:#}\n", pattern.report);
    write(&dir.join(recipe_text::FILE), pattern.file.to_text(&pattern.facts).as_bytes())?;
    write(&dir.join(TRACED), pattern.traced.to_text().as_bytes())?;
    write(&dir.join(REPORT), report.as_bytes())?;
    if !pattern.pictures.is_empty() {
        let pictures = dir.join(PICTURES);
        fs::create_dir(&pictures).map_err(|e| ShelfError::writing(&pictures, 0, e))?;
        for picture in &pattern.pictures {
            write(&pictures.join(&picture.name), &picture.bytes)?;
        }
    }
    Ok(())
}

/// Writes and waits until the disk has it, so that a full disk is met before the move and not after it.
pub(super) fn write(path: &Path, bytes: &[u8]) -> Result<(), ShelfError> {
    let put = || {
        let mut file = File::create(path)?;
        file.write_all(bytes)?;
        file.sync_all()
    };
    put().map_err(|e| ShelfError::writing(path, bytes.len(), e))
}

/// Carries files that are not this program's from a replaced folder into the new one.
fn keep_foreign_files(old: &Path, new: &Path) -> Result<(), ShelfError> {
    let own = [recipe_text::FILE, TRACED, REPORT, DRAFTED, PICTURES, shown::FILE];
    for entry in fs::read_dir(old).map_err(|e| ShelfError::io("read", old, e))? {
        let entry = entry.map_err(|e| ShelfError::io("read", old, e))?;
        let name = entry.file_name();
        if !own.iter().any(|o| name == *o) {
            fs::rename(entry.path(), new.join(&name))
                .map_err(|e| ShelfError::io("moved", &entry.path(), e))?;
        }
    }
    Ok(())
}
