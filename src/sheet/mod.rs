//! The calibration sheet: its layout, the code of its tags, its drawing, and finding it in a photograph.
//!
//! Sheet frame: origin at the top-left corner of the board, x right, y down, millimetres.

mod cells;
mod corners;
pub mod family;
mod find;
pub mod layout;
pub mod print;
mod refine;
mod scale;

pub use cells::Tag;
pub use find::{Finds, LooseCorner, find};
pub use layout::{Ink, Paper, Roll};
pub use refine::{Refined, refine_corner, window_px};
pub use scale::Scale;
