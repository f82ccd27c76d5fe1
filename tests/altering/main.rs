//! Steps of the recipe against the trade's own figures, and what must hold for any piece.
//!
//! Rows named "TRADE check N" are the numbered check values of the trade notes that the project is built to; `[G]`
//! marks a value derived from geometry, which the test repeats by hand in its comment. Inches there, as here.

mod any_recipe;
mod corners_and_curves;
mod halves;
mod lines_and_widths;
mod trade;
