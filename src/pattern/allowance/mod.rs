//! Allowances: what is added outside the finished line for seams, hems, turned edges and turn-downs.
//!
//! An allowance is generated from the finished line after the last edit and never edited itself. The finished line's
//! edges enter, each with its [`Allowance`]; the cut line leaves, with what each turned curve asks of the material.

mod corner;
mod cut_line;
mod ends;
mod error;
mod flap;
mod kind;
mod meet;
mod inset;
mod offset;
mod tab;
mod turned;

pub use corner::Corner;
pub use cut_line::CutLine;
pub(super) use cut_line::cut_line;
pub use error::AllowanceError;
pub(super) use inset::inset;
pub use kind::{Allowance, Kind};
pub use tab::Tab;
pub use turned::{
    Advice, Bend, EdgeTurn, Turned, flap_start_mm, full_corner_mm, slit_spacing_mm, turn_of_cloth_mm,
};
