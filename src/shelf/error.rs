//! What can go wrong with a pattern folder.

use crate::pattern::{FoldError, PatternError, StepProblem, TracedError};
use std::io;
use std::path::{Path, PathBuf};

/// Why a pattern folder could not be read or written, and what to do.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum ShelfError {
    /// The folder holds no pattern.
    #[error("`{}` holds no pattern (there is no pattern.toml in it); give the folder that `onfold capture` wrote", .0.display())]
    NoPattern(PathBuf),
    /// The folder holds a pattern already.
    #[error("`{}` already holds a pattern; give another folder, or --replace to put the new one in its place", .0.display())]
    Taken(PathBuf),
    /// The folder holds something else.
    #[error("`{}` holds other files and no pattern; give a new or an empty folder", .0.display())]
    NotEmpty(PathBuf),
    /// There is a file of that name.
    #[error("`{}` is a file, not a folder; give the name of a folder", .0.display())]
    NotAFolder(PathBuf),
    /// There is no step to take back.
    #[error("the recipe of `{}` has no steps to take back", .0.display())]
    NoStep(PathBuf),
    /// No room on the disk.
    #[error("the disk is full: `{}` could not be written ({} KB needed); free some space and run it again. Nothing was changed", .path.display(), .bytes.div_ceil(1024))]
    DiskFull {
        /// What was to be written.
        path: PathBuf,
        /// Its size.
        bytes: usize,
    },
    /// The system refused.
    #[error("`{}` could not be {doing}: {source}", .path.display())]
    Io {
        /// Read, written, moved or removed.
        doing: &'static str,
        /// Which file or folder.
        path: PathBuf,
        /// What the system said.
        source: io::Error,
    },
    /// `pattern.toml` is not as it should be.
    #[error("{file}, line {line}: {problem}")]
    Text {
        /// The file's name.
        file: &'static str,
        /// Which line, from 1.
        line: usize,
        /// What is wrong.
        problem: Box<TextProblem>,
    },
    /// `traced.json` is not as it should be.
    #[error("traced.json: {0}")]
    Traced(#[from] TracedError),
    /// The traced outline cannot be folded.
    #[error(transparent)]
    Fold(#[from] FoldError),
    /// A step cannot be done.
    #[error(transparent)]
    Step(#[from] PatternError),
}

/// What is wrong at one place of `pattern.toml`.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum TextProblem {
    /// It is not TOML.
    #[error("{0}")]
    Syntax(String),
    /// A key or a value that has no place there.
    #[error("{place}: {problem}")]
    Entry {
        /// Where: `[record]`, `step 2`.
        place: String,
        /// What.
        problem: StepProblem,
    },
    /// A newer program wrote it.
    #[error("it has format {found}, this program reads format {known}; use the newer program that wrote it")]
    Format {
        /// What it says.
        found: String,
        /// What is read.
        known: i64,
    },
}

impl ShelfError {
    /// A refusal of the system while reading, moving or removing.
    pub(super) fn io(doing: &'static str, path: &Path, source: io::Error) -> Self {
        Self::Io { doing, path: path.to_owned(), source }
    }

    /// A refusal of the system while writing so many bytes.
    pub(super) fn writing(path: &Path, bytes: usize, source: io::Error) -> Self {
        let full = matches!(source.kind(), io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded);
        if full { Self::DiskFull { path: path.to_owned(), bytes } } else { Self::io("written", path, source) }
    }
}
