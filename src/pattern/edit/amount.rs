//! How much is added across: told for the whole garment, or for each side.

use crate::pattern::{StepProblem, StepText};
use crate::units::{Length, Unit};
use std::fmt;

/// An amount across. On a half, `total` is shared by the two sides.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Amount {
    /// On the whole garment: `total = "2in"` is one inch on the half.
    Total(Length),
    /// On each side: `each = "1in"`.
    Each(Length),
}

/// Keys of an amount.
pub(super) const KEYS: [&str; 2] = ["total", "each"];

const EXAMPLE: &str = "total = \"50mm\" (both sides together) or each = \"25mm\" (each side)";

impl Amount {
    pub(super) fn read(text: &StepText) -> Result<Self, StepProblem> {
        match (text.length("total", EXAMPLE)?, text.length("each", EXAMPLE)?) {
            (Some(total), None) => Ok(Self::Total(total)),
            (None, Some(each)) => Ok(Self::Each(each)),
            (None, None) => {
                Err(StepProblem::Missing { key: "total".to_owned(), example: EXAMPLE.to_owned() })
            }
            (Some(_), Some(_)) => Err(StepProblem::BadValue {
                key: "total".to_owned(),
                found: "given together with `each`".to_owned(),
                example: EXAMPLE.to_owned(),
            }),
        }
    }

    /// On one side, millimetres.
    pub(super) fn each_mm(&self) -> f64 {
        match self {
            Self::Total(length) => length.mm() / 2.0,
            Self::Each(length) => length.mm(),
        }
    }

    /// The unit it is written in.
    pub(super) fn unit(&self) -> Unit {
        match self {
            Self::Total(length) | Self::Each(length) => length.unit(),
        }
    }
}

impl fmt::Display for Amount {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Total(length) => write!(f, "{length} in all"),
            Self::Each(length) => write!(f, "{length} on each side"),
        }
    }
}
