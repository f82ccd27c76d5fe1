//! `onfold export`: the outline at a stage, for other programs and for the eye.

use super::output::Output;
use super::replay;
use crate::export::json::{self, Outline};
use crate::export::workshop::{self, Workshop};
use crate::export::{ExportError, Shape, dxf, hpgl, pdf, picture, png, svg};
use crate::geometry::Drawing;
use crate::pattern::Piece;
use crate::sheet::Paper;
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// How far the outline has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Stage {
    /// As it lay on the table
    Traced,
    /// The half, before any step
    Folded,
    /// After the last step
    Drafted,
}

/// What is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Format {
    /// Points in millimetres, for scripts
    Json,
    /// Lines and curves in millimetres, a group a layer
    Svg,
    /// Release 12 after ASTM D6673, a block a piece: for cutters and drawing programs
    Dxf,
    /// HP-GL/2, for pen plotters
    Hpgl,
    /// A page a piece at full scale, with layers
    Pdf,
    /// Workshop sheets to print: measures, what to cut and to buy, the order of making
    Sheets,
    /// The same as plain text
    Text,
    /// Their tables, comma-separated
    Csv,
    /// A picture
    Png,
}

/// Arguments of `onfold export`.
#[derive(Debug, Args)]
pub(super) struct Export {
    /// The pattern folder
    #[arg(value_name = "DIR")]
    dir: PathBuf,
    /// Which outline
    #[arg(long, value_enum, default_value = "drafted")]
    stage: Stage,
    /// Open the half out to the whole
    #[arg(long)]
    whole: bool,
    /// How it is written
    #[arg(long, value_enum)]
    format: Format,
    /// The file to write; `-` for standard output
    #[arg(long, value_name = "FILE")]
    out: Output,
}

/// Pixels to a millimetre of a picture: a garment of a metre is 3000 pixels high, enough for any screen.
const DOTS_PER_MM: f64 = 3.0;

/// What is at a stage: pieces that carry letters and dimensions, or shapes without them.
enum Found {
    Shapes(Vec<Shape>),
    Pieces(Vec<Piece>),
}

impl Export {
    pub(super) fn run(self) -> anyhow::Result<()> {
        let found = self.found()?;
        let bytes = match self.format {
            Format::Sheets | Format::Text | Format::Csv => return self.workshop(),
            Format::Json => json::write(self.stage.word(), &found.outlines()?).into_bytes(),
            Format::Svg => svg::write(self.stage.word(), &found.drawing()?).into_bytes(),
            Format::Dxf => {
                let shapes = found.shapes()?;
                let record = shapes.iter().find_map(|shape| shape.record.as_ref());
                let about = record.map_or_else(dxf::About::default, |record| dxf::About {
                    style: &record.style,
                    date: &record.date,
                });
                dxf::write(&about, &shapes)?.into_bytes()
            }
            Format::Hpgl => hpgl::write(&found.drawing()?).into_bytes(),
            Format::Pdf => {
                let about = pdf::About { title: "pattern", subject: self.stage.word() };
                pdf::write(&about, &found.drawings()?)?
            }
            Format::Png => png::write(&found.drawing()?, DOTS_PER_MM)?,
        };
        self.out.write(&bytes)
    }

    /// Tables and steps, which only drafted pieces have.
    fn workshop(&self) -> anyhow::Result<()> {
        if self.stage != Stage::Drafted {
            anyhow::bail!(
                "workshop sheets are made of the drafted pieces; leave out --stage, or give --stage drafted"
            );
        }
        let sheets = Workshop::new(&replay::drafted(&self.dir)?)?;
        let bytes = match self.format {
            Format::Csv => workshop::csv(&sheets).into_bytes(),
            Format::Text => workshop::text(&sheets).into_bytes(),
            _ => {
                let about = pdf::About { title: &sheets.style, subject: "workshop sheets" };
                pdf::write(&about, &workshop::pages(&sheets, Paper::A4))?
            }
        };
        self.out.write(&bytes)
    }

    fn found(&self) -> anyhow::Result<Found> {
        let pieces = match self.stage {
            Stage::Traced => {
                let (name, rings) = replay::traced(&self.dir)?;
                return Ok(Found::Shapes(vec![Shape::of_rings(&name, &rings)?]));
            }
            Stage::Folded => vec![replay::folded(&self.dir)?],
            Stage::Drafted => replay::drafted(&self.dir)?.pieces,
        };
        if !self.whole {
            return Ok(Found::Pieces(pieces));
        }
        let opened = pieces.iter().map(|piece| Shape::of_piece(piece)?.opened());
        Ok(Found::Shapes(opened.collect::<Result<_, ExportError>>()?))
    }
}

impl Found {
    fn shapes(&self) -> Result<Vec<Shape>, ExportError> {
        match self {
            Self::Shapes(list) => Ok(list.clone()),
            Self::Pieces(list) => list.iter().map(Shape::of_piece).collect(),
        }
    }

    fn outlines(&self) -> Result<Vec<Outline<'_>>, ExportError> {
        match self {
            Self::Shapes(list) => Ok(list.iter().map(Outline::of_shape).collect()),
            Self::Pieces(list) => list.iter().map(Outline::of_piece).collect(),
        }
    }

    fn drawings(&self) -> Result<Vec<Drawing>, ExportError> {
        match self {
            Self::Shapes(list) => Ok(list.iter().map(picture::of_shape).collect()),
            Self::Pieces(list) => list.iter().map(picture::at_full_scale).collect(),
        }
    }

    fn drawing(&self) -> Result<Drawing, ExportError> {
        Ok(picture::row(match self {
            Self::Shapes(list) => list.iter().map(picture::of_shape).collect(),
            Self::Pieces(list) => list.iter().map(picture::of_piece).collect::<Result<_, _>>()?,
        }))
    }
}

impl Stage {
    const fn word(self) -> &'static str {
        match self {
            Self::Traced => "traced",
            Self::Folded => "folded",
            Self::Drafted => "drafted",
        }
    }
}
