//! `onfold open`: the page, served to a browser on this computer.

use crate::workbench::{self, Options};
use anyhow::Context;
use clap::Args;
use std::path::PathBuf;

/// Arguments of `onfold open`.
#[derive(Debug, Args)]
pub(super) struct Open {
    /// A pattern folder, or a folder that holds patterns or will
    #[arg(value_name = "DIR", default_value = ".")]
    dir: PathBuf,
    /// The port on this computer; one that is free if left out
    #[arg(long, value_name = "N", default_value_t = 0)]
    port: u16,
}

impl Open {
    pub(super) fn run(self) -> anyhow::Result<()> {
        if !self.dir.exists() {
            std::fs::create_dir_all(&self.dir)
                .with_context(|| format!("cannot make the folder {}", self.dir.display()))?;
        }
        let serving = workbench::serve(&Options { root: self.dir, port: self.port })?;
        println!("the page is at\n  {}", serving.address());
        println!("for this computer alone; end it with Ctrl-C");
        if has_desktop() {
            // Whoever has no browser there still has the address.
            let _ = open::that_detached(serving.address());
        }
        serving.wait();
        Ok(())
    }
}

/// Whether a browser could show itself.
fn has_desktop() -> bool {
    cfg!(not(target_os = "linux"))
        || ["DISPLAY", "WAYLAND_DISPLAY"]
            .iter()
            .any(|name| std::env::var_os(name).is_some_and(|v| !v.is_empty()))
}
