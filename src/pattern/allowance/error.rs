//! Why an allowance cannot be made.

/// Why the cut line cannot be made, and what to do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
pub enum AllowanceError {
    /// No cut line exists: the curve is tighter than the allowance.
    #[error(
        "{edge}: an allowance of {width_mm:.1} mm is not possible, its tightest hollow has a radius of {radius_mm:.1} mm; \
         make the allowance narrower than that, or bind the edge instead"
    )]
    TooTight {
        /// The edge, as a person says it.
        edge: String,
        /// The allowance.
        width_mm: f64,
        /// The tightest hollow's radius.
        radius_mm: f64,
    },
    /// A curved edge cannot be folded over whole.
    #[error("{edge} is curved and cannot be folded over whole; give it a turned edge or a facing of its own")]
    Curved {
        /// The edge, as a person says it.
        edge: String,
    },
    /// Two cut lines do not meet.
    #[error(
        "the cut lines of {first} and {second} do not meet; make their allowances narrower or more alike"
    )]
    NeverMeet {
        /// One edge.
        first: String,
        /// The next.
        second: String,
    },
    /// The cut line crosses itself.
    #[error("the cut line crosses itself near {edge}; make the allowance narrower")]
    Crosses {
        /// The edge, as a person says it.
        edge: String,
    },
    /// A line inside a bulge that is tighter than its distance.
    #[error(
        "{edge}: nothing is left of a line {distance_mm:.1} mm inside it, its tightest bulge has a radius of {radius_mm:.1} \
         mm; put the line nearer to the edge"
    )]
    TooNarrow {
        /// The edge, as a person says it.
        edge: String,
        /// Distance of the line.
        distance_mm: f64,
        /// The tightest bulge's radius.
        radius_mm: f64,
    },
    /// A tab reaches past its edge.
    #[error("the tab reaches past the end of {edge}; make it narrower or move it along the edge")]
    TabPastEnd {
        /// The edge, as a person says it.
        edge: String,
    },
    /// A tab that does not stand out.
    #[error(
        "the tab on {edge} does not stand out: make it deeper than the allowance there ({allowance_mm:.1} mm), and wider \
         than its two tapers"
    )]
    TabTooSmall {
        /// The edge, as a person says it.
        edge: String,
        /// The allowance.
        allowance_mm: f64,
    },
    /// A tab on a curve.
    #[error("{edge} is curved where the tab is to be folded; move the tab to a straight stretch")]
    TabOnCurve {
        /// The edge, as a person says it.
        edge: String,
    },
}
