//! `onfold demo`.

use clap::Args;

/// Arguments of `onfold demo`.
#[derive(Debug, Args)]
pub(super) struct Demo {}

impl Demo {
    pub(super) fn run(self) -> anyhow::Result<()> {
        anyhow::bail!("not built yet")
    }
}
