//! Checks against things outside the project: one file a source, which opens with the tool or paper, its
//! version, the exact command or page, the licence and the date.

#[path = "../support/mod.rs"]
mod support;

mod opencv_projection;
mod opencv_tag_grids;
mod outline_score;
mod published_calibration;
