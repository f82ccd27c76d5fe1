//! Every file of every pattern against its checksum.

use super::error::ShelfError;
use super::folder::Folder;
use super::store::{Shelf, names};
use super::{lock, sums};
use rayon::prelude::*;
use serde::Serialize;

/// What was found of one pattern.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Verified {
    /// Its name on the shelf.
    pub name: String,
    /// Files with the sum they had when they were written.
    pub whole: usize,
    /// What is not as it was written, a file each.
    pub faults: Vec<Fault>,
}

/// One file that is not as it was written.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Fault {
    /// Its name in the pattern's folder.
    pub file: String,
    /// What is wrong.
    pub what: FaultKind,
}

/// What is wrong with a file.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FaultKind {
    /// Its bytes are others.
    Changed,
    /// It is gone.
    Missing,
    /// The system does not give it.
    Unreadable,
    /// It stands in no list of sums: put there by hand.
    Unlisted,
    /// The list of sums itself does not read.
    NoSums,
}

impl FaultKind {
    /// Whether the file is not to be relied on. One that somebody put beside the others harms nothing.
    #[must_use]
    pub fn is_damage(self) -> bool {
        self != Self::Unlisted
    }
}

impl Verified {
    /// Whether any file is not to be relied on.
    #[must_use]
    pub fn is_damaged(&self) -> bool {
        self.faults.iter().any(|fault| fault.what.is_damage())
    }
}

impl Shelf {
    /// Reads every file of these patterns (of all, when none is named) and compares it with its checksum.
    ///
    /// # Errors
    /// [`ShelfError::Unknown`]; what is damaged is no error but found.
    pub fn verify(&self, wanted: &[String]) -> Result<Vec<Verified>, ShelfError> {
        for name in wanted {
            self.folder_of(name)?;
        }
        let all = if wanted.is_empty() { names(self.dir())? } else { wanted.to_vec() };
        Ok(all.par_iter().map(|name| self.verified(name)).collect())
    }

    /// Takes a pattern's files as they are now for the right ones, after somebody changed them by hand.
    ///
    /// # Errors
    /// [`ShelfError`]: the pattern must read.
    pub fn accept(&self, name: &str) -> Result<(), ShelfError> {
        let dir = self.folder_of(name)?;
        let _held = lock::hold(&dir)?;
        Folder::open(&dir)?;
        sums::write(&dir, sums::of_folder(&dir)?)
    }

    fn verified(&self, name: &str) -> Verified {
        let dir = self.dir().join(name);
        let mut whole = 0;
        let mut faults = Vec::new();
        let mut fault = |file: &str, what| faults.push(Fault { file: file.to_owned(), what });
        let Ok(Some(list)) = sums::listed(&dir) else {
            fault(sums::FILE, FaultKind::NoSums);
            return Verified { name: name.to_owned(), whole, faults };
        };
        let there = sums::files(&dir).unwrap_or_default();
        let mut listed: Vec<&str> = list.iter().map(|(_, file)| file.as_str()).collect();
        listed.sort_unstable();
        listed.dedup();
        for file in &listed {
            match std::fs::read(dir.join(file)) {
                Ok(bytes) => {
                    let sum = sums::of(&bytes);
                    if list.iter().any(|(s, f)| f == file && *s == sum) {
                        whole += 1;
                    } else {
                        fault(file, FaultKind::Changed);
                    }
                }
                Err(error) if super::folder::is_absent(&error) => fault(file, FaultKind::Missing),
                Err(_) => fault(file, FaultKind::Unreadable),
            }
        }
        for file in there.iter().filter(|file| !listed.contains(&file.as_str())) {
            fault(file, FaultKind::Unlisted);
        }
        Verified { name: name.to_owned(), whole, faults }
    }
}
