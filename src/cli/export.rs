//! `onfold export`.

use clap::Args;

/// Arguments of `onfold export`.
#[derive(Debug, Args)]
pub(super) struct Export {}

impl Export {
    pub(super) fn run(self) -> anyhow::Result<()> {
        anyhow::bail!("not built yet")
    }
}
