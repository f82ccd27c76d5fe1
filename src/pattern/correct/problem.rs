//! What can go wrong with a correction.

/// Why the traced line cannot be corrected so.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum CorrectionProblem {
    /// A place off the line.
    #[error(
        "the place {place} is {off_mm:.1} mm from the traced line; take a place within {near_mm:.0} mm of it"
    )]
    NotNear {
        /// As written.
        place: String,
        /// How far off it is, millimetres.
        off_mm: f64,
        /// How far off it may be, millimetres.
        near_mm: f64,
    },
    /// No corner where one is needed.
    #[error("the line runs on smoothly at {place}; name a place within {near_mm:.0} mm of a corner")]
    NoCorner {
        /// As written.
        place: String,
        /// How far off the corner may be, millimetres.
        near_mm: f64,
    },
    /// A corner where one is asked for.
    #[error("there is a corner at {place} already; move it, or make it a curve (traced-curve)")]
    CornerAlready {
        /// As written.
        place: String,
    },
    /// The line on either side does not come to a point.
    #[error("the line on either side of {place} does not come to a point; use another reach")]
    NoPoint {
        /// As written.
        place: String,
    },
    /// A curve that does not fit between two corners.
    #[error("the next corner is only {room_mm:.1} mm away from {place}; use a smaller reach")]
    NoRoom {
        /// As written.
        place: String,
        /// How far the next corner is, millimetres.
        room_mm: f64,
    },
    /// Two places that are one.
    #[error("{from} and {to} are one place of the line; take two that are apart")]
    OnePlace {
        /// One, as written.
        from: String,
        /// The other.
        to: String,
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
