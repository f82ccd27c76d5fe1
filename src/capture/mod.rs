//! From photographs to a traced piece and a report: the one call that commands, shelf and page share.

mod locate;
mod slivers;

pub use locate::{LocateError, Located, SheetFound, locate};
