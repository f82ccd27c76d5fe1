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
//! Many folders make a shop's [`Shelf`], with an index that is made from them; `FORMAT.md` beside this file specifies
//! all of it.
//!
//! Paths enter; values leave, and the other way round. Nothing is computed here.

mod batch;
mod catalogue;
mod drawer;
mod drawn;
mod entry;
mod error;
mod fold_text;
mod folder;
mod index;
mod kept;
mod lock;
mod making;
mod new_folder;
mod origin;
mod query;
mod queue;
mod recipe_change;
mod recipe_text;
mod shown;
mod small_picture;
mod store;
mod sums;
mod verify;
mod versions;
mod zipped;

pub use batch::{BatchEvent, Kind, Manner, Outcome, OutcomeState};
pub use drawer::{Drawer, Group, Loose};
pub use drawn::{Drawn, DrawnError, FoldEdge};
pub use entry::{Entry, PieceEntry};
pub use error::{ShelfError, TextProblem};
pub use folder::{DEPART_MM, Folder};
pub use kept::keep;
pub use lock::{Held, hold};
pub use new_folder::{NewPattern, Picture, create};
pub use origin::{Origin, Photograph, today};
pub use query::Query;
pub use recipe_change::Change;
pub use recipe_text::PatternFile;
pub use store::Shelf;
pub use verify::{Fault, FaultKind, Verified};
pub use versions::{Comparison, Difference};
