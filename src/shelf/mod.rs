//! Pattern folders on disk: made whole or not at all, read with every mistake named, changed with care.
//!
//! A folder holds
//! - `pattern.toml`: the record, how the photograph was measured, which half is kept, names of edges, steps; written
//!   for a person, who may change it ([`recipe_text`](PatternFile) keeps lengths and comments as typed);
//! - `traced.json`: the traced rings, exact ([`crate::pattern::Traced`]);
//! - `capture.json`: the full report of the capture, for scripts;
//! - `pictures/`: pictures of the capture;
//! - `drafted.json`: the outline after the last step, written by each replay.
//!
//! Paths enter; values leave, and the other way round. Nothing is computed here.

mod error;
mod folder;
mod kept;
mod new_folder;
mod recipe_change;
mod recipe_text;

pub use error::ShelfError;
pub use folder::{DEPART_MM, Folder};
pub use kept::keep;
pub use new_folder::{NewPattern, Picture, create};
pub use recipe_change::Change;
pub use recipe_text::PatternFile;
