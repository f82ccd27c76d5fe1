//! `onfold draft`.

use clap::Args;

/// Arguments of `onfold draft`.
#[derive(Debug, Args)]
pub(super) struct Draft {}

impl Draft {
    pub(super) fn run(self) -> anyhow::Result<()> {
        anyhow::bail!("not built yet")
    }
}
