//! The tables as comma-separated values (RFC 4180): lengths in millimetres, areas in square metres, plain numbers.

use super::{Cell, MM2_PER_M2, Workshop};

/// Writes the tables one after another, each under its title and its heads, with an empty line between.
#[must_use]
pub fn csv(workshop: &Workshop) -> String {
    let mut out = String::new();
    for (index, table) in workshop.tables.iter().enumerate() {
        if index > 0 {
            out.push_str("\r\n");
        }
        let mut line = |fields: &[String]| {
            out.push_str(&fields.iter().map(|f| quoted(f)).collect::<Vec<_>>().join(","));
            out.push_str("\r\n");
        };
        line(&[table.title.to_owned()]);
        let unit = |column: usize| {
            let cells = table.rows.iter().map(|row| &row[column]);
            cells.fold("", |known, cell| match cell {
                Cell::Mm(_) => " (mm)",
                Cell::Area(_) => " (m²)",
                _ => known,
            })
        };
        let heads = table.columns.iter().enumerate().map(|(k, head)| format!("{head}{}", unit(k)));
        line(&heads.collect::<Vec<_>>());
        for row in &table.rows {
            line(&row.iter().map(field).collect::<Vec<_>>());
        }
    }
    out
}

fn field(cell: &Cell) -> String {
    match cell {
        Cell::Words(words) => words.clone(),
        Cell::Mm(mm) => format!("{mm:.2}"),
        Cell::Count(count) => count.to_string(),
        Cell::Area(mm2) => format!("{:.4}", mm2 / MM2_PER_M2),
        Cell::Empty => String::new(),
    }
}

fn quoted(field: &str) -> String {
    if field.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", field.replace('"', "\"\""))
    } else {
        field.to_owned()
    }
}
