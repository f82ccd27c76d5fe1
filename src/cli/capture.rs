//! `onfold capture`.

use clap::Args;

/// Arguments of `onfold capture`.
#[derive(Debug, Args)]
pub(super) struct Capture {}

impl Capture {
    pub(super) fn run(self) -> anyhow::Result<()> {
        anyhow::bail!("not built yet")
    }
}
