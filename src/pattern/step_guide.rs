//! The steps told to a person: text for the command line, the same as values for a page.

/// Every step with an example and what it does, a line each, under headings that begin with "Steps that"; two blanks or more part
/// example and words.
pub const STEPS: &str = "\
Steps (lengths as you write them: 90mm, 9cm, 3 1/2in; a minus sign takes away; edges by name or letters; every step takes
piece=NAME, left out it is the body; a place on the line is \"120mm along side\", \"40mm back along side\", \"middle of
side\" or a letter):
Steps that correct the traced line (done first, whatever stands before them; places are millimetres right and down in the
traced outline, as onfold export --stage traced tells them; reach= may be left out):
  traced-move at=\"305 780\" to=\"308 782\"         a corner or a place of the line; or right=3mm, down=2mm; reach=40mm
  traced-corner at=\"177.5 175\" reach=10mm        a rounding made a corner, or a curve's joint
  traced-curve at=\"305 780\" reach=15mm           a corner made a curve
  traced-straight from=\"305 300\" to=\"305 700\"    the shorter way between two places made straight
  traced-cut from=\"-40 780\" to=\"40 780\"          a strap cut off: the smaller part goes
  traced-redraw from=\"125 0\" to=\"305 265\" places=\"145 110,210 210\"   a stretch drawn anew through places, smooth
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
  drawn is=cross path=\"M 56,300 L 64,300\"       as on a paper pattern: grain, hem, fold, dart, placement, inner
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

/// How one kind of step is written, and what it does.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StepGuide {
    /// The heading that it stands under.
    pub group: &'static str,
    /// Its kind: `lengthen`.
    pub kind: &'static str,
    /// Its keys, each with an example; empty where none is given.
    pub keys: Vec<(&'static str, String)>,
    /// What it does.
    pub says: &'static str,
}

/// The steps of [`STEPS`] as values.
#[must_use]
pub fn step_guide() -> Vec<StepGuide> {
    let mut group = "";
    let mut out = Vec::new();
    for line in STEPS.lines().skip_while(|line| !line.starts_with("Steps that")) {
        if line == "Example:" {
            break;
        }
        let Some(entry) = line.strip_prefix("  ") else {
            if line.starts_with("Steps that") {
                group = line.split(" (").next().unwrap_or(line).trim_end_matches(':');
            }
            continue;
        };
        let (example, says) = entry.split_once("  ").unwrap_or((entry, ""));
        let (kind, keys) = example.split_once(' ').unwrap_or((example, ""));
        let says = says.trim();
        let mut keys = keys_of(keys);
        // Keys that the words name besides.
        for (key, value) in keys_of(says) {
            if keys.iter().all(|(k, _)| *k != key) {
                keys.push((key, value));
            }
        }
        out.push(StepGuide { group, kind, keys, says });
    }
    out
}

/// `by=90mm at="40mm below C"` as keys and values; words without `=` are passed over.
fn keys_of(text: &'static str) -> Vec<(&'static str, String)> {
    let mut out = Vec::new();
    let mut rest = text;
    while let Some(equals) = rest.find('=') {
        let key = rest[..equals].rsplit(' ').next().unwrap_or("");
        let after = &rest[equals + 1..];
        let (value, end) = match after.strip_prefix('"') {
            Some(quoted) => quoted.find('"').map_or((quoted, after.len()), |end| (&quoted[..end], end + 2)),
            None => {
                let end = after.find([' ', ';']).unwrap_or(after.len());
                (after[..end].trim_end_matches([',', ':']), end)
            }
        };
        if !key.is_empty() {
            out.push((key, value.to_owned()));
        }
        rest = &after[end..];
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_line_is_a_step_with_its_keys() {
        let guide = step_guide();
        assert!(guide.len() >= 38, "{}", guide.len());
        let lengthen = guide.iter().find(|g| g.kind == "lengthen").unwrap();
        let at = lengthen.keys.iter().find(|(key, _)| *key == "at").unwrap();
        assert_eq!(at.1, "40mm below C");
        assert!(lengthen.keys.iter().any(|(key, value)| *key == "edge" && value == "hem"));
        assert!(guide.iter().all(|g| g.group.starts_with("Steps that")), "{guide:?}");
        let tab = guide.iter().find(|g| g.kind == "tab").unwrap();
        assert!(tab.keys.iter().any(|(key, value)| *key == "taper" && value.is_empty()), "{tab:?}");
    }
}
