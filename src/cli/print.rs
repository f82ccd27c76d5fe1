//! `onfold print`.

use clap::Args;

/// Arguments of `onfold print`.
#[derive(Debug, Args)]
pub(super) struct Print {}

impl Print {
    pub(super) fn run(self) -> anyhow::Result<()> {
        anyhow::bail!("not built yet")
    }
}
