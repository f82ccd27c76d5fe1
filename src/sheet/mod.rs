//! The calibration sheet: its layout, the code of its tags, its drawing, and finding it in a photograph.
//!
//! Sheet frame: origin at the top-left corner of the board, x right, y down, millimetres.

pub mod family;
pub mod layout;
mod print;

pub use layout::{Ink, Paper, Roll};
