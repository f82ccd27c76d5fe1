//! `pattern.toml`: text to values and back, with the line of every mistake.

use super::error::{ShelfError, TextProblem};
use super::fold_text;
use crate::geometry::Point;
use crate::pattern::{Keep, NudgeText, Recipe, Record, StepProblem, StepText, Top};
use std::fmt::Write as _;
use toml_edit::{Document, Item, Table, TableLike, TomlError, Value};

/// Name of the file.
pub(super) const FILE: &str = "pattern.toml";

/// Version of the text that this program writes; it reads this one and every one before it (`FORMAT.md`). Version 2
/// added size, tags and notes to the record, version 3 shift and turn to the fold.
pub(super) const FORMAT: i64 = 3;

/// Keys of the whole file. `capture` holds facts for people and is not read.
const SECTIONS: [&str; 6] = ["format", "record", "capture", "fold", "edges", "step"];

/// What `pattern.toml` says.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct PatternFile {
    /// What is written on the piece.
    pub record: Record,
    /// Which half is kept.
    pub keep: Keep,
    /// Which end of the fold is the top.
    pub top: Top,
    /// How the mirror axis that is found is put right.
    pub nudge: NudgeText,
    /// Ends of the fold in the traced frame, millimetres, of a paper pattern that is drawn as a half.
    pub drawn_fold: Option<[Point; 2]>,
    /// Names of edges, and steps.
    pub recipe: Recipe,
}

impl PatternFile {
    /// Reads the text. Unknown keys are refused by name.
    ///
    /// # Errors
    /// [`ShelfError::Text`] with the line.
    pub fn from_text(text: &str) -> Result<Self, ShelfError> {
        let reader = Reader { text };
        let document = Document::parse(text).map_err(|e| reader.syntax(&e))?;
        let root = document.as_table();
        for (key, _) in root {
            if !SECTIONS.contains(&key) {
                return Err(reader.entry(root, key, "", StepProblem::unknown_key(key, &SECTIONS)));
            }
        }
        reader.format(root)?;
        let mut out = Self::default();
        if let Some(table) = reader.table(root, "record")? {
            for (key, item) in table.iter() {
                let set = words(key, item).and_then(|words| match &words[..] {
                    [one] => out.record.set(key, one),
                    _ => Err(one_expected(key, "a list")),
                });
                set.map_err(|problem| reader.entry(table, key, "[record]", problem))?;
            }
        }
        if let Some(table) = reader.table(root, "fold")? {
            for (key, item) in table.iter() {
                let set = fold_text::set(&mut out, key, item);
                set.map_err(|problem| reader.entry(table, key, "[fold]", problem))?;
            }
            if let Some((key, problem)) = fold_text::contradiction(&out) {
                return Err(reader.entry(table, key, "[fold]", problem));
            }
        }
        if let Some(table) = reader.table(root, "edges")? {
            for (key, item) in table.iter() {
                let edge = item.as_str().ok_or_else(|| bad(key, item, &format!("{key} = \"B-C\"")));
                let edge = edge.map_err(|problem| reader.entry(table, key, "[edges]", problem))?;
                out.recipe.names.push((key.to_owned(), edge.to_owned()));
            }
        }
        out.recipe.steps = reader.steps(root)?;
        Ok(out)
    }

    /// The text of a new file, with a few words for the person who opens it. `facts` tell how the photograph was
    /// measured.
    #[must_use]
    pub fn to_text(&self, facts: &[(String, String)]) -> String {
        let mut out = String::from(
            "# A pattern. Change what you like with any text editor, then run: onfold draft FOLDER\n\
             # Lengths are written as you think them: 90mm, 9 cm, 3 1/2in, 1' 6\", leather 3-4 oz.\n",
        );
        let _ = writeln!(out, "format = {FORMAT}\n\n# What is written on the piece.\n[record]");
        for (key, text) in self.record.entries() {
            let _ = writeln!(out, "{key} = {}", quoted(&text));
        }
        out.push_str("\n# How the photograph was measured. Nothing is computed from it.\n[capture]\n");
        for (key, text) in facts {
            let _ = writeln!(out, "{} = {}", toml_edit::Key::new(key), quoted(text));
        }
        out.push_str(&fold_text::section(self));
        out.push_str(
            "\n# Names for edges, by the letters of their ends, for example: side = \"C-D\"\n[edges]\n",
        );
        for (name, edge) in &self.recipe.names {
            let _ = writeln!(out, "{} = {}", toml_edit::Key::new(name), quoted(edge));
        }
        out.push_str(
            "\n# Steps, done in this order. For example:\n\
             #   [[step]]\n\
             #   do = \"lengthen\"\n\
             #   by = \"90mm\"\n\
             #   at = \"40mm below C\"\n",
        );
        for step in &self.recipe.steps {
            out.push_str(&step_block(step));
        }
        out
    }
}

