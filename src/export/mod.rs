//! Writing: pieces and sheets in, bytes of files out. Pure functions; no paths, no printing.
//!
//! Everything drawn is first a [`Drawing`](crate::geometry::Drawing) in millimetres: the sheets and their guide, and a
//! piece's tiles or roll. The writers ([`pdf`], [`svg`], [`png`]) know nothing of patterns.

mod canvas;
mod error;
mod font;
mod label;
mod layers;
mod page_map;
mod plan;
mod shared_page;
mod space;
mod strokes;

pub mod catalogue;
pub mod dxf;
pub mod full_scale;
pub mod guide;
pub mod hpgl;
pub mod json;
pub mod overlay;
pub mod pdf;
pub mod picture;
pub mod png;
pub mod roll;
mod shape;
pub mod svg;
pub mod tiles;
mod tiling;
mod whole;
pub mod workshop;

pub use error::ExportError;
use plan::grain_line;
pub use shape::Shape;
pub use tiling::count as tile_count;
pub use whole::open_out;
