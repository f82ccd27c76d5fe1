//! The camera: pairs of board places and pixels enter; lens, poses and the boards' places on the table
//! leave, with the covariance of the solution. This room never sees a tag.
//!
//! Frames. Table: x right, y down, z into the table, millimetres; a point at height h has z = -h.
//! Camera: x right, y down, z forwards; camera = R · table + t. Pixels: the centre of the first is (0, 0).
//! Lens model: Brown's radial k1 k2 k3 and tangential p1 p2 (D. C. Brown, "Decentering distortion of
//! lenses", Photogrammetric Engineering 32, 1966), written as OpenCV writes it.

mod equations;
mod lens;
mod place;
mod problem;
mod relief;
mod solve;
mod start;
mod view;

pub use lens::Lens;
pub use place::Place;
pub use relief::Relief;
pub use solve::{CameraError, Observation, PhotoFacts, Priors, Solution, relieve, solve};
pub use view::{Camera, Pose};