/// A step as it stands in the file, with a blank line before it.
pub(super) fn step_block(step: &StepText) -> String {
    let mut out = format!("\n[[step]]\ndo = {}\n", quoted(&step.kind));
    for (key, values) in &step.entries {
        let value = match &values[..] {
            [one] if !StepText::is_list(key) => quoted(one),
            many => format!("[{}]", many.iter().map(|v| quoted(v)).collect::<Vec<_>>().join(", ")),
        };
        let _ = writeln!(out, "{} = {value}", toml_edit::Key::new(key));
    }
    out
}

/// The text with one more step at its end.
pub(super) fn with_step(text: &str, step: &StepText) -> String {
    format!("{text}{}", if text.ends_with('\n') { step_block(step) } else { unended_block(step) })
}

/// The text without its last step, which reads as `last`: to the byte what it was, if [`with_step`] added it. A step
/// typed by hand goes with the comment above it; all else stays as typed.
pub(super) fn without_step(text: &str, last: &StepText) -> String {
    for block in [step_block(last), unended_block(last)] {
        if let Some(rest) = text.strip_suffix(&block) {
            return rest.to_owned();
        }
    }
    let Ok(mut document) = text.parse::<toml_edit::DocumentMut>() else { return text.to_owned() };
    if let Some(steps) = document.get_mut("step").and_then(Item::as_array_of_tables_mut)
        && let Some(index) = steps.len().checked_sub(1)
    {
        steps.remove(index);
    }
    document.to_string()
}

/// The text with some fields of the record set, all else as typed. A text of an older format becomes one of today's.
///
/// # Errors
/// [`ShelfError::Text`] when the text does not read.
pub(super) fn with_record(text: &str, fields: &[(&str, &str)]) -> Result<String, ShelfError> {
    let mut document =
        text.parse::<toml_edit::DocumentMut>().map_err(|error| Reader { text }.syntax(&error))?;
    set_keeping_decor(document.as_table_mut(), "format", FORMAT.into());
    let record = document.entry("record").or_insert_with(toml_edit::table);
    if let Some(record) = record.as_table_like_mut() {
        for (key, value) in fields {
            set_keeping_decor(record, key, (*value).into());
        }
    }
    Ok(document.to_string())
}

/// Sets a value; blanks and comments round the old one stay.
pub(super) fn set_keeping_decor(table: &mut dyn TableLike, key: &str, mut value: Value) {
    if let Some(old) = table.get(key).and_then(Item::as_value) {
        *value.decor_mut() = old.decor().clone();
    }
    match table.get_mut(key) {
        Some(item) => *item = Item::Value(value),
        None => {
            table.insert(key, Item::Value(value));
        }
    }
}

/// A step for a text whose last line has no end: the new text has none either, so that it can be taken off again.
fn unended_block(step: &StepText) -> String {
    format!("\n{}", step_block(step).trim_end())
}

/// A text that is no TOML, with its line.
pub(super) fn syntax(text: &str, error: &TomlError) -> ShelfError {
    Reader { text }.syntax(error)
}

pub(super) fn quoted(text: &str) -> String {
    Value::from(text).to_string()
}

pub(super) fn bad(key: &str, item: &Item, example: &str) -> StepProblem {
    let found = format!("`{}`, {}", item.to_string().trim(), item.type_name());
    StepProblem::BadValue { key: key.to_owned(), found, example: example.to_owned() }
}

pub(super) fn one_expected(key: &str, found: &str) -> StepProblem {
    StepProblem::BadValue {
        key: key.to_owned(),
        found: found.to_owned(),
        example: format!("{key} = \"...\""),
    }
}

/// A value as words: a text, a list of texts, or a number as it is typed (so that a length without a unit is
/// told to be one).
pub(super) fn words(key: &str, item: &Item) -> Result<Vec<String>, StepProblem> {
    let one = |value: &Value| match value {
        Value::String(text) => Some(text.value().clone()),
        Value::Integer(_) | Value::Float(_) => {
            let mut bare = value.clone();
            bare.decor_mut().clear();
            Some(bare.to_string())
        }
        _ => None,
    };
    let list = match item.as_value() {
        Some(Value::Array(array)) => array.iter().map(one).collect(),
        Some(value) => one(value).map(|text| vec![text]),
        None => None,
    };
    list.ok_or_else(|| bad(key, item, &format!("{key} = \"...\"")))
}

