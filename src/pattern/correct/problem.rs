//! What can go wrong with a correction.

use super::place::Place;
use crate::geometry::Point;

/// Why the traced line cannot be corrected so. Places are in the traced frame, millimetres.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum CorrectionProblem {
    /// A place off the line.
    #[error(
        "the place {place} is {off_mm:.1} mm from the traced line; take a place within {near_mm:.0} mm of it: the nearest is {:.1} {:.1}{}",
        nearest.x,
        nearest.y,
        corner.map(|c| format!(", the nearest corner {:.1} {:.1}", c.x, c.y)).unwrap_or_default()
    )]
    NotNear {
        /// As written.
        place: Place,
        /// How far off it is, millimetres.
        off_mm: f64,
        /// How far off it may be, millimetres.
        near_mm: f64,
        /// The place of the line that is nearest to it.
        nearest: Point,
        /// The corner that is nearest to it.
        corner: Option<Point>,
    },
    /// No corner where one is needed.
    #[error(
        "the line runs on smoothly at {place}; {}",
        corner.map_or_else(
            || "it has no corner anywhere".to_owned(),
            |c| format!("name a place within {near_mm:.0} mm of a corner: the nearest is {:.1} {:.1}", c.x, c.y)
        )
    )]
    NoCorner {
        /// As written.
        place: Place,
        /// How far off the corner may be, millimetres.
        near_mm: f64,
        /// The corner that is nearest to it.
        corner: Option<Point>,
    },
    /// A corner where one is asked for.
    #[error("there is a corner at {place} already; move it, or make it a curve (traced-curve)")]
    CornerAlready {
        /// As written.
        place: Place,
    },
    /// The line on either side does not come to a point.
    #[error("the line on either side of {place} does not come to a point; use another reach")]
    NoPoint {
        /// As written.
        place: Place,
    },
    /// A curve that does not fit between two corners.
    #[error("the next corner is only {room_mm:.1} mm away from {place}; use a smaller reach")]
    NoRoom {
        /// As written.
        place: Place,
        /// How far the next corner is, millimetres.
        room_mm: f64,
    },
    /// Two places that are one.
    #[error("{from} and {to} are one place of the line; take two that are apart")]
    OnePlace {
        /// One.
        from: Place,
        /// The other.
        to: Place,
    },
    /// The line would cross itself.
    #[error("the line would cross itself near {x:.0} {y:.0}; take other places, or a smaller amount")]
    Crosses {
        /// Where, millimetres across the table.
        x: f64,
        /// And down.
        y: f64,
    },
    /// Nothing would be left.
    #[error("nothing of the piece would be left; take other places")]
    Vanishes,
}

impl CorrectionProblem {
    /// Where it is, to be shown to a person; `None` where the whole line is meant.
    #[must_use]
    pub fn at(&self) -> Option<Point> {
        match self {
            Self::NotNear { place, .. }
            | Self::NoCorner { place, .. }
            | Self::CornerAlready { place }
            | Self::NoPoint { place }
            | Self::NoRoom { place, .. }
            | Self::OnePlace { from: place, .. } => Some(place.at),
            Self::Crosses { x, y } => Some(Point::new(*x, *y)),
            Self::Vanishes => None,
        }
    }
}
