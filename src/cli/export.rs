//! `onfold export`: the outline at a stage, for other programs and for the eye.

use super::output::Output;
use super::replay;
use crate::export::json::{self, Outline};
use crate::export::{ExportError, open_out, picture, png, svg};
use crate::geometry::{Drawing, Ring};
use crate::pattern::Piece;
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
    /// Lines and curves in millimetres
    Svg,
    /// For plotters and cutters (comes later)
    Dxf,
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
    #[arg(long, value_enum)]
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

/// What is at a stage: plain rings with a name, or pieces that carry letters and dimensions.
enum Found {
    Rings(Vec<(String, Vec<Ring>)>),
    Pieces(Vec<Piece>),
}

impl Export {
    pub(super) fn run(self) -> anyhow::Result<()> {
        if self.format == Format::Dxf {
            anyhow::bail!("DXF comes with a later version; export svg, or json for scripts");
        }
        let found = self.found()?;
        let bytes = match self.format {
            Format::Json | Format::Dxf => json::write(self.stage.word(), &outlines(&found)?).into_bytes(),
            Format::Svg => svg::write(self.stage.word(), &drawing(&found)?).into_bytes(),
            Format::Png => png::write(&drawing(&found)?, DOTS_PER_MM)?,
        };
        self.out.write(&bytes)
    }

    fn found(&self) -> anyhow::Result<Found> {
        let pieces = match self.stage {
            Stage::Traced => {
                let (name, rings) = replay::traced(&self.dir)?;
                return Ok(Found::Rings(vec![(name, rings)]));
            }
            Stage::Folded => vec![replay::folded(&self.dir)?],
            Stage::Drafted => replay::drafted(&self.dir)?.pieces,
        };
        if !self.whole {
            return Ok(Found::Pieces(pieces));
        }
        let opened = pieces.iter().map(|piece| {
            let ring = piece.outline.ring();
            let rings = if piece.outline.on_fold() {
                open_out(&ring, &piece.holes)?
            } else {
                with_holes(ring, piece)
            };
            Ok((piece.record.piece.clone(), rings))
        });
        Ok(Found::Rings(opened.collect::<Result<_, ExportError>>()?))
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

fn with_holes(ring: Ring, piece: &Piece) -> Vec<Ring> {
    std::iter::once(ring).chain(piece.holes.iter().cloned()).collect()
}

fn outlines(found: &Found) -> Result<Vec<Outline<'_>>, ExportError> {
    match found {
        Found::Rings(list) => {
            Ok(list.iter().map(|(name, rings)| Outline { name, rings: rings.clone(), cut: None }).collect())
        }
        Found::Pieces(list) => list.iter().map(Outline::of_piece).collect(),
    }
}

fn drawing(found: &Found) -> Result<Drawing, ExportError> {
    let drawings: Result<Vec<_>, _> = match found {
        Found::Rings(list) => list.iter().map(|(name, rings)| picture::of_rings(name, rings)).collect(),
        Found::Pieces(list) => list.iter().map(picture::of_piece).collect(),
    };
    Ok(picture::row(drawings?))
}
