//! A step as words: its kind and its keys with their texts, the same from the recipe file and the command line.

use super::spot::Spot;
use super::{Level, StepProblem, nearest};
use crate::units::Length;

/// Counts in a recipe (pieces, holes in a row) go up to this: more is a slip of the finger.
const MOST: u32 = 1000;

/// The key of every step that says on which piece it is done; left out, it is the body.
pub(super) const PIECE: &str = "piece";

/// The key of every step that switches it off: `off = "yes"`.
const OFF: &str = "off";

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
        ["edges", "walk", "places"].contains(&key)
    }

    /// Whether it is switched off: it stays in the recipe and is not done. Any text under `off` does it.
    #[must_use]
    pub fn is_off(&self) -> bool {
        self.list(OFF).is_some()
    }

    /// The same without the key that says on which piece, and that piece's name.
    pub(super) fn parted(&self) -> Result<(Option<String>, Self), StepProblem> {
        let on = self.one(PIECE, "piece = \"pocket\"")?.map(str::to_owned);
        let mut rest = self.clone();
        if let Some(index) = rest.entries.iter().position(|(key, _)| key == PIECE) {
            rest.entries.remove(index);
        }
        Ok((on, rest))
    }

    /// Refuses keys that are not in `known`, and keys given twice.
    pub(super) fn only(&self, known: &[&str]) -> Result<(), StepProblem> {
        let known = [known, &[PIECE]].concat();
        for (index, (key, _)) in self.entries.iter().enumerate() {
            if !known.contains(&key.as_str()) {
                return Err(StepProblem::unknown_key(key, &known));
            }
            if self.entries[..index].iter().any(|(k, _)| k == key) {
                return Err(StepProblem::TwiceGiven { key: key.clone() });
            }
        }
        Ok(())
    }

    /// The same for a step that is done on no piece.
    pub(super) fn only_without_piece(&self, known: &[&str]) -> Result<(), StepProblem> {
        match self.list(PIECE) {
            Some(_) => Err(StepProblem::unknown_key(PIECE, known)),
            None => self.only(known),
        }
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

    /// The length above zero under a key; `None` when the key is not there.
    pub(super) fn size(&self, key: &str, example: &str) -> Result<Option<Length>, StepProblem> {
        self.one(key, example)?
            .map(|text| {
                Length::parse_positive(text)
                    .map_err(|source| StepProblem::Length { key: key.to_owned(), source })
            })
            .transpose()
    }

    /// The length above zero under a key that must be there.
    pub(super) fn must_size(&self, key: &str, example: &str) -> Result<Length, StepProblem> {
        self.size(key, example)?
            .ok_or_else(|| StepProblem::Missing { key: key.to_owned(), example: example.to_owned() })
    }

    /// The word under a key, one of a few; `None` when the key is not there.
    pub(super) fn choice<T: Copy>(&self, key: &str, words: &[(&str, T)]) -> Result<Option<T>, StepProblem> {
        let example =
            format!("one of {}", words.iter().map(|(word, _)| *word).collect::<Vec<_>>().join(", "));
        let Some(text) = self.one(key, &example)? else { return Ok(None) };
        match words.iter().find(|(word, _)| *word == text.trim()) {
            Some((_, value)) => Ok(Some(*value)),
            None => {
                let meant = nearest(text, words.iter().map(|(word, _)| *word));
                let meant = meant.map_or_else(String::new, |n| format!(", perhaps {n} is meant"));
                Err(StepProblem::BadValue { key: key.to_owned(), found: format!("`{text}`{meant}"), example })
            }
        }
    }

    /// The count under a key; `None` when the key is not there.
    pub(super) fn count(&self, key: &str) -> Result<Option<u32>, StepProblem> {
        let example = format!("{key} = \"2\"");
        let Some(text) = self.one(key, &example)? else { return Ok(None) };
        match text.trim().parse() {
            Ok(count) if (1..=MOST).contains(&count) => Ok(Some(count)),
            _ => Err(StepProblem::BadValue { key: key.to_owned(), found: format!("`{text}`"), example }),
        }
    }

    /// The list of edges, which must be there and not empty.
    pub(super) fn must_edges(&self) -> Result<Vec<String>, StepProblem> {
        self.list("edges").filter(|edges| !edges.is_empty()).map(<[String]>::to_vec).ok_or_else(|| {
            StepProblem::Missing {
                key: "edges".to_owned(),
                example: "edges = [\"side\", \"B-C\"]".to_owned(),
            }
        })
    }

    /// The angle under a key, in degrees; `None` when the key is not there.
    pub(super) fn degrees(&self, key: &str) -> Result<Option<f64>, StepProblem> {
        let example = format!("{key} = \"15\", in degrees");
        let Some(text) = self.one(key, &example)? else { return Ok(None) };
        let number = text.trim().trim_end_matches('°').trim_end_matches("deg").trim_end();
        match number.parse::<f64>() {
            Ok(degrees) if degrees.abs() <= 360.0 => Ok(Some(degrees)),
            _ => Err(StepProblem::BadValue { key: key.to_owned(), found: format!("`{text}`"), example }),
        }
    }

    /// The place on the line under a key that must be there.
    pub(super) fn must_spot(&self, key: &str, example: &str) -> Result<Spot, StepProblem> {
        Spot::parse(key, self.must(key, example)?)
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
