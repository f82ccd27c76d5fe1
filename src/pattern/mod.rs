//! The pattern: a traced piece and a recipe enter, drafted pieces and a report of every step leave.
//!
//! A half piece has its fold on x = 0, the fold's top at the origin, cloth at x ≥ 0, y down, millimetres. Its
//! [`Outline`] is edges between lettered points; letters are given once and never change. A [`Recipe`] names edges
//! and lists steps as words ([`StepText`]); [`draft()`] replays it. Everything here is a pure value.

mod allowance;
mod bundle;
mod check;
mod construction;
mod correct;
mod crossing;
mod draft;
mod drawn_fold;
mod edit;
mod error;
mod fold;
mod halves;
mod holes;
mod inside;
mod joint;
mod letter;
mod level;
mod nearest;
mod nudge;
mod make;
mod outline;
mod part;
mod piece;
mod quantity;
mod recipe;
mod record;
mod spoken;
mod spot;
mod step_guide;
mod step_text;
mod traced;
mod truing;

pub use allowance::{
    Advice, Allowance, AllowanceError, Bend, Corner, CutLine, EdgeTurn, Kind, Tab, Turned, flap_start_mm,
    full_corner_mm, slit_spacing_mm, turn_of_cloth_mm,
};
pub use bundle::{PieceEdge, SeamCorners, Sewn};
pub use check::{Finding, Grade, Sight, check};
pub use construction::{
    Construction, EdgeMeasure, LineKind, Stitching, WidthMeasure, WorkHole, WorkLine, WorkWords,
    lockstitch_thread, respaced, saddle_thread,
};
pub use correct::{Corrected, CorrectionProblem, CorrectionReport, TracedPlace, correct};
pub use draft::{Drafted, EdgeChange, PointChange, StepReport, draft};
pub use drawn_fold::{StraightEdge, fold_drawn, is_rectangle, straight_edges};
pub use edit::step_kinds;
pub use error::{PatternError, StepProblem};
pub use fold::{Axis, AxisSigma, FoldError, FoldOptions, Folded, Keep, Top, WearReport, WearSample, fold};
pub use letter::Letter;
pub use level::Level;
pub use make::ring_tab_length;
pub use nearest::nearest;
pub use nudge::{Nudge, NudgeText};
pub use outline::{Edge, FOLD, Outline};
pub use piece::{Measures, Piece};
pub use quantity::{Hardware, Quantity, Stitch, StrapRing};
pub use recipe::Recipe;
pub use record::Record;
pub use spoken::{SPOKEN_UNIT, in_both_units};
pub use step_guide::{STEPS, StepGuide, step_guide};
pub use step_text::StepText;
pub use traced::{Traced, TracedError, TracedRing};
pub use truing::FoldEnd;
