//! The sheets as plain text, columns in line.

use super::Workshop;
use std::fmt::Write as _;

/// Writes everything.
#[must_use]
pub fn text(workshop: &Workshop) -> String {
    let mut out = format!("{}\n{}\n", workshop.style, workshop.edition.trim_end());
    for table in workshop.tables.iter().filter(|table| !table.rows.is_empty()) {
        let heads = table.columns.iter().map(|head| (*head).to_owned()).collect();
        let rows = table.rows.iter().map(|row| row.iter().map(super::Cell::shown).collect());
        let rows: Vec<Vec<String>> = std::iter::once(heads).chain(rows).collect();
        let width = |k: usize| rows.iter().map(|row| row[k].chars().count()).max().unwrap_or(0);
        let _ = writeln!(out, "\n{}\n", table.title);
        for row in &rows {
            let mut line = String::new();
            for (k, field) in row.iter().enumerate() {
                let blanks = width(k) + 2 - field.chars().count();
                let _ = write!(line, "{field}{}", " ".repeat(blanks));
            }
            let _ = writeln!(out, "  {}", line.trim_end());
        }
    }
    let _ = writeln!(out, "\nOrder of making\n");
    for (number, step) in workshop.steps.iter().enumerate() {
        let _ = writeln!(out, "{:>3}. {}", number + 1, step.title);
        for line in &step.lines {
            let _ = writeln!(out, "     {line}");
        }
    }
    let _ = writeln!(out, "\nBeware\n");
    for caution in &workshop.cautions {
        let _ = writeln!(out, "  - {caution}");
    }
    out
}
