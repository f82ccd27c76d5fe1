//! `onfold shelf`: a shop's patterns in one folder. One file a command, or a few that belong together.

mod add;
mod files;
mod list;
mod show;
mod upkeep;
mod versions;

use crate::shelf::{Shelf as Store, ShelfError};
use clap::{Args, Subcommand};
use std::path::PathBuf;

/// Where the shelf stands when nobody says.
const VARIABLE: &str = "ONFOLD_SHELF";
/// Its folder in the user's own.
const USUAL: &str = "onfold-shelf";

/// Arguments of `onfold shelf`.
#[derive(Debug, Args)]
#[command(after_help = "\
The shelf is a folder of pattern folders, plain files. It is the folder onfold-shelf in your own folder, unless --shelf or
the environment's ONFOLD_SHELF names another. onfold edit, draft, print and export take the folders on it as any other.")]
pub(super) struct Shelf {
    #[command(subcommand)]
    task: Task,
    /// The shelf's folder
    #[arg(long, global = true, value_name = "FOLDER")]
    shelf: Option<PathBuf>,
}

#[derive(Debug, Subcommand)]
enum Task {
    /// Put pattern folders on the shelf, or capture photographs onto it
    Add(add::Add),
    /// List every pattern
    List(list::List),
    /// Find patterns by words, piece, material, size, tags, dates
    Search(list::Search),
    /// Show one pattern: its record, its pieces and how well it was traced
    Show(show::Show),
    /// Set fields of a pattern's record, for example: onfold shelf record apron material=canvas
    Record(upkeep::Record),
    /// Copy a pattern as its next version, which supersedes it
    NewVersion(versions::NewVersion),
    /// Lay two versions over each other: a picture, and what differs
    Compare(versions::Compare),
    /// Read every file and compare it with its checksum
    Verify(upkeep::Verify),
    /// Write one pattern as a single zip file
    Export(files::Export),
    /// Put the pattern of a zip file on the shelf
    Import(files::Import),
    /// Print a catalogue (PDF): a picture, name, pieces, measures and date of each
    Catalogue(files::Print),
    /// Make the index anew from the folders
    Rebuild(upkeep::Rebuild),
}

impl Shelf {
    pub(super) fn run(self) -> anyhow::Result<()> {
        let dir = place(self.shelf)?;
        match self.task {
            Task::Add(task) => task.run(&Store::open_or_make(&dir)?),
            Task::List(task) => task.run(&Store::open(&dir)?),
            Task::Search(task) => task.run(&Store::open(&dir)?),
            Task::Show(task) => task.run(&Store::open(&dir)?),
            Task::Record(task) => task.run(&Store::open(&dir)?),
            Task::NewVersion(task) => task.run(&Store::open(&dir)?),
            Task::Compare(task) => task.run(&Store::open(&dir)?),
            Task::Verify(task) => task.run(&Store::open(&dir)?),
            Task::Export(task) => task.run(&Store::open(&dir)?),
            Task::Import(task) => task.run(&Store::open_or_make(&dir)?),
            Task::Catalogue(task) => task.run(&Store::open(&dir)?),
            Task::Rebuild(task) => task.run(&Store::open(&dir)?),
        }
    }
}

fn place(told: Option<PathBuf>) -> anyhow::Result<PathBuf> {
    if let Some(dir) =
        told.or_else(|| std::env::var_os(VARIABLE).filter(|v| !v.is_empty()).map(PathBuf::from))
    {
        return Ok(dir);
    }
    let home = std::env::home_dir().filter(|home| !home.as_os_str().is_empty());
    let home = home.ok_or_else(|| anyhow::anyhow!("where is the shelf? give --shelf FOLDER"))?;
    Ok(home.join(USUAL))
}

/// `key=value` words as fields of a record.
fn fields(words: &[String]) -> anyhow::Result<Vec<(&str, &str)>> {
    let mut out = Vec::new();
    for word in words {
        let (key, text) = word.split_once('=').ok_or_else(|| {
            anyhow::anyhow!("`{word}` is not field=text; write for example material=\"waxed canvas\"")
        })?;
        out.push((key.trim(), text.trim()));
    }
    Ok(out)
}

/// Prints JSON on one line.
fn print_json(value: &impl serde::Serialize) -> anyhow::Result<()> {
    println!("{}", serde_json::to_string(value)?);
    Ok(())
}

/// Already there is no mishap: a run that was cut off is taken up again.
fn already(error: ShelfError) -> Result<String, ShelfError> {
    match error {
        ShelfError::AlreadyThere { name } => Ok(name),
        other => Err(other),
    }
}
