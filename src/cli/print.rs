//! `onfold print`: the drafted pieces at full scale, tiled on pages or on one page of a roll.

use super::output::Output;
use super::replay;
use crate::export::full_scale::{self, PrintOn};
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

impl Print {
    pub(super) fn run(self) -> anyhow::Result<()> {
        if self.paper != On::Roll && self.roll_width.is_some() {
            anyhow::bail!("--roll-width is for --paper roll; leave it out, or choose --paper roll");
        }
        let on = match (self.paper, &self.roll_width) {
            (On::A4, _) => PrintOn::Pages(Paper::A4),
            (On::Letter, _) => PrintOn::Pages(Paper::Letter),
            (On::Roll, None) => PrintOn::USUAL_ROLL,
            (On::Roll, Some(width)) => PrintOn::roll(width.mm(), width.unit() == Unit::Inch),
        };
        self.out.write(&full_scale::pdf(&replay::drafted(&self.dir)?, on)?)
    }
}
