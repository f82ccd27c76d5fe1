//! `onfold shelf new-version` and `compare`.

use super::{fields, print_json};
use crate::cli::output::Output;
use crate::shelf::Shelf;
use clap::Args;

/// Arguments of `onfold shelf new-version`.
#[derive(Debug, Args)]
pub(super) struct NewVersion {
    /// The pattern's name on the shelf
    name: String,
    /// A field of the new record to write: notes="wider pockets"; give it again for a second one
    #[arg(long = "set", value_name = "FIELD=TEXT")]
    set: Vec<String>,
}

/// Arguments of `onfold shelf compare`.
#[derive(Debug, Args)]
pub(super) struct Compare {
    /// The older one
    first: String,
    /// The newer one
    second: String,
    /// The overlay picture (PNG) to write; `-` for standard output
    #[arg(long, value_name = "FILE.png")]
    out: Option<Output>,
    /// Print the differences as JSON
    #[arg(long)]
    json: bool,
}

impl NewVersion {
    pub(super) fn run(self, shelf: &Shelf) -> anyhow::Result<()> {
        let name = shelf.new_version(&self.name, &fields(&self.set)?)?;
        println!("on the shelf: {name}, which supersedes {}", self.name);
        println!("next: onfold edit {} ...", shelf.folder_of(&name)?.display());
        Ok(())
    }
}

impl Compare {
    pub(super) fn run(self, shelf: &Shelf) -> anyhow::Result<()> {
        let found = shelf.compare(&self.first, &self.second)?;
        if let Some(out) = &self.out {
            out.write(&found.picture)?;
            if *out == Output::Standard {
                return Ok(());
            }
        }
        if self.json {
            return print_json(&found.differences);
        }
        if found.differences.is_empty() {
            println!("no difference");
        }
        for d in &found.differences {
            let or_none = |text: &str| if text.is_empty() { "-".to_owned() } else { text.to_owned() };
            let change = d.change.map(|by| format!("  ({by:+.1})")).unwrap_or_default();
            println!("{:10} {:22} {} -> {}{change}", d.of, d.what, or_none(&d.first), or_none(&d.second));
        }
        Ok(())
    }
}
