//! What is printed or taken along: a preview of the pages, and files.

use super::refusal::Refusal;
use super::view::box_of;
use crate::export::full_scale::{self, PrintOn};
use crate::export::tiles::Window;
use crate::export::{Shape, dxf, picture, svg};
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

/// A print as the page shows it.
#[derive(Debug)]
pub(super) struct Printed {
    of: Drafted,
    on: PrintOn,
    /// Every page as SVG.
    pub(super) pages: Vec<String>,
    /// Of every piece the pages that are joined over it; none on a roll.
    pub(super) windows: Vec<Vec<Window>>,
}

impl Printed {
    /// Prints.
    pub(super) fn new(of: &Drafted, on: PrintOn) -> Result<Self, Refusal> {
        let (pages, windows) = full_scale::cut(of, on).map_err(Refusal::cannot)?;
        let pages = pages.iter().map(|page| svg::write("page", page)).collect();
        Ok(Self { of: of.clone(), on, pages, windows })
    }

    /// Whether it is a print of this on that.
    pub(super) fn is(&self, of: &Drafted, on: PrintOn) -> bool {
        self.on == on && self.of == *of
    }

    /// How many pages, and where those that are joined lie on the pieces.
    pub(super) fn told(&self) -> Value {
        let tile = |(name, r): &Window| json!({ "name": name, "box": box_of(*r) });
        let tiles: Vec<Vec<Value>> =
            self.windows.iter().map(|list| list.iter().map(tile).collect()).collect();
        json!({ "pages": self.pages.len(), "tiles": tiles })
    }
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
