//! `onfold open`: the page, served to a browser on this computer.

use crate::workbench::{self, Clock, Options, Share};
use anyhow::Context;
use clap::Args;
use std::io::IsTerminal;
use std::path::PathBuf;
use std::sync::Arc;

/// Arguments of `onfold open`.
#[derive(Debug, Args)]
pub(super) struct Open {
    /// A pattern folder, or a folder that holds patterns or will
    #[arg(value_name = "DIR", default_value = ".")]
    dir: PathBuf,
    /// The port on this computer; one that is free if left out
    #[arg(long, value_name = "N", default_value_t = 0)]
    port: u16,
    /// Take photographs from a phone on the local network too, for ten minutes
    #[arg(long)]
    share: bool,
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
        if self.share {
            let at = workbench::local_address().context(
                "this computer is on no network over which a phone could reach it; leave --share out",
            )?;
            tell_phone(serving.share(at, Clock::system())?);
        }
        if has_desktop() {
            // Whoever has no browser there still has the address.
            let _ = open::that_detached(serving.address());
        }
        serving.wait();
        Ok(())
    }
}

/// Prints the code for the phone's camera; Enter closes the phone's page.
fn tell_phone(share: Arc<Share>) {
    println!("photographs from a phone on the same network: read this with its camera, or open");
    println!("  {}", share.address());
    if std::io::stdout().is_terminal() {
        print!("{}", half_blocks(&share.squares()));
    }
    println!(
        "for the first phone that comes, ten minutes long; Enter closes it. What is sent is not encrypted"
    );
    std::thread::spawn(move || {
        if std::io::stdin().read_line(&mut String::new()).is_ok_and(|read| read > 0) {
            share.close();
            println!("the phone's page is closed");
        }
    });
}

/// Two rows of squares to a line of text, black on white whatever the terminal's colours are.
fn half_blocks(squares: &[Vec<bool>]) -> String {
    let mut out = String::new();
    for rows in squares.chunks(2) {
        out.push_str("\x1b[30;107m");
        for x in 0..rows[0].len() {
            out.push(match (rows[0][x], rows.get(1).is_some_and(|row| row[x])) {
                (true, true) => '\u{2588}',
                (true, false) => '\u{2580}',
                (false, true) => '\u{2584}',
                (false, false) => ' ',
            });
        }
        out.push_str("\x1b[0m\n");
    }
    out
}

/// Whether a browser could show itself.
fn has_desktop() -> bool {
    cfg!(not(target_os = "linux"))
        || ["DISPLAY", "WAYLAND_DISPLAY"]
            .iter()
            .any(|name| std::env::var_os(name).is_some_and(|v| !v.is_empty()))
}
