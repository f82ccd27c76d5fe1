//! A place on the table, as it is written: `120.5 -33.2`, millimetres to the right and down.

use crate::geometry::Point;
use crate::pattern::{StepProblem, StepText};
use std::fmt;

/// Numbers beyond this are a slip of the finger, millimetres.
const MOST_MM: f64 = 1e5;

/// A place, kept as it was written.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// Where it is, in the traced frame, millimetres.
    pub at: Point,
    written: String,
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.written)
    }
}

impl Place {
    /// A place that nobody wrote, to a tenth of a millimetre.
    pub(super) fn shown(at: Point) -> Self {
        Self { at, written: format!("{:.1} {:.1}", at.x, at.y) }
    }

    fn parse(key: &str, text: &str) -> Result<Self, StepProblem> {
        let written = text.trim().replace(", ", " ");
        let numbers: Vec<f64> = written.split_whitespace().filter_map(|word| word.parse().ok()).collect();
        let count = written.split_whitespace().count();
        match numbers[..] {
            [x, y] if count == 2 && x.abs() < MOST_MM && y.abs() < MOST_MM => {
                Ok(Self { at: Point::new(x, y), written })
            }
            _ => Err(StepProblem::BadValue {
                key: key.to_owned(),
                found: format!("`{text}`"),
                example: example(key),
            }),
        }
    }

    /// The place under a key that must be there.
    pub(super) fn must(text: &StepText, key: &str) -> Result<Self, StepProblem> {
        Self::parse(key, text.must(key, &example(key))?)
    }

    /// The place under a key; `None` when the key is not there.
    pub(super) fn maybe(text: &StepText, key: &str) -> Result<Option<Self>, StepProblem> {
        text.one(key, &example(key))?.map(|written| Self::parse(key, written)).transpose()
    }

    /// The places of a list that must be there and not empty.
    pub(super) fn must_list(text: &StepText, key: &str) -> Result<Vec<Self>, StepProblem> {
        let example = || format!("{key} = [\"120 -33\", \"140 -35\"], millimetres right and down");
        let list = text.list(key).filter(|list| !list.is_empty());
        let list = list.ok_or_else(|| StepProblem::Missing { key: key.to_owned(), example: example() })?;
        list.iter().map(|written| Self::parse(key, written)).collect()
    }
}

fn example(key: &str) -> String {
    format!("{key} = \"120.5 -33.2\", millimetres right and down in the traced outline")
}
