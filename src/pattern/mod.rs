//! Room `pattern`: a traced piece and a recipe enter, pieces leave.

mod fold;

pub use fold::{Axis, AxisSigma, Folded, Keep, WearReport, WearSample};
