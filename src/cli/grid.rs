//! `onfold grid`.

use clap::Args;

/// Arguments of `onfold grid`.
#[derive(Debug, Args)]
pub(super) struct Grid {}

impl Grid {
    pub(super) fn run(self) -> anyhow::Result<()> {
        anyhow::bail!("not built yet")
    }
}
