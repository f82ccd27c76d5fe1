//! A step as words: its kind and its keys with their texts, the same from the recipe file and the command line.

use super::{Level, StepProblem};
use crate::units::Length;

/// A step as it stands in a file or a command: `lengthen`, `by = "90mm"`, `at = "40mm below C"`.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct StepText {
    /// What to do: `lengthen`.
    pub kind: String,
    /// Keys in their order, each with its values (one, or the entries of a list).
    pub entries: Vec<(String, Vec<String>)>,
}

impl StepText {
    /// A step of this kind without keys.
    #[must_use]
    pub fn new(kind: &str) -> Self {
        Self { kind: kind.to_owned(), entries: Vec::new() }
    }

    /// The same with one more key of one value.
    #[must_use]
    pub fn with(mut self, key: &str, value: impl ToString) -> Self {
        self.entries.push((key.to_owned(), vec![value.to_string()]));
        self
    }

    /// The same with one more key, a list.
    #[must_use]
    pub fn with_list(mut self, key: &str, values: &[String]) -> Self {
        self.entries.push((key.to_owned(), values.to_vec()));
        self
    }

    /// Whether a key holds a list; every other key holds one text.
    #[must_use]
    pub fn is_list(key: &str) -> bool {
        key == "edges"
    }

    /// Refuses keys that are not in `known`, and keys given twice.
    pub(super) fn only(&self, known: &[&str]) -> Result<(), StepProblem> {
        for (index, (key, _)) in self.entries.iter().enumerate() {
            if !known.contains(&key.as_str()) {
                return Err(StepProblem::unknown_key(key, known));
            }
            if self.entries[..index].iter().any(|(k, _)| k == key) {
                return Err(StepProblem::TwiceGiven { key: key.clone() });
            }
        }
        Ok(())
    }

    /// The list under a key; `None` when the key is not there.
    pub(super) fn list(&self, key: &str) -> Option<&[String]> {
        self.entries.iter().find(|(k, _)| k == key).map(|(_, values)| values.as_slice())
    }

    /// The one value under a key; `None` when the key is not there.
    pub(super) fn one(&self, key: &str, example: &str) -> Result<Option<&str>, StepProblem> {
        match self.list(key) {
            None => Ok(None),
            Some([value]) => Ok(Some(value)),
            Some(values) => Err(StepProblem::BadValue {
                key: key.to_owned(),
                found: format!("a list of {}", values.len()),
                example: example.to_owned(),
            }),
        }
    }

    /// The one value under a key that must be there.
    pub(super) fn must(&self, key: &str, example: &str) -> Result<&str, StepProblem> {
        self.one(key, example)?
            .ok_or_else(|| StepProblem::Missing { key: key.to_owned(), example: example.to_owned() })
    }

    /// The length under a key; `None` when the key is not there.
    pub(super) fn length(&self, key: &str, example: &str) -> Result<Option<Length>, StepProblem> {
        self.one(key, example)?
            .map(|text| {
                Length::parse(text).map_err(|source| StepProblem::Length { key: key.to_owned(), source })
            })
            .transpose()
    }

    /// The length under a key that must be there.
    pub(super) fn must_length(&self, key: &str, example: &str) -> Result<Length, StepProblem> {
        self.length(key, example)?
            .ok_or_else(|| StepProblem::Missing { key: key.to_owned(), example: example.to_owned() })
    }

    /// The level under a key; the usual one when the key is not there.
    pub(super) fn level(&self, key: &str) -> Result<Level, StepProblem> {
        self.one(key, "at = \"40mm below C\"")?
            .map_or_else(|| Ok(Level::usual()), |text| Level::parse(key, text))
    }
}
