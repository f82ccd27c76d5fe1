//! What is printed or taken along: a preview of the pages, and files.

use super::refusal::Refusal;
use crate::export::full_scale::{self, PrintOn};
use crate::export::{Shape, dxf, picture, svg, tiles};
use crate::geometry::Rect;
use crate::pattern::Drafted;
use crate::sheet::Paper;
use crate::units::{Length, Unit};
use serde_json::{Value, json};

/// The paper asked for.
///
/// # Errors
/// A paper that is not known, a width that does not read.
pub(super) fn print_on(paper: &str, width: &str) -> Result<PrintOn, Refusal> {
    match paper {
        "a4" => Ok(PrintOn::Pages(Paper::A4)),
        "letter" => Ok(PrintOn::Pages(Paper::Letter)),
        "roll" if width.trim().is_empty() => Ok(PrintOn::USUAL_ROLL),
        "roll" => {
            let width = Length::parse_positive(width).map_err(Refusal::cannot)?;
            Ok(PrintOn::roll(width.mm(), width.unit() == Unit::Inch))
        }
        _ => Err(Refusal::cannot("the paper is a4, letter or roll")),
    }
}

/// Every page as SVG.
pub(super) fn pages(drafted: &Drafted, on: PrintOn) -> Result<Vec<String>, Refusal> {
    let pages = full_scale::pages(drafted, on).map_err(Refusal::cannot)?;
    Ok(pages.iter().map(|page| svg::write("page", page)).collect())
}

/// Where the tiles lie on each piece; none on a roll.
pub(super) fn tiles(drafted: &Drafted, on: PrintOn) -> Result<Vec<Value>, Refusal> {
    let PrintOn::Pages(paper) = on else { return Ok(Vec::new()) };
    let of = |piece| {
        let windows = tiles::windows(piece, paper).map_err(Refusal::cannot)?;
        let tile =
            |(name, r): (String, Rect)| json!({ "name": name, "box": [r.x0, r.y0, r.width(), r.height()] });
        Ok(windows.into_iter().map(tile).collect())
    };
    drafted.pieces.iter().map(of).collect()
}

/// A file to take along: its media type and its bytes, the same as the commands write.
pub(super) fn file(drafted: &Drafted, name: &str, on: PrintOn) -> Result<(&'static str, Vec<u8>), Refusal> {
    let pieces = &drafted.pieces;
    match name {
        "pattern.pdf" => {
            let bytes = full_scale::pdf(drafted, on).map_err(Refusal::cannot)?;
            Ok(("application/pdf", bytes))
        }
        "pattern.svg" => {
            let drawings = pieces.iter().map(picture::of_piece).collect::<Result<_, _>>();
            let drawing = picture::row(drawings.map_err(Refusal::cannot)?);
            Ok(("image/svg+xml", svg::write("drafted", &drawing).into_bytes()))
        }
        "pattern.dxf" => {
            let shapes = pieces.iter().map(Shape::of_piece).collect::<Result<Vec<_>, _>>();
            let shapes = shapes.map_err(Refusal::cannot)?;
            let record = shapes.iter().find_map(|shape| shape.record.as_ref());
            let about = record.map_or_else(dxf::About::default, |record| dxf::About {
                style: &record.style,
                date: &record.date,
            });
            let text = dxf::write(&about, &shapes).map_err(Refusal::cannot)?;
            Ok(("application/dxf", text.into_bytes()))
        }
        _ => Err(Refusal::nothing_there("the files are pattern.pdf, pattern.svg and pattern.dxf")),
    }
}
