//! `onfold check`: what a careful maker looks at before the knife.

use super::replay;
use crate::pattern::{self, Grade};
use clap::Args;
use std::path::PathBuf;

const STATUS: &str = "\
Exit status: 0 when no fault was found (things to look at do not count), 1 when there is one, 2 wrong usage.
Rules: G geometry, CP common practice without a source, S a published source, judgement where nobody wrote a figure down.";

/// Arguments of `onfold check`.
#[derive(Debug, Args)]
#[command(after_help = STATUS)]
pub(super) struct Check {
    /// The pattern folder
    #[arg(value_name = "DIR")]
    dir: PathBuf,
    /// Say too what was looked at and is good
    #[arg(long)]
    all: bool,
}

impl Check {
    pub(super) fn run(self) -> anyhow::Result<()> {
        let findings = pattern::check(&replay::drafted(&self.dir)?);
        let count = |grade| findings.iter().filter(|f| f.grade == grade).count();
        for finding in findings.iter().filter(|f| self.all || f.grade != Grade::Good) {
            let grade = match finding.grade {
                Grade::Fault => "FAULT",
                Grade::Look => "look",
                Grade::Good => "good",
            };
            println!("{grade}: {}: {}", finding.place, finding.figure);
            println!("  rule: {} [{}]", finding.rule, finding.mark);
        }
        let (faults, looks) = (count(Grade::Fault), count(Grade::Look));
        println!("{} things looked at: {faults} faults, {looks} to look at", findings.len());
        if faults > 0 {
            anyhow::bail!(
                "{faults} of {} checks found a fault; mend the recipe and check again",
                findings.len()
            );
        }
        Ok(())
    }
}
