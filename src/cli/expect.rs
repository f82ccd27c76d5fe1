//! `--expect`: what a tape measure says of the garment, set beside what was traced.

use super::capture::DEPART_MM;
use crate::capture::{Captured, ReportExpected};
use crate::curve::Tolerance;
use crate::pattern::{self, FoldOptions, Letter, Piece, Record};
use crate::units::Length;
use anyhow::Context;

/// Two places of the garment.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Span {
    /// The whole garment, top to bottom.
    Height,
    /// The whole garment, side to side.
    Width,
    /// Straight between two lettered points of the half.
    Points(Letter, Letter),
}

/// One entry, for example `A-B=412mm` or `height=95cm`.
#[derive(Debug, Clone)]
pub(super) struct Expected {
    name: String,
    span: Span,
    mm: f64,
}

/// Reads an entry.
pub(super) fn expected(text: &str) -> Result<Expected, String> {
    let how =
        || "give two lettered points or height or width, and a length, for example A-B=412mm".to_owned();
    let (name, length) = text.split_once('=').ok_or_else(how)?;
    let name = name.trim();
    let span = match name.to_ascii_lowercase().as_str() {
        "height" => Span::Height,
        "width" => Span::Width,
        _ => {
            let (from, to) = name.split_once('-').ok_or_else(how)?;
            let letter = |t: &str| Letter::parse(t.trim()).ok_or_else(how);
            Span::Points(letter(from)?, letter(to)?)
        }
    };
    let mm = Length::parse_positive(length.trim()).map_err(|e| e.to_string())?.mm();
    Ok(Expected { name: name.to_owned(), span, mm })
}

/// Sets every entry beside what was traced, in the report.
pub(super) fn compare(entries: &[Expected], captured: &mut Captured) -> anyhow::Result<()> {
    let lettered = entries.iter().any(|e| matches!(e.span, Span::Points(..)));
    let half = if lettered { Some(half(captured)?) } else { None };
    for entry in entries {
        let found_mm = match entry.span {
            Span::Height => captured.report.height_mm,
            Span::Width => captured.report.width_mm,
            Span::Points(from, to) => {
                let place = |letter: Letter| {
                    let points = half.iter().flat_map(|h| h.outline.points());
                    let found = points.into_iter().find(|p| p.0 == letter).map(|p| p.1);
                    found.with_context(|| {
                        format!(
                            "--expect {}: the half has no point {letter}; `onfold export` shows its letters",
                            entry.name
                        )
                    })
                };
                place(from)?.distance(place(to)?)
            }
        };
        captured.report.expect(ReportExpected { name: entry.name.clone(), wanted_mm: entry.mm, found_mm });
    }
    Ok(())
}

/// The half with its letters, as every later command will have it.
fn half(captured: &Captured) -> anyhow::Result<Piece> {
    let tolerance = Tolerance { depart_mm: DEPART_MM, ..Tolerance::default() };
    let options = FoldOptions { tolerance, ..FoldOptions::default() };
    let folded = pattern::fold(&captured.outer.fitted, &[], &options)
        .context("lettered points need a garment that folds on its middle")?;
    Ok(Piece::from_folded(&folded, Record::default()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn entries_are_read_as_people_write_them() {
        let letter = |t| Letter::parse(t).expect("a letter");
        let read = expected("A-B = 16 1/2in").expect("an entry");
        assert_eq!(read.span, Span::Points(letter("A"), letter("B")));
        assert!((read.mm - 419.1).abs() < 1e-9);
        assert_eq!(expected("height=95cm").expect("an entry").span, Span::Height);
        for wrong in ["A-B", "A=3mm", "A-B=long", "A-B=-3mm", "depth=3mm"] {
            assert!(expected(wrong).is_err(), "{wrong}");
        }
    }
}
