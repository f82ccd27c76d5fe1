//! What can go wrong with a pattern folder.

use crate::export::ExportError;
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
    /// Another program changed the recipe since it was read.
    #[error("`{}` was changed by another program meanwhile; nothing was written, run it again", .0.display())]
    Changed(PathBuf),
    /// There is no shelf there.
    #[error("`{}` is no shelf; give --shelf FOLDER, or put a first pattern on it with `onfold shelf add`", .0.display())]
    NoShelf(PathBuf),
    /// No pattern of that name stands on the shelf.
    #[error("there is no pattern `{name}` on the shelf{}; `onfold shelf list` shows what is there", .meant.as_ref().map(|m| format!(", perhaps {m} is meant")).unwrap_or_default())]
    Unknown {
        /// What was asked for.
        name: String,
        /// The nearest name that is there.
        meant: Option<String>,
    },
    /// It was put there before.
    #[error("it stands on the shelf already, as {name}")]
    AlreadyThere {
        /// Under which name.
        name: String,
    },
    /// A file does not read.
    #[error("`{}` is damaged: {problem}; bring it back from a copy", .path.display())]
    Damaged {
        /// Which.
        path: PathBuf,
        /// What is wrong.
        problem: String,
    },
    /// A newer program wrote a file.
    #[error("`{}` has format {found}, this program reads formats up to {known}; use the newer program that wrote it", .path.display())]
    Newer {
        /// Which file.
        path: PathBuf,
        /// Its format.
        found: i64,
        /// The newest that is read.
        known: i64,
    },
    /// The index refused.
    #[error("the shelf's index does not answer ({0}); run it again, or `onfold shelf rebuild`")]
    Index(String),
    /// A zip file cannot be taken in.
    #[error("`{}` cannot be taken in: {problem}. Nothing was changed", .path.display())]
    Zip {
        /// The file.
        path: PathBuf,
        /// What is wrong with it.
        problem: String,
    },
    /// Two versions cannot be laid over each other.
    #[error("{name} cannot be compared: {problem}")]
    Compare {
        /// Which pattern.
        name: String,
        /// Why.
        problem: String,
    },
    /// A picture or a page could not be made.
    #[error(transparent)]
    Export(#[from] ExportError),
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
    #[error(
        "it has format {found}, this program reads formats up to {known}; use the newer program that wrote it"
    )]
    Format {
        /// What it says.
        found: String,
        /// The newest that is read.
        known: i64,
    },
}

impl ShelfError {
    /// A refusal of the system while reading, moving or removing.
    pub(super) fn io(doing: &'static str, path: &Path, source: io::Error) -> Self {
        Self::Io { doing, path: path.to_owned(), source }
    }

    /// A file that does not read.
    pub(super) fn damaged(path: &Path, problem: &dyn std::fmt::Display) -> Self {
        Self::Damaged { path: path.to_owned(), problem: problem.to_string() }
    }

    /// A refusal of the system while writing so many bytes.
    pub(super) fn writing(path: &Path, bytes: usize, source: io::Error) -> Self {
        let full = matches!(source.kind(), io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded);
        if full { Self::DiskFull { path: path.to_owned(), bytes } } else { Self::io("written", path, source) }
    }
}
