//! A replayed pattern as the page draws it: JSON of words and SVG; the page computes nothing.

use super::drawing_view;
use super::open_pattern::{Drawn, OpenPattern, Replayed};
use super::refusal::Refusal;
use crate::export::picture;
use crate::geometry::{BezPath, Rect};
use crate::pattern::{self, Corrected, Drafted, Finding, Folded, Grade, Keep, Piece, StepText, Top};
use crate::shelf::PatternFile;
use crate::units::Unit;
use rayon::prelude::*;
use serde_json::{Value, json};
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// White round the folded half, millimetres.
const AROUND_MM: f64 = 25.0;

/// The unit that the page asks for.
pub(super) fn unit(word: &str) -> Unit {
    match word {
        "cm" => Unit::Centimetre,
        "in" => Unit::Inch,
        _ => Unit::Millimetre,
    }
}

/// Everything that the page shows of a pattern. Where the outline does not fold there is no fold and no piece, and `unfolded`
/// says why.
pub(super) fn view(open: &mut OpenPattern, replayed: &Replayed, unit: Unit) -> Result<Value, Refusal> {
    let (undo, redo) = open.undoable();
    let Replayed { folder, corrected, made } = replayed;
    let file = &folder.file;
    let made = made.as_ref();
    let drafted = made.ok().map(|made| &made.drafted);
    let pieces = drafted.map_or_else(|| Ok(Vec::new()), |drafted| drawn(open, drafted, unit))?;
    let pieces: Vec<&Value> = pieces.iter().map(|piece| &*piece.told).collect();
    Ok(json!({
        "stamp": open.stamp(),
        "title": title(file),
        "undo": undo,
        "redo": redo,
        "unfolded": made.err().map(ToString::to_string),
        "fold": made.ok().map(|made| fold(file, &made.folded, unit)),
        "steps": steps(&file.recipe.steps, corrected, drafted, unit),
        "pieces": pieces,
        "checks": drafted.map_or_else(Vec::new, |drafted| {
            pattern::check(drafted).iter().map(|f| finding(f, drafted)).collect()
        }),
    }))
}

/// What a person knows a pattern by.
pub(super) fn title(file: &PatternFile) -> &str {
    if file.record.style.is_empty() { &file.record.piece } else { &file.record.style }
}

/// The fold alone.
pub(super) fn fold(file: &PatternFile, folded: &Folded, unit: Unit) -> Value {
    let wear = &folded.wear;
    let entries = file.nudge.entries();
    let nudged = |key: &str| entries.iter().find(|(k, _)| *k == key).map_or("", |(_, text)| text.as_str());
    let samples: Vec<[f64; 5]> = wear
        .samples
        .iter()
        .map(|s| [s.at.x, s.at.y, s.outward.x, s.outward.y, s.right_out_mm].map(rounded))
        .collect();
    json!({
        "keep": match file.keep { Keep::Mean => "mean", Keep::Left => "left", Keep::Right => "right" },
        "top": match file.top { Top::Narrower => "narrower", Top::Wider => "wider" },
        "shift": nudged("shift"),
        "shift_mm": file.nudge.nudge().right_mm,
        "turn": nudged("turn"),
        "drawn": file.drawn_fold.is_some(),
        "half": drawing_view::path(&folded.half.path()),
        "window": box_of(folded.half.bounds().inflate(AROUND_MM, AROUND_MM)),
        "mean": unit.show(wear.rms_mm),
        "worst": unit.show(wear.worst.right_out_mm.abs()),
        "samples": samples,
        "words": wear.samples.iter().map(|s| unit.show(s.right_out_mm.abs())).collect::<Vec<_>>(),
    })
}

/// What the page redraws while one types: the step at a place of the recipe, and the pieces. Of a piece whose number is one that
/// the page says it has, only the number is told.
pub(super) fn preview(
    open: &mut OpenPattern,
    replayed: &Replayed,
    at: Option<usize>,
    unit: Unit,
    have: &[u64],
) -> Result<Value, Refusal> {
    let made = replayed.made()?;
    let steps = &replayed.folder.file.recipe.steps;
    let step = at.filter(|at| *at < steps.len()).map(|at| {
        let one = step(at, &steps[at], &replayed.corrected, Some(&made.drafted), unit);
        json!({ "at": at, "spoken": one["spoken"], "lines": one["lines"] })
    });
    let pieces = drawn(open, &made.drafted, unit)?;
    let told = pieces.iter().map(|piece| {
        if have.contains(&piece.number) { json!({ "number": piece.number }) } else { (*piece.told).clone() }
    });
    Ok(json!({ "step": step, "pieces": told.collect::<Vec<_>>() }))
}

