//! Changes of one place of `pattern.toml`: the text and a change enter, the changed text leaves; comments and lengths stay
//! as typed.

use super::error::ShelfError;
use super::recipe_text::{FORMAT, set_keeping_decor, step_block, syntax};
use crate::pattern::{NudgeText, StepText};
use toml_edit::{ArrayOfTables, DocumentMut, Item, Table};

/// One change. Steps are counted from 0.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Change {
    /// A new step before the one that stands there now; at the count of steps, after the last one.
    Insert(usize, StepText),
    /// Other words for a step; a comment above it stays.
    Replace(usize, StepText),
    /// A step taken out, with the comment above it.
    Remove(usize),
    /// A step brought to another place in the order.
    Move {
        /// Where it stands.
        from: usize,
        /// Where it is to stand when it has been taken out.
        to: usize,
    },
    /// A key of `[fold]`: `keep`, `top`, `shift`, `turn`. One that an older text did not know makes it one of today's.
    Fold {
        /// Its name.
        key: String,
        /// Its text; empty takes it out.
        text: String,
    },
}

/// The text with the change; `None` for a step that is not there (there are `count`).
///
/// # Errors
/// [`ShelfError::Text`] where the text does not read.
pub(super) fn changed(text: &str, count: usize, change: &Change) -> Result<Option<String>, ShelfError> {
    let mut document = text.parse::<DocumentMut>().map_err(|error| syntax(text, &error))?;
    if let Change::Fold { key, text } = change {
        set_fold(&mut document, key, text);
        return Ok(Some(document.to_string()));
    }
    let there = match change {
        Change::Insert(at, _) => *at <= count,
        Change::Replace(at, _) | Change::Remove(at) => *at < count,
        Change::Move { from, to } => *from < count && *to < count,
        Change::Fold { .. } => true,
    };
    if !there {
        return Ok(None);
    }
    let steps = document.entry("step").or_insert_with(|| Item::ArrayOfTables(ArrayOfTables::new()));
    let Some(steps) = steps.as_array_of_tables_mut() else { return Ok(None) };
    // Tables are written in the order of their positions, so these stay in order whatever moves.
    let mut positions: Vec<isize> = steps.iter().filter_map(Table::position).collect();
    let mut tables: Vec<Table> = steps.iter().cloned().collect();
    match change {
        Change::Insert(at, step) => tables.insert(*at, table_of(step)),
        Change::Replace(at, step) => {
            let mut table = table_of(step);
            *table.decor_mut() = tables[*at].decor().clone();
            tables[*at] = table;
        }
        Change::Remove(at) => {
            tables.remove(*at);
        }
        Change::Move { from, to } => {
            let table = tables.remove(*from);
            tables.insert(*to, table);
        }
        Change::Fold { .. } => {}
    }
    positions.sort_unstable();
    while positions.len() < tables.len() {
        positions.push(positions.last().map_or(LAST, |last| last + 1));
    }
    steps.clear();
    for (mut table, position) in tables.into_iter().zip(positions) {
        table.set_position(Some(position));
        steps.push(table);
    }
    Ok(Some(document.to_string()))
}

/// The place of a first step: after every other table of a file.
const LAST: isize = 1 << 20;

/// A step as a table, a blank line before it.
fn table_of(step: &StepText) -> Table {
    let block = step_block(step).parse::<DocumentMut>().unwrap_or_default();
    let table = block.get("step").and_then(Item::as_array_of_tables).and_then(|steps| steps.get(0)).cloned();
    let mut table = table.unwrap_or_default();
    table.decor_mut().set_prefix("\n");
    table
}

fn set_fold(document: &mut DocumentMut, key: &str, text: &str) {
    let fold = document.entry("fold").or_insert_with(toml_edit::table);
    let Some(fold) = fold.as_table_like_mut() else { return };
    if text.is_empty() {
        fold.remove(key);
        return;
    }
    set_keeping_decor(fold, key, text.into());
    if NudgeText::KEYS.contains(&key) {
        set_keeping_decor(document.as_table_mut(), "format", FORMAT.into());
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const TEXT: &str = "format = 1\n[fold]\nkeep = \"mean\" # both\n\n# first\n[[step]]\ndo = \"a\"\n\n[[step]]\ndo = \"b\"\nby = \"1 1/2in\"\n";

    fn after(change: &Change) -> String {
        changed(TEXT, 2, change).expect("a text").expect("a step that is there")
    }

    #[test]
    fn steps_move_with_their_comments() {
        let moved = after(&Change::Move { from: 0, to: 1 });
        let (b, first) = (moved.find("\"b\"").unwrap(), moved.find("# first").unwrap());
        assert!(b < first && first < moved.find("\"a\"").unwrap(), "{moved}");
        assert!(moved.contains("by = \"1 1/2in\""), "lengths stay as typed: {moved}");
    }

    #[test]
    fn steps_are_put_in_replaced_and_taken_out() {
        let step = StepText::new("c").with("by", "2cm");
        let put = after(&Change::Insert(1, step.clone()));
        let at = |word: &str| put.find(&format!("do = \"{word}\"")).unwrap();
        assert!(at("a") < at("c") && at("c") < at("b"), "{put}");
        let replaced = after(&Change::Replace(0, step.clone()));
        assert!(replaced.contains("# first\n[[step]]\ndo = \"c\"\nby = \"2cm\""), "{replaced}");
        assert!(!after(&Change::Remove(1)).contains("\"b\""));
        assert_eq!(changed(TEXT, 2, &Change::Remove(2)).expect("a text"), None);
        let first = changed("format = 1\n", 0, &Change::Insert(0, step)).unwrap().unwrap();
        assert!(first.contains("[[step]]\ndo = \"c\""), "{first}");
    }

    #[test]
    fn the_fold_keeps_its_comment() {
        let changed = after(&Change::Fold { key: "keep".to_owned(), text: "left".to_owned() });
        assert!(changed.contains("keep = \"left\" # both"), "{changed}");
        assert!(changed.contains("format = 1"), "{changed}");
        let nudged = after(&Change::Fold { key: "shift".to_owned(), text: "-1/16in".to_owned() });
        assert!(nudged.contains("shift = \"-1/16in\"") && nudged.contains("format = 3"), "{nudged}");
    }
}
