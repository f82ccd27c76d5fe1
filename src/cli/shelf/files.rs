//! `onfold shelf export`, `import` and `catalogue`.

use super::already;
use super::list::Wanted;
use crate::cli::output::Output;
use crate::export::catalogue::About;
use crate::sheet::Paper;
use crate::shelf::Shelf;
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// Arguments of `onfold shelf export`.
#[derive(Debug, Args)]
pub(super) struct Export {
    /// The pattern's name on the shelf
    name: String,
    /// The zip file to write; `-` for standard output
    #[arg(long, value_name = "FILE.zip")]
    out: Output,
}

/// Arguments of `onfold shelf import`.
#[derive(Debug, Args)]
pub(super) struct Import {
    /// A zip file that `onfold shelf export` wrote
    #[arg(value_name = "FILE.zip")]
    file: PathBuf,
}

/// What the catalogue is printed on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Sheet {
    /// 210 x 297 mm
    A4,
    /// 8 1/2 x 11 in
    Letter,
}

/// Arguments of `onfold shelf catalogue`.
#[derive(Debug, Args)]
pub(super) struct Print {
    #[command(flatten)]
    wanted: Wanted,
    /// Paper
    #[arg(long, value_enum, default_value = "a4")]
    paper: Sheet,
    /// The head of every page
    #[arg(long, value_name = "TEXT", default_value = "Patterns on the shelf")]
    title: String,
    /// The PDF to write; `-` for standard output
    #[arg(long, value_name = "FILE.pdf")]
    out: Output,
}

impl Export {
    pub(super) fn run(self, shelf: &Shelf) -> anyhow::Result<()> {
        self.out.write(&shelf.export(&self.name)?)
    }
}

impl Import {
    pub(super) fn run(self, shelf: &Shelf) -> anyhow::Result<()> {
        match shelf.import(&self.file) {
            Ok(name) => println!("on the shelf: {name}"),
            Err(error) => println!("already on the shelf: {}", already(error)?),
        }
        Ok(())
    }
}

impl Print {
    pub(super) fn run(self, shelf: &Shelf) -> anyhow::Result<()> {
        let query = self.wanted.query();
        if shelf.count(&query)? == 0 {
            anyhow::bail!("nothing like that on the shelf; onfold shelf list shows everything");
        }
        let paper = if self.paper == Sheet::A4 { Paper::A4 } else { Paper::Letter };
        let about = About { title: self.title, paper };
        self.out.write_with(|out| Ok(shelf.catalogue(&query, about, out).map(drop)?))
    }
}
