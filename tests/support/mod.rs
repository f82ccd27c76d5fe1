//! What the tests under `tests/` share: a renderer of scenes whose truth is known, a reader of truth files, a
//! scorer of outlines, and a reader of photographs of tag grids that were not made by this project.
//!
//! Nothing here uses the product's camera, outline or curve code: what is checked must not check itself.
#![allow(dead_code, reason = "each test program uses a part of it")]

pub(crate) mod camera;
pub(crate) mod chessboard;
pub(crate) mod contact;
pub(crate) mod fill;
pub(crate) mod least_squares;
pub(crate) mod random;
pub(crate) mod real;
pub(crate) mod render;
pub(crate) mod saddle;
pub(crate) mod scene;
pub(crate) mod score;
pub(crate) mod tag_grid;
pub(crate) mod truth;
