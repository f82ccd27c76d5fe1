//! `onfold print`: the drafted pieces at full scale, tiled on pages or on one page of a roll.

use super::output::Output;
use super::replay;
use crate::export::workshop::{self, Workshop};
use crate::export::{pdf, roll, tiles};
use crate::sheet::Paper;
use crate::units::{Length, Unit};
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// What the pattern is printed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum On {
    /// Tiles of 210 x 297 mm
    A4,
    /// Tiles of 8.5 x 11 in
    Letter,
    /// One page a piece, as wide as the roll; the workshop sheets after them are A4, or Letter for a roll told in inches
    Roll,
}

/// Arguments of `onfold print`.
#[derive(Debug, Args)]
pub(super) struct Print {
    /// The pattern folder
    #[arg(value_name = "DIR")]
    dir: PathBuf,
    /// The paper
    #[arg(long, value_enum)]
    paper: On,
    /// The PDF to write; `-` for standard output
    #[arg(long, value_name = "FILE.pdf")]
    out: Output,
    /// Width of the roll, for example 914mm or 36in (914mm if left out)
    #[arg(long, value_name = "LENGTH", value_parser = Length::parse_positive, allow_hyphen_values = true)]
    roll_width: Option<Length>,
}

/// The commonest roll of wide printers, 36 in, millimetres.
const USUAL_ROLL_MM: f64 = 914.0;

impl Print {
    /// The paper of the workshop sheets, which follow the pattern. Whoever says a roll's width in inches has Letter.
    fn sheets(&self) -> Paper {
        let inches = self.roll_width.as_ref().is_some_and(|width| width.unit() == Unit::Inch);
        if self.paper == On::Letter || inches { Paper::Letter } else { Paper::A4 }
    }

    pub(super) fn run(self) -> anyhow::Result<()> {
        if self.paper != On::Roll && self.roll_width.is_some() {
            anyhow::bail!("--roll-width is for --paper roll; leave it out, or choose --paper roll");
        }
        let drafted = replay::drafted(&self.dir)?;
        let pieces = &drafted.pieces;
        let mut pages = match self.paper {
            On::A4 => tiles::pages(pieces, Paper::A4)?,
            On::Letter => tiles::pages(pieces, Paper::Letter)?,
            On::Roll => {
                let width = self.roll_width.as_ref().map_or(USUAL_ROLL_MM, Length::mm);
                pieces.iter().map(|piece| roll::page(piece, width)).collect::<Result<_, _>>()?
            }
        };
        pages.extend(workshop::pages(&Workshop::new(&drafted)?, self.sheets()));
        let title = match pieces.first().map(|piece| piece.record.style.as_str()) {
            None | Some("") => "pattern",
            Some(style) => style,
        };
        let about = pdf::About { title, subject: "full-scale pattern" };
        self.out.write(&pdf::write(&about, &pages)?)
    }
}
