//! `onfold edit`: a step added to the recipe, or the last one taken back.

use super::replay;
use crate::pattern::StepText;
use crate::shelf::Folder;
use clap::Args;
use std::path::PathBuf;

/// Every step with an example, below the options.
const STEPS: &str = "\
Steps (lengths as you write them: 90mm, 9cm, 3 1/2in; a minus sign takes away; edges by name or letters; every step takes
piece=NAME, left out it is the body; a place on the line is \"120mm along side\", \"40mm back along side\", \"middle of
side\" or a letter):
Steps that change the finished line:
  lengthen by=90mm at=\"40mm below C\"            everything below the line goes down; or edge=hem
  widen total=2in                                the whole side; each=1in says the same; or edges=, at=fold, at=60mm
  move-end edge=armhole point=C each=25mm        one end of an edge, its height kept; neighbour=slides takes it along
  move-point point=C out=10mm down=5mm           a point; its edges keep their far ends
  rotate pivot=B edges=armhole by=15mm           edges turned about one of their ends
  spread pivot=C edge=hem by=40mm                slashed from the edge to the pivot and opened
  deepen edge=armhole by=10mm                    a curve deeper, or flatter
  straighten edge=side                           a straight line between the ends
  smooth edge=armhole within=1mm                 a wavering curve made fair
  round point=D radius=40mm                      a corner rounded
  square edge=D-E                                a rounded or cut-off corner made plain again
  true point=A                                   square at the fold, or running on smoothly
  shrinkage down=5 across=2                      larger for a material that shrinks, in percent
  open                                           the half opened out to the whole
  name edge=E-A as=middle                        a name for an edge that has none
  allowance edges=side,armhole seam=15mm         or turned=, hem=, turn-down=: the line to cut; turn=added
  tab at=\"middle of top\" width=40mm depth=30mm   a tab folded over part of an edge; taper=
  mitre point=D outside=2mm                      the allowances cut off across a corner
  corner point=D style=square                    or full, mitred; butted, folded-back with first=EDGE; rim=
  notch at=\"120mm along side\" style=double       single or double
  match at=\"middle of side\"                      marks that meet when an allowance is folded in
  stitch edges=side,hem pitch=4mm through=3mm    holes in every corner, thread; inset=, stitch=lockstitch
  skive edges=side width=24mm                    thinned from the cut edge to there; left out: twice the turn
  glue edges=side width=20mm                     cement to there
  slits edge=armhole                             slits or V-cuts in a turned curve
  hole out=60mm down=90mm diameter=4mm           punched, or how=drill; holds=\"rivet 9 mm\"; at= and inset=
  line kind=fold at=\"40mm along side\" to=A       or placement, stitch, skive, glue
  centre way=across                              the middle of a piece
  grain way=backbone                             down, across, bias, backbone
  text words=\"ring here\" out=60mm down=60mm      words on the piece
  pocket width=180mm height=200mm radius=25mm    a new piece; flap=60mm, name=, cut=2 or pairs=1, material=, thickness=
  strap length=700mm width=30mm end=pointed      a new piece; or square, round
  ring-tab width=28mm lap=38mm rod=4mm ring=30mm thickness=1.4mm   a strip round a ring; strap=
  patch width=60mm height=60mm radius=12mm       a reinforcement; or diameter=60mm
  binding edges=armhole finished=10mm            a strip folded round edges; ends=, raw=yes
  facing edges=top depth=50mm                    the piece within a depth of its edges
  copy name=bib from=C to=\"400mm along fold\"     a part of the piece as a new one
  split name=skirt from=C to=\"400mm along fold\"  the piece in two; bow=15mm curves the cut
Steps that need another piece first:
  place what=pocket out=110mm down=420mm         another piece laid on this one; turn=15
  sew first=top to=\"top facing: top\"             two edges are sewn together: checked; ease=, corners=\"run on\"
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
