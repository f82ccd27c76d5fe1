//! JSON: outlines in, one object out, for scripts.
//!
//! ```text
//! {"unit":"mm","stage":"traced","pieces":[{"name":"body","rings":[[[x,y],...],...]}],"rings":[[[x,y],...],...]}
//! ```
//! A drafted piece with allowances has `"cut":[[x,y],...]` beside `rings`: the line that the knife follows. `rings` are
//! always the finished lines. The first ring is the outer line, further rings are holes; `rings` once more at the top is the first piece's, for
//! tools that read a single outline. Chords depart from the exact curve by at most 0.01 mm; numbers have four
//! decimals, so the same outline gives the same bytes.

use super::{ExportError, Shape};
use crate::geometry::Ring;
use crate::pattern::Piece;
use std::fmt::Write as _;

/// How far a chord may depart from the curve, millimetres: a fifth of the finest line a plotter draws.
pub const CHORD_MM: f64 = 0.01;

/// One piece to write: its name and its rings, the outer one first.
#[derive(Debug, Clone, PartialEq)]
pub struct Outline<'a> {
    /// Its name.
    pub name: &'a str,
    /// Outer line, then holes: the finished lines.
    pub rings: Vec<Ring>,
    /// The line that the knife follows, where it is another.
    pub cut: Option<Ring>,
}

impl<'a> Outline<'a> {
    /// A shape with its cut line.
    #[must_use]
    pub fn of_shape(shape: &'a Shape) -> Self {
        let rings = std::iter::once(&shape.closed).chain(&shape.holes).cloned().collect();
        let cut = (shape.outer != shape.closed).then(|| shape.outer.clone());
        Self { name: &shape.name, rings, cut }
    }

    /// A piece with its cut line.
    ///
    /// # Errors
    /// [`ExportError::Allowance`] when it has none; never for a piece that was drafted.
    pub fn of_piece(piece: &'a Piece) -> Result<Self, ExportError> {
        let rings = std::iter::once(piece.outline.ring()).chain(piece.holes.iter().cloned()).collect();
        Ok(Self { name: &piece.record.piece, rings, cut: piece.cut_line()?.map(|cut| cut.ring) })
    }
}

/// Writes pieces at a stage (`traced`, `folded` or `drafted`).
#[must_use]
pub fn write(stage: &str, pieces: &[Outline<'_>]) -> String {
    let written: Vec<String> = pieces.iter().map(|piece| rings(&piece.rings)).collect();
    let listed: Vec<String> = pieces
        .iter()
        .zip(&written)
        .map(|(piece, rings)| {
            let cut = piece.cut.as_ref().map_or_else(String::new, |cut| format!(",\"cut\":{}", ring(cut)));
            format!("{{\"name\":{},\"rings\":{rings}{cut}}}", quoted(piece.name))
        })
        .collect();
    let first = written.first().map_or("[]", |rings| rings.as_str());
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
    format!("[{}]", list.iter().map(ring).collect::<Vec<_>>().join(","))
}

fn ring(ring: &Ring) -> String {
    let mut out = String::from("[");
    for (j, p) in ring.flatten(CHORD_MM).iter().enumerate() {
        let comma = if j == 0 { "" } else { "," };
        let _ = write!(out, "{comma}[{},{}]", number(p.x), number(p.y));
    }
    out.push(']');
    out
}

/// With four decimals, and never a negative nought: half the time of a general way to write a number.
#[expect(clippy::cast_possible_truncation, reason = "millimetres; a cast saturates")]
fn number(v: f64) -> String {
    let steps = (v * 1e4).round() as i64;
    let sign = if steps < 0 { "-" } else { "" };
    let size = steps.unsigned_abs();
    format!("{sign}{}.{:04}", size / 10_000, size % 10_000)
}
