//! The section `[fold]` of `pattern.toml`: text to values and back.

use super::recipe_text::{PatternFile, bad, one_expected, quoted, words};
use crate::geometry::Point;
use crate::pattern::{Keep, StepProblem, Top, nearest};
use std::fmt::Write as _;
use toml_edit::Item;

/// Its keys.
const KEYS: [&str; 5] = ["keep", "top", "shift", "turn", "drawn"];

/// Words for the half to keep.
const KEEP: [(&str, Keep); 3] = [("mean", Keep::Mean), ("left", Keep::Left), ("right", Keep::Right)];
/// Words for the end that is the top.
const TOP: [(&str, Top); 2] = [("narrower", Top::Narrower), ("wider", Top::Wider)];

fn word<T: PartialEq>(value: &T, words: &[(&'static str, T)]) -> &'static str {
    words.iter().find(|(_, v)| v == value).map_or("", |(word, _)| word)
}

/// Reads one key.
pub(super) fn set(file: &mut PatternFile, key: &str, item: &Item) -> Result<(), StepProblem> {
    match key {
        "keep" => file.keep = choice(key, item, &KEEP)?,
        "top" => file.top = choice(key, item, &TOP)?,
        "shift" | "turn" => match &words(key, item)?[..] {
            [text] => file.nudge.set(key, text)?,
            _ => return Err(one_expected(key, "a list")),
        },
        "drawn" => file.drawn_fold = Some(places(key, item)?),
        _ => return Err(StepProblem::unknown_key(key, &KEYS)),
    }
    Ok(())
}

/// A key that says something else than another, and what is wrong.
pub(super) fn contradiction(file: &PatternFile) -> Option<(&'static str, StepProblem)> {
    let (key, _) = file.nudge.entries().into_iter().next().filter(|_| file.drawn_fold.is_some())?;
    let example = "the ends of the fold in `drawn`, and leave this out".to_owned();
    Some((
        key,
        StepProblem::BadValue { key: key.to_owned(), found: "given beside `drawn`".to_owned(), example },
    ))
}

/// The section of a new file.
pub(super) fn section(file: &PatternFile) -> String {
    let mut out = String::from(
        "\n# Which half of the worn garment makes the pattern: mean, left or right; and which end is the top: the\n\
         # narrower or the wider. Where the mirror axis is found wrong: shift = \"1.5mm\" moves it to the right, turn = \"0.2\"\n\
         # turns it clockwise by degrees; a minus sign the other way.\n[fold]\n",
    );
    let _ = writeln!(out, "keep = {}", quoted(word(&file.keep, &KEEP)));
    let _ = writeln!(out, "top = {}", quoted(word(&file.top, &TOP)));
    for (key, text) in file.nudge.entries() {
        let _ = writeln!(out, "{key} = {}", quoted(&text));
    }
    if let Some([a, b]) = file.drawn_fold {
        let ends = format!("{:.2} {:.2} {:.2} {:.2}", a.x, a.y, b.x, b.y);
        out.push_str(
            "# The paper shows a half: the ends of its fold, x y x y in the traced outline, mm. Leave it out for a whole.\n",
        );
        let _ = writeln!(out, "drawn = {}", quoted(&ends));
    }
    out
}

/// One of a few words.
fn choice<T: Copy>(key: &str, item: &Item, words: &[(&'static str, T)]) -> Result<T, StepProblem> {
    let example =
        words.iter().map(|(word, _)| format!("{key} = \"{word}\"")).collect::<Vec<_>>().join(" or ");
    let text = item.as_str().ok_or_else(|| bad(key, item, &example))?;
    words.iter().find(|(word, _)| *word == text).map(|(_, value)| *value).ok_or_else(|| {
        let meant =
            nearest(text, words.iter().map(|(word, _)| *word)).map(|n| format!(", perhaps {n} is meant"));
        StepProblem::BadValue {
            key: key.to_owned(),
            found: format!("`{text}`{}", meant.unwrap_or_default()),
            example,
        }
    })
}

/// Two places: four numbers, x y x y.
fn places(key: &str, item: &Item) -> Result<[Point; 2], StepProblem> {
    let example = format!("{key} = \"-120.0 -205.0 -106.2 234.8\"");
    let numbers: Option<Vec<f64>> =
        item.as_str().and_then(|text| text.split_whitespace().map(|word| word.parse().ok()).collect());
    match numbers.as_deref() {
        Some([a, b, c, d]) if [a, b, c, d].iter().all(|v| v.is_finite()) => {
            Ok([Point::new(*a, *b), Point::new(*c, *d)])
        }
        _ => Err(bad(key, item, &example)),
    }
}
