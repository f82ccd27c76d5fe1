//! onfold: from a photograph of a worn garment lying on printed calibration sheets to a true,
//! symmetric, full-scale half pattern.
//!
//! # Conventions, said once
//! - Lengths inside are `f64` millimetres. Other units exist only where text is read or printed ([`units`]).
//! - Every plane has x to the right and y down. The table frame is the plane of the sheets, in
//!   millimetres, seen from above. Its z axis points into the table, so a point at height h has z = -h.
//! - The centre of a photograph's first pixel is (0, 0).
//! - Transforms are named `target_from_source`.
//! - A ring is closed; its last point is not repeated. Outer rings run clockwise as seen on the page
//!   (positive area by the shoelace sum with y down), holes the other way.
//!
//! # Rooms
//! Declared in the order in which data flows; a room imports only rooms above it (`tests/layers.rs`).

pub mod units;
pub mod geometry;
pub mod photo;
pub mod sheet;
pub mod camera;
pub mod outline;
pub mod curve;
pub mod ink;
pub mod capture;
pub mod pattern;
pub mod export;
pub mod shelf;
pub mod workbench;
pub mod cli;
