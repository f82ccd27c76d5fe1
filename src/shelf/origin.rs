//! `origin.json`: when a pattern was put on the shelf, and of what, so that nothing is put there twice.

use super::error::ShelfError;
use super::folder::is_absent;
use super::sums;
use serde::{Deserialize, Serialize};
use std::path::Path;

/// Name of the file.
pub(super) const FILE: &str = "origin.json";

/// Version of the file that this program writes, and the newest that it reads.
const FORMAT: u32 = 1;

/// Where a pattern came from.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Origin {
    /// Version of the file.
    pub format: u32,
    /// The day it was put on the shelf, year first.
    pub added: String,
    /// SHA-256 of what it was made of: the photographs with the options of their capture, or a folder's files. Empty
    /// for a version made from another.
    pub source: String,
    /// The photographs.
    pub photographs: Vec<Photograph>,
    /// How the photographs were put together, when nobody said which belong together.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub grouped: Option<String>,
}

/// A photograph that a pattern was traced from.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Photograph {
    /// Name of the file.
    pub name: String,
    /// SHA-256 of its bytes.
    pub sha256: String,
}

impl Origin {
    /// Put on the shelf today.
    #[must_use]
    pub(super) fn today(source: String, photographs: Vec<Photograph>) -> Self {
        Self { format: FORMAT, added: today(), source, photographs, grouped: None }
    }

    /// Of a folder's files with these sums.
    pub(super) fn of_files(list: &sums::Listed) -> Self {
        // The list is in the order of names, so the same files give the same sum.
        let text: String = list.iter().map(|(sum, name)| format!("{sum}  {name}\n")).collect();
        Self::today(sums::of(text.as_bytes()), Vec::new())
    }

    /// What a folder says; `None` for one without the file.
    pub(super) fn read(dir: &Path) -> Result<Option<Self>, ShelfError> {
        let path = dir.join(FILE);
        let bytes = match std::fs::read(&path) {
            Ok(bytes) => bytes,
            Err(error) if is_absent(&error) => return Ok(None),
            Err(error) => return Err(ShelfError::io("read", &path, error)),
        };
        let origin: Self =
            serde_json::from_slice(&bytes).map_err(|error| ShelfError::damaged(&path, &error))?;
        if origin.format > FORMAT {
            return Err(ShelfError::Newer { path, found: origin.format.into(), known: FORMAT.into() });
        }
        Ok(Some(origin))
    }

    /// The text of the file.
    pub(super) fn to_text(&self) -> String {
        serde_json::to_string_pretty(self).unwrap_or_default() + "\n"
    }
}

/// Today where the user is, year first.
#[must_use]
pub fn today() -> String {
    jiff::ZonedDateTime::now().date().to_string()
}