/// Knows the text, and so the line of a place in it.
struct Reader<'a> {
    text: &'a str,
}

impl Reader<'_> {
    fn line(&self, at: Option<usize>) -> usize {
        let before = &self.text.as_bytes()[..at.unwrap_or(0).min(self.text.len())];
        1 + before.iter().filter(|b| **b == b'\n').count()
    }

    fn error(&self, at: Option<usize>, problem: TextProblem) -> ShelfError {
        ShelfError::Text { file: FILE, line: self.line(at), problem: Box::new(problem) }
    }

    fn syntax(&self, error: &TomlError) -> ShelfError {
        let at = error.span().map(|span| span.start);
        let advice = "put text between double quotes, one `key = \"value\"` a line";
        self.error(at, TextProblem::Syntax(format!("{}; {advice}", error.message().replace('\n', ", "))))
    }

    /// An error at a key of a table.
    fn entry(&self, table: &dyn TableLike, key: &str, place: &str, problem: StepProblem) -> ShelfError {
        let at = table.get_key_value(key).and_then(|(key, item)| key.span().or_else(|| item.span()));
        let place = if place.is_empty() { "the file".to_owned() } else { place.to_owned() };
        self.error(at.map(|span| span.start), TextProblem::Entry { place, problem })
    }

    fn format(&self, root: &Table) -> Result<(), ShelfError> {
        match root.get("format") {
            Some(item) if item.as_integer().is_some_and(|found| (1..=FORMAT).contains(&found)) => Ok(()),
            Some(item) => {
                let found = item.to_string().trim().to_owned();
                Err(self.error(item.span().map(|s| s.start), TextProblem::Format { found, known: FORMAT }))
            }
            None => {
                let problem =
                    StepProblem::Missing { key: "format".to_owned(), example: format!("format = {FORMAT}") };
                Err(self.error(None, TextProblem::Entry { place: "the file".to_owned(), problem }))
            }
        }
    }

    fn table<'t>(&self, root: &'t Table, key: &str) -> Result<Option<&'t dyn TableLike>, ShelfError> {
        match root.get(key) {
            None => Ok(None),
            Some(item) => match item.as_table_like() {
                Some(table) => Ok(Some(table)),
                None => {
                    Err(self.entry(root, key, "", bad(key, item, &format!("[{key}] on a line of its own"))))
                }
            },
        }
    }

    fn steps(&self, root: &Table) -> Result<Vec<StepText>, ShelfError> {
        let Some(item) = root.get("step") else { return Ok(Vec::new()) };
        let Some(tables) = item.as_array_of_tables() else {
            return Err(self.entry(
                root,
                "step",
                "",
                bad("step", item, "[[step]], with two brackets, before each step"),
            ));
        };
        tables.iter().enumerate().map(|(index, table)| self.step(table, index + 1)).collect()
    }

    fn step(&self, table: &Table, number: usize) -> Result<StepText, ShelfError> {
        let place = format!("step {number}");
        let kind = table.get("do").ok_or_else(|| {
            let problem =
                StepProblem::Missing { key: "do".to_owned(), example: "do = \"lengthen\"".to_owned() };
            self.error(table.span().map(|s| s.start), TextProblem::Entry { place: place.clone(), problem })
        })?;
        let kind = kind
            .as_str()
            .ok_or_else(|| self.entry(table, "do", &place, bad("do", kind, "do = \"lengthen\"")))?;
        let mut step = StepText::new(kind);
        for (key, item) in table.iter().filter(|(key, _)| *key != "do") {
            let words = words(key, item).map_err(|problem| self.entry(table, key, &place, problem))?;
            step.entries.push((key.to_owned(), words));
        }
        Ok(step)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample() -> PatternFile {
        let mut file = PatternFile { keep: Keep::Left, ..PatternFile::default() };
        file.record.set("style", "potter's \"long\" apron").unwrap();
        file.record.set("thickness", "1/16in").unwrap();
        file.nudge.set("shift", "-1/16in").unwrap();
        file.nudge.set("turn", "0.25").unwrap();
        file.recipe.names.push(("armhole".to_owned(), "B-C".to_owned()));
        file.recipe.steps = vec![
            StepText::new("lengthen").with("by", "3 1/2in").with("at", "40mm below C"),
            StepText::new("widen").with("total", "2\"").with_list("edges", &["side".to_owned()]),
        ];
        file
    }

    #[test]
    fn what_is_written_reads_back() {
        let text = sample().to_text(&[("photos".to_owned(), "apron.jpg".to_owned())]);
        assert_eq!(PatternFile::from_text(&text).unwrap(), sample());
        assert!(text.contains("by = \"3 1/2in\""), "{text}");
    }

    #[test]
    fn mistakes_are_told_with_their_line() {
        let text = sample().to_text(&[]);
        let lines = |from: &str| 1 + text.lines().take_while(|l| !l.contains(from)).count();
        for (from, to, line, told) in [
            ("[fold]", "[flod]", lines("[fold]"), "did you mean `fold`"),
            ("style =", "stile =", lines("style ="), "did you mean `style`"),
            ("keep = \"left\"", "keep = \"lefd\"", lines("keep ="), "perhaps left"),
            ("keep = \"left\"", "keep = 3", lines("keep ="), "keep = \"mean\""),
            ("armhole = \"B-C\"", "armhole = 3", lines("armhole ="), "armhole = \"B-C\""),
            ("do = \"widen\"", "du = \"widen\"", lines("do = \"widen") - 1, "`do` is missing"),
            ("format = 3", "format = 4", lines("format ="), "format 4, this program reads formats up to 3"),
            ("format = 3", "", 1, "`format` is missing"),
            ("\"-1/16in\"", "\"80mm\"", lines("shift = \"-1"), "at most 50 mm"),
            ("\"-1/16in\"", "3", lines("shift = \"-1"), "no unit"),
            ("\"0.25\"", "\"quarter\"", lines("turn = \"0.25"), "at most 10 degrees"),
            ("\"0.25\"", "11", lines("turn = \"0.25"), "at most 10 degrees"),
            ("turn = \"0.25\"", "drawn = \"0 0 0 9\"", lines("shift = \"-1"), "beside `drawn`"),
            ("\"1/16in\"", "\"-3\"", lines("thickness"), "above zero"),
            ("by = \"3 1/2in\"", "by = 3 1/2in", lines("by = \"3"), "double quotes"),
        ] {
            assert!(text.contains(from), "{from}");
            let changed = text.replacen(from, to, 1);
            let error = PatternFile::from_text(&changed).expect_err(to).to_string();
            assert!(error.contains(told), "{to}: {error}");
            assert!(error.contains(&format!("line {line}:")), "{to}: {error}, not line {line}");
        }
    }

    #[test]
    fn a_step_added_and_taken_off_leaves_every_byte() {
        let step = StepText::new("widen").with("each", "1/2in").with_list("edges", &["side".to_owned()]);
        let mut texts =
            vec![sample().to_text(&[]), "format = 1".to_owned(), "format = 1\n\n\n# end".to_owned()];
        texts.push(texts[0].replace('\n', "\r\n"));
        texts.push("format = 1\n[capture] # by hand, last\nphotos = 'a.jpg'   ".to_owned());
        for text in texts {
            let more = with_step(&text, &step);
            let steps = PatternFile::from_text(&more).unwrap().recipe.steps;
            assert_eq!(steps.last(), Some(&step));
            assert_eq!(without_step(&more, &step), text);
            let twice = with_step(&more, &step);
            assert_eq!(without_step(&twice, &step), more);
        }
    }

    #[test]
    fn a_step_typed_by_hand_is_taken_off_and_comments_stay() {
        let text = "format = 1 # mine\n[[step]]\ndo='widen'\neach='1in'\n\n# longer\n[[step]]\nby = '9cm'\ndo = 'lengthen'\n\n[edges]\nside = 'C-D' # the side\n";
        let steps = PatternFile::from_text(text).unwrap().recipe.steps;
        let less = without_step(text, &steps[1]);
        let file = PatternFile::from_text(&less).unwrap();
        assert_eq!(file.recipe.steps, steps[..1]);
        assert!(
            less.contains("# mine") && less.contains("# the side") && less.contains("do='widen'"),
            "{less}"
        );
    }

    #[test]
    fn a_number_without_quotes_keeps_its_figures() {
        let text = "format = 1\n[[step]]\ndo = \"lengthen\"\nby = 90 # longer\n";
        let file = PatternFile::from_text(text).unwrap();
        assert_eq!(file.recipe.steps[0].entries, [("by".to_owned(), vec!["90".to_owned()])]);
    }
}
