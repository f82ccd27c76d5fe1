//! The edits of the finished line, one file each.
//!
//! To add one: a file here with a struct that reads itself from [`super::StepText`], writes itself back, says
//! itself and applies itself to a piece, and a line for it in [`super::Step`].

mod amount;
mod lengthen;
mod move_end;
mod slide;
mod widen;

pub use amount::Amount;
pub use lengthen::Lengthen;
pub use move_end::{MoveEnd, Neighbour};
pub use widen::Widen;
