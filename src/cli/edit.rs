//! `onfold edit`: a step added to the recipe, or the last one taken back.

use crate::pattern::{self, StepText};
use crate::shelf::{self, Folder, ShelfError};
use clap::Args;
use std::path::PathBuf;

/// Arguments of `onfold edit`.
#[derive(Debug, Args)]
#[command(after_help = pattern::STEPS)]
pub(super) struct Edit {
    /// The pattern folder
    #[arg(value_name = "DIR")]
    dir: PathBuf,
    /// What to do, then its keys: lengthen by=90mm. A list has commas: edges=armhole,side
    #[arg(value_name = "STEP", required_unless_present = "undo", conflicts_with = "undo")]
    step: Vec<String>,
    /// Take the last step back
    #[arg(long)]
    undo: bool,
}

impl Edit {
    pub(super) fn run(self) -> anyhow::Result<()> {
        // Held from reading to writing, so that two edits at once both count.
        let _held = shelf::hold(&self.dir)?;
        let folder = Folder::open(&self.dir)?;
        if self.undo {
            let (folder, step) = folder.without_last_step()?;
            folder.save()?;
            folder.keep_shown();
            println!("taken back: {}", spoken(&step));
            return Ok(());
        }
        let before = folder.clone();
        let folder = folder.with_step(&step_text(&self.step)?)?;
        // Replayed before anything is written: a step that cannot be done leaves the file as it was.
        let replayed = folder.replay();
        let unfolded = match &replayed {
            Err(ShelfError::Fold(error)) if folder.may_stay_unfolded(&before) => Some(error.clone()),
            _ => None,
        };
        let drafted = if unfolded.is_some() { None } else { Some(replayed?.1) };
        folder.save()?;
        folder.keep_shown();
        let corrected = folder.corrected()?;
        let told = match (corrected.reports.last(), drafted.as_ref().and_then(|d| d.reports.last())) {
            (Some(c), d) if d.is_none_or(|d| d.number < c.number) => Some((c.number, &c.spoken, c.lines())),
            (_, report) => report.map(|r| (r.number, &r.spoken, r.lines())),
        };
        if let Some((number, spoken, lines)) = told {
            println!("step {number}: {spoken}");
            for line in lines {
                println!("  {line}");
            }
        }
        if let Some(error) = unfolded {
            println!("not folded yet: {error}");
        }
        Ok(())
    }
}

/// `lengthen by=90mm at=C` as words.
fn step_text(words: &[String]) -> anyhow::Result<StepText> {
    let (kind, keys) = words
        .split_first()
        .ok_or_else(|| anyhow::anyhow!("say what to do, for example: lengthen by=90mm"))?;
    let mut step = StepText::new(kind);
    for word in keys {
        let Some((key, value)) = word.split_once('=') else {
            anyhow::bail!(
                "`{word}` is not key=value; write for example: {kind} by=90mm (put words with blanks in quotes)"
            );
        };
        // A comma parts a list, but not the figures of a length: 16,5cm.
        let values = if StepText::is_list(key) {
            value.split(',').map(|v| v.trim().to_owned()).collect()
        } else {
            vec![value.to_owned()]
        };
        step.entries.push((key.to_owned(), values));
    }
    Ok(step)
}

fn spoken(step: &StepText) -> String {
    let keys = step.entries.iter().map(|(key, values)| format!(" {key}={}", values.join(",")));
    step.kind.clone() + &keys.collect::<String>()
}
