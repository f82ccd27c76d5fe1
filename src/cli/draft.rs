//! `onfold draft`: the recipe replayed, and what each step changed.

use super::replay;
use crate::export::json::{self, Outline};
use crate::pattern::{Corrected, Drafted, Folded};
use crate::shelf::{self, Folder};
use crate::units::Unit;
use clap::Args;
use std::path::PathBuf;

/// Arguments of `onfold draft`.
#[derive(Debug, Args)]
pub(super) struct Draft {
    /// The pattern folder
    #[arg(value_name = "DIR")]
    dir: PathBuf,
}

impl Draft {
    pub(super) fn run(self) -> anyhow::Result<()> {
        let _held = shelf::hold(&self.dir)?;
        let folder = Folder::open(&self.dir)?;
        let (folded, drafted) = replay::replay(&folder)?;
        let pieces = drafted.pieces.iter().map(Outline::of_piece).collect::<Result<Vec<_>, _>>()?;
        let path = folder.write_drafted(&json::write("drafted", &pieces))?;
        folder.keep_shown();
        print(&folder.corrected()?, &folded, &drafted, folder.file.drawn_fold.is_some());
        println!("\nwritten: {}", path.display());
        Ok(())
    }
}

fn print(corrected: &Corrected, folded: &Folded, drafted: &Drafted, drawn_fold: bool) {
    // A person who writes steps in inches reads everything in inches.
    let unit = drafted.reports.last().map_or(Unit::Millimetre, |r| r.unit);
    for report in &corrected.reports {
        println!("step {}: {}", report.number, report.spoken);
        for line in report.lines() {
            println!("  {line}");
        }
    }
    if drawn_fold {
        println!("fold: the straight edge that is drawn");
    } else {
        println!(
            "fold: left and right depart by {} in the mean, at most {}",
            unit.show(folded.wear.rms_mm),
            unit.show(folded.wear.worst.right_out_mm.abs()),
        );
    }
    for report in &drafted.reports {
        println!("\nstep {}: {}", report.number, report.spoken);
        for line in report.lines() {
            println!("  {line}");
        }
    }
    if drafted.reports.is_empty() && corrected.reports.is_empty() {
        println!("no steps yet: add them to pattern.toml");
    }
    for piece in &drafted.pieces {
        println!("\n{}, finished line", piece.record.piece);
        for line in piece.lines(unit) {
            println!("  {line}");
        }
    }
}
