//! What to look for on a shelf.

use rusqlite::types::Value;
use std::ops::RangeInclusive;

/// Conditions, all of which must hold; an empty query finds everything. Capital letters do not matter.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Query {
    /// Words, each of which stands somewhere in name, record, pieces or names of photographs.
    pub words: Vec<String>,
    /// Part of the pattern's name or style.
    pub name: Option<String>,
    /// Part of a piece's name.
    pub piece: Option<String>,
    /// Part of the material.
    pub material: Option<String>,
    /// The size, whole, as the maker wrote it.
    pub size: Option<String>,
    /// Tags, whole; all of them.
    pub tags: Vec<String>,
    /// The earliest date, year first; also only a year, or year and month.
    pub from: Option<String>,
    /// The latest date, likewise: `2026` is all of that year.
    pub until: Option<String>,
    /// Height of the whole first piece, millimetres.
    pub height_mm: Option<RangeInclusive<f64>>,
    /// Width of the whole first piece, millimetres.
    pub width_mm: Option<RangeInclusive<f64>>,
}

impl Query {
    /// The condition in the index's own language, with its values.
    pub(super) fn conditions(&self) -> (String, Vec<Value>) {
        let mut all = vec!["1".to_owned()];
        let mut values = Vec::new();
        let mut holds = |condition: &str, value: Value| {
            values.push(value);
            all.push(condition.replace('?', &format!("?{}", values.len())));
        };
        let small = |text: &str| Value::Text(text.trim().to_lowercase());
        for word in &self.words {
            holds("instr(words, ?)", small(word));
        }
        let parts =
            [("name || ' ' || style", &self.name), ("pieces", &self.piece), ("material", &self.material)];
        for (column, part) in parts {
            if let Some(part) = part {
                holds(&format!("instr({column}, ?)"), small(part));
            }
        }
        if let Some(size) = &self.size {
            holds("size = ?", small(size));
        }
        for tag in &self.tags {
            holds("instr(tags, ',' || ? || ',')", small(tag));
        }
        if let Some(from) = &self.from {
            holds("date >= ?", small(from));
        }
        if let Some(until) = &self.until {
            // A date of that month or year begins with it; nothing written as a date sorts after a tilde.
            holds("date <> '' and date <= ? || '~'", small(until));
        }
        for (column, range) in [("height_mm", &self.height_mm), ("width_mm", &self.width_mm)] {
            if let Some(range) = range {
                holds(&format!("{column} >= ?"), Value::Real(*range.start()));
                holds(&format!("{column} <= ?"), Value::Real(*range.end()));
            }
        }
        (all.join(" and "), values)
    }
}
