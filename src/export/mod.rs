//! Writing: pieces and sheets in, bytes of files out. Pure functions; no paths, no printing.
//!
//! Everything drawn is first a [`Drawing`](crate::geometry::Drawing) in millimetres: the sheets and their guide, and a
//! piece's tiles or roll. The writers ([`pdf`], [`svg`], [`png`]) know nothing of patterns.

mod canvas;
mod error;
mod font;
mod layers;
mod strokes;

pub mod guide;
pub mod json;
pub mod pdf;
pub mod png;
pub mod svg;

pub use error::ExportError;