/// The numbers of pieces that a page says it has.
pub(super) fn numbers(text: &str) -> Vec<u64> {
    text.split(',').filter_map(|number| number.parse().ok()).collect()
}

/// The pieces; those that are as they were shown last are not drawn again.
fn drawn(open: &mut OpenPattern, drafted: &Drafted, unit: Unit) -> Result<Vec<Drawn>, Refusal> {
    static NEXT: AtomicU64 = AtomicU64::new(1);
    let before: Vec<&Drawn> = open.drawn().filter(|before| before.unit == unit).collect();
    let draw = |p: &Piece| {
        if let Some(same) = before.iter().find(|before| before.piece == *p) {
            return Ok((*same).clone());
        }
        let number = NEXT.fetch_add(1, Ordering::Relaxed);
        Ok(Drawn { number, piece: p.clone(), unit, told: Arc::new(piece(number, p, unit)?) })
    };
    let drawn = drafted.pieces.par_iter().map(draw).collect::<Result<Vec<_>, Refusal>>()?;
    open.keep_drawn(drawn.clone());
    Ok(drawn)
}

/// The steps as they are written, with what each did.
fn steps(texts: &[StepText], corrected: &Corrected, drafted: Option<&Drafted>, unit: Unit) -> Vec<Value> {
    texts.iter().enumerate().map(|(at, text)| step(at, text, corrected, drafted, unit)).collect()
}

fn step(at: usize, text: &StepText, corrected: &Corrected, drafted: Option<&Drafted>, unit: Unit) -> Value {
    let report = drafted.and_then(|d| d.reports.iter().find(|r| r.number == at + 1));
    let said = report.map(|report| {
        let mut report = report.clone();
        report.unit = unit;
        (report.spoken.clone(), report.lines())
    });
    let correction = corrected.reports.iter().find(|r| r.number == at + 1).map(|report| {
        let mut report = report.clone();
        report.unit = unit;
        (report.spoken.clone(), report.lines())
    });
    let (spoken, lines) = said.or(correction).unwrap_or_else(|| (text.kind.clone(), Vec::new()));
    json!({ "do": text.kind, "keys": text.entries, "off": text.is_off(), "correction": text.is_correction(), "spoken": spoken, "lines": lines })
}

fn piece(number: u64, piece: &Piece, unit: Unit) -> Result<Value, Refusal> {
    let (window, items) = picture::in_own_frame(piece).map_err(Refusal::cannot)?;
    let outline = &piece.outline;
    let edges: Vec<Value> = outline
        .edges()
        .iter()
        .enumerate()
        .map(|(index, edge)| {
            json!({
                "letters": outline.label(index),
                "name": edge.name,
                "spoken": outline.spoken(index),
                "length": unit.show(edge.length_mm()),
                "straight": edge.is_straight(),
                "fold": outline.is_fold(index),
                "path": drawing_view::path(&BezPath::from_path_segments(edge.segments.iter().copied())),
            })
        })
        .collect();
    let points: Vec<Value> = outline
        .points()
        .map(|(letter, at)| json!({ "letter": letter.to_string(), "x": rounded(at.x), "y": rounded(at.y) }))
        .collect();
    Ok(json!({
        "number": number,
        "name": piece.record.piece,
        "half": outline.on_fold(),
        "window": box_of(window),
        "layers": drawing_view::layers(&items),
        "edges": edges,
        "points": points,
        "lines": piece.lines(unit),
    }))
}

fn finding(f: &Finding, drafted: &Drafted) -> Value {
    let grade = match f.grade {
        Grade::Fault => "fault",
        Grade::Look => "look",
        Grade::Good => "good",
    };
    let piece = drafted
        .pieces
        .iter()
        .map(|p| p.record.piece.as_str())
        .filter(|name| f.place.starts_with(name))
        .max_by_key(|name| name.len());
    let sights: Vec<Value> = f
        .sights
        .iter()
        .map(|s| json!({ "piece": s.piece, "x": rounded(s.at.x), "y": rounded(s.at.y) }))
        .collect();
    let mark = match f.mark {
        "CP" => "common practice",
        "G" => "geometry",
        "G, bands judgement" => "geometry, its bands our judgement",
        "judgement" => "our judgement",
        source => source,
    };
    json!({ "grade": grade, "place": f.place, "figure": f.figure, "rule": f.rule, "mark": mark, "piece": piece, "sights": sights })
}

pub(super) fn box_of(r: Rect) -> [f64; 4] {
    [r.x0, r.y0, r.width(), r.height()].map(rounded)
}

/// To a hundredth of a millimetre, finer than any screen shows.
pub(super) fn rounded(v: f64) -> f64 {
    (v * 100.0).round() / 100.0
}
