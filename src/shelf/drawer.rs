//! What a folder of photographs holds: folders, each of one garment, and loose photographs in the order in which they were
//! taken.

use super::error::ShelfError;
use super::folder::is_absent;
use crate::capture;
use std::fs;
use std::io::Read;
use std::path::{Path, PathBuf};

/// Ends of names of photographs.
const ENDS: [&str; 10] = ["jpg", "jpeg", "png", "tif", "tiff", "webp", "heic", "heif", "bmp", "gif"];
/// The notes of a photograph stand in so many first bytes: EXIF has at most 64 KB, and may stand behind other notes.
const NOTES_BYTES: u64 = 300_000;

/// Photographs of one garment in a folder of their own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// What it is called: its folder.
    pub name: String,
    /// The photographs, by name.
    pub photographs: Vec<PathBuf>,
}

/// A loose photograph.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Loose {
    /// Its file.
    pub path: PathBuf,
    /// Seconds at which it was taken, from any beginning; `None` where the camera does not say.
    pub taken_s: Option<i64>,
}

/// A folder of photographs.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Drawer {
    /// Its folders with photographs in them, by name: each is one garment.
    pub folders: Vec<Group>,
    /// The photographs beside them, as they were taken; by name where one of them does not say when.
    pub loose: Vec<Loose>,
}

impl Drawer {
    /// Looks through a folder; nothing of a photograph but its notes is read.
    ///
    /// # Errors
    /// The system refused.
    pub fn open(dir: &Path) -> Result<Self, ShelfError> {
        let mut out = Self::default();
        for path in listed(dir)? {
            if path.is_dir() {
                let photographs: Vec<PathBuf> =
                    listed(&path)?.into_iter().filter(|p| is_photograph(p)).collect();
                if !photographs.is_empty() {
                    out.folders.push(Group { name: name_of(path.file_name()), photographs });
                }
            } else if is_photograph(&path) {
                let taken_s = taken_s(&path);
                out.loose.push(Loose { path, taken_s });
            }
        }
        if out.loose.iter().all(|l| l.taken_s.is_some()) {
            out.loose.sort_by_key(|l| l.taken_s);
        }
        Ok(out)
    }

    /// How many photographs there are.
    #[must_use]
    pub fn photographs(&self) -> usize {
        self.loose.len() + self.folders.iter().map(|group| group.photographs.len()).sum::<usize>()
    }
}

fn taken_s(path: &Path) -> Option<i64> {
    let mut bytes = Vec::new();
    fs::File::open(path).ok()?.take(NOTES_BYTES).read_to_end(&mut bytes).ok()?;
    let text = capture::taken_at(&bytes)?;
    let at = jiff::civil::DateTime::strptime("%Y:%m:%d %H:%M:%S", text.trim_end_matches('\0').trim()).ok()?;
    Some(jiff::tz::Offset::UTC.to_timestamp(at).ok()?.as_second())
}

/// What a folder holds, by name, hidden things left out.
fn listed(dir: &Path) -> Result<Vec<PathBuf>, ShelfError> {
    let entries = fs::read_dir(dir).map_err(|e| {
        if is_absent(&e) { ShelfError::NotAFolder(dir.to_owned()) } else { ShelfError::io("read", dir, e) }
    })?;
    let mut out: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
    out.retain(|path| !name_of(path.file_name()).starts_with('.'));
    out.sort();
    Ok(out)
}

fn is_photograph(path: &Path) -> bool {
    let end = name_of(path.extension()).to_lowercase();
    path.is_file() && ENDS.contains(&end.as_str())
}

pub(super) fn name_of(part: Option<&std::ffi::OsStr>) -> String {
    part.map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
}
