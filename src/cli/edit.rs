//! `onfold edit`: a step added to the recipe, or the last one taken back.

use super::replay;
use crate::pattern::StepText;
use crate::shelf::Folder;
use clap::Args;
use std::path::PathBuf;

/// Every step with an example, below the options.
const STEPS: &str = "\
Steps (lengths as you write them: 90mm, 9cm, 3 1/2in; a minus sign takes away; edges by name or letters):
  lengthen by=90mm at=\"40mm below C\"            everything below the line goes down; or edge=hem
  widen total=2in                                the whole side; each=1in says the same; or edges=, at=fold, at=60mm
  move-end edge=armhole point=C each=25mm        one end of an edge, its height kept; neighbour=slides takes it along
  move-point point=C out=10mm down=5mm           a point; its edges keep their far ends
  spread pivot=C edge=hem by=40mm                slashed from the edge to the pivot and opened
  deepen edge=armhole by=10mm                    a curve deeper, or flatter
  straighten edge=side                           a straight line between the ends
  smooth edge=armhole within=1mm                 a wavering curve made fair
  round point=D radius=40mm                      a corner rounded
  square edge=D-E                                a rounded or cut-off corner made plain again
  true point=A                                   square at the fold, or running on smoothly
  allowance edges=side,armhole seam=15mm         or turned=, hem=, turn-down=: the line to cut
  mitre point=D outside=2mm                      the allowances cut off across a corner
Example:
  onfold edit apron lengthen by=90mm at=\"40mm below C\"";

/// Arguments of `onfold edit`.
#[derive(Debug, Args)]
#[command(after_help = STEPS)]
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
        let folder = Folder::open(&self.dir)?;
        if self.undo {
            let (folder, step) = folder.without_last_step()?;
            folder.save()?;
            println!("taken back: {}", spoken(&step));
            return Ok(());
        }
        let folder = folder.with_step(&step_text(&self.step)?)?;
        // Replayed before anything is written: a step that cannot be done leaves the file as it was.
        let (_, drafted) = replay::replay(&folder)?;
        folder.save()?;
        if let Some(report) = drafted.reports.last() {
            println!("step {}: {}", report.number, report.spoken);
            for line in report.lines() {
                println!("  {line}");
            }
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
