//! Plane geometry shared by every room: points and Bézier paths (kurbo's), homographies, traced
//! polylines, fitted rings, and [`Drawing`], the plain middle model that every writer takes.
//!
//! All lengths are millimetres unless a name says otherwise; x right, y down.

mod drawing;
mod homography;
pub(crate) mod mirror;
pub(crate) mod near_line;
mod ring;
mod trace;

pub use drawing::{Anchor, Clip, Drawing, Face, Item, Layer, Line, Paint, Text};
pub use homography::Homography;
pub use kurbo::{Affine, BezPath, CubicBez, PathSeg, Point, Rect, Vec2};
pub use ring::{Ring, RingError};
pub use trace::{Trace, TracePoint};
