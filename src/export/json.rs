//! JSON: outlines in, one object out, for scripts.
//!
//! ```text
//! {"unit":"mm","stage":"traced","pieces":[{"name":"body","rings":[[[x,y],...],...]}],"rings":[[[x,y],...],...]}
//! ```
//! The first ring is the outer line, further rings are holes; `rings` once more at the top is the first piece's, for
//! tools that read a single outline. Chords depart from the exact curve by at most 0.01 mm; numbers have four
//! decimals, so the same outline gives the same bytes.

use crate::geometry::Ring;
use std::fmt::Write as _;

/// How far a chord may depart from the curve, millimetres: a fifth of the finest line a plotter draws.
pub const CHORD_MM: f64 = 0.01;

/// One piece to write: its name and its rings, the outer one first.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline<'a> {
    /// Its name.
    pub name: &'a str,
    /// Outer line, then holes.
    pub rings: Vec<Ring>,
}

/// Writes pieces at a stage (`traced`, `folded` or `drafted`).
#[must_use]
pub fn write(stage: &str, pieces: &[Outline<'_>]) -> String {
    let listed: Vec<String> = pieces
        .iter()
        .map(|piece| format!("{{\"name\":{},\"rings\":{}}}", quoted(piece.name), rings(&piece.rings)))
        .collect();
    let first = pieces.first().map_or_else(|| "[]".to_owned(), |piece| rings(&piece.rings));
    format!(
        "{{\"unit\":\"mm\",\"stage\":{},\"pieces\":[{}],\"rings\":{first}}}\n",
        quoted(stage),
        listed.join(",")
    )
}

fn quoted(text: &str) -> String {
    serde_json::Value::from(text).to_string()
}

fn rings(list: &[Ring]) -> String {
    let mut out = String::from("[");
    for (i, ring) in list.iter().enumerate() {
        out.push_str(if i == 0 { "[" } else { ",[" });
        for (j, p) in ring.flatten(CHORD_MM).iter().enumerate() {
            let comma = if j == 0 { "" } else { "," };
            // Adding nought turns a negative nought into a plain one.
            let _ = write!(out, "{comma}[{:.4},{:.4}]", round(p.x), round(p.y));
        }
        out.push(']');
    }
    out.push(']');
    out
}

/// To four decimals, and never a negative nought.
fn round(v: f64) -> f64 {
    (v * 1e4).round() / 1e4 + 0.0
}
