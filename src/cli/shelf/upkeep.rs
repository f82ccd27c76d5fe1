//! `onfold shelf record`, `verify` and `rebuild`.

use super::{fields, print_json};
use crate::shelf::{FaultKind, Query, Shelf};
use clap::Args;

/// Arguments of `onfold shelf record`.
#[derive(Debug, Args)]
#[command(after_help = "\
Fields: style, piece, number (1 of 3), quantity, material, thickness, allowance, grain, date, version, supersedes, size,
tags (between commas), notes. An empty value clears a field: notes=")]
pub(super) struct Record {
    /// The pattern's name on the shelf
    name: String,
    /// What to write: material=\"waxed canvas\" tags=apron,potter
    #[arg(value_name = "FIELD=TEXT", required = true)]
    words: Vec<String>,
}

/// Arguments of `onfold shelf rebuild`.
#[derive(Debug, Args)]
pub(super) struct Rebuild {}

/// Arguments of `onfold shelf verify`.
#[derive(Debug, Args)]
pub(super) struct Verify {
    /// Names of patterns; all if left out
    names: Vec<String>,
    /// Take their files as they are now for the right ones, after you changed them by hand
    #[arg(long, requires = "names")]
    accept: bool,
    /// Print JSON: an array, an object a pattern
    #[arg(long, conflicts_with = "accept")]
    json: bool,
}

impl Verify {
    pub(super) fn run(self, shelf: &Shelf) -> anyhow::Result<()> {
        if self.accept {
            for name in &self.names {
                shelf.accept(name)?;
                println!("{name}: taken as it is now");
            }
            return Ok(());
        }
        let found = shelf.verify(&self.names)?;
        if self.json {
            print_json(&found)?;
        } else {
            for pattern in &found {
                for fault in &pattern.faults {
                    let what = match fault.what {
                        FaultKind::Changed => "not as it was written",
                        FaultKind::Missing => "gone",
                        FaultKind::Unreadable => "cannot be read",
                        FaultKind::Unlisted => "put there by hand, has no checksum",
                        FaultKind::NoSums => "does not read, so nothing can be compared",
                    };
                    println!("{}: {}: {what}", pattern.name, fault.file);
                }
            }
            let files: usize = found.iter().map(|pattern| pattern.whole).sum();
            println!("{} patterns, {files} files as they were written", found.len());
        }
        let damaged: Vec<&str> = found
            .iter()
            .filter(|pattern| pattern.is_damaged())
            .map(|pattern| pattern.name.as_str())
            .collect();
        if !damaged.is_empty() {
            anyhow::bail!(
                "not as written: {}. Bring them back from a copy; if you changed them by hand: onfold shelf verify {} --accept",
                damaged.join(", "),
                damaged[0]
            );
        }
        Ok(())
    }
}

impl Record {
    pub(super) fn run(self, shelf: &Shelf) -> anyhow::Result<()> {
        shelf.write_record(&self.name, &fields(&self.words)?)?;
        println!("written: {}", shelf.folder_of(&self.name)?.join("pattern.toml").display());
        Ok(())
    }
}

impl Rebuild {
    pub(super) fn run(self, shelf: &Shelf) -> anyhow::Result<()> {
        let began = std::time::Instant::now();
        let count = shelf.rebuild()?;
        println!("{count} patterns read in {:.1} s", began.elapsed().as_secs_f64());
        shelf.each(&Query::default(), |entry| {
            if let Some(problem) = &entry.problem {
                println!("damaged: {}: {problem}", entry.name);
            }
        })?;
        Ok(())
    }
}
