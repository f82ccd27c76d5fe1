//! A replayed pattern as the page draws it: JSON of words and SVG; the page computes nothing.

use super::open_pattern::{OpenPattern, Replayed};
use super::refusal::Refusal;
use crate::capture;
use crate::export::{picture, svg};
use crate::geometry::{BezPath, Rect, Ring};
use crate::pattern::{self, Corrected, Drafted, Finding, Grade, Keep, Piece, StepText, Top};
use crate::units::Unit;
use rayon::prelude::*;
use serde_json::{Value, json};

/// Traced points are told at this spacing, in points: about 3 mm.
const TRACE_STRIDE: usize = 3;

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

/// Everything that the page shows of a pattern.
pub(super) fn view(open: &mut OpenPattern, replayed: &Replayed, unit: Unit) -> Result<Value, Refusal> {
    let (undo, redo) = open.undoable();
    let Replayed { folder, corrected, folded, drafted } = replayed;
    let file = &folder.file;
    let drawn = open.drawn();
    let draw = |p: &Piece| {
        let before = drawn.iter().find(|(of, was, _)| *was == unit && of == p);
        before.map_or_else(|| piece(p, unit), |(_, _, value)| Ok(value.clone()))
    };
    let pieces = drafted.pieces.par_iter().map(draw).collect::<Result<Vec<_>, _>>()?;
    open.keep_drawn(
        drafted.pieces.iter().cloned().zip(&pieces).map(|(of, value)| (of, unit, value.clone())).collect(),
    );
    let findings = pattern::check(drafted);
    Ok(json!({
        "stamp": open.stamp(),
        "title": if file.record.style.is_empty() { &file.record.piece } else { &file.record.style },
        "undo": undo,
        "redo": redo,
        "fold": {
            "keep": match file.keep { Keep::Mean => "mean", Keep::Left => "left", Keep::Right => "right" },
            "top": match file.top { Top::Narrower => "narrower", Top::Wider => "wider" },
            "half": folded.half.path().to_svg(),
            "window": box_of(folded.half.bounds().inflate(AROUND_MM, AROUND_MM)),
            "mean": unit.show(folded.wear.rms_mm),
            "worst": unit.show(folded.wear.worst.right_out_mm.abs()),
            "samples": folded.wear.samples.iter().map(|s| {
                [s.at.x, s.at.y, s.outward.x, s.outward.y, s.right_out_mm].map(rounded)
            }).collect::<Vec<_>>(),
            "words": folded.wear.samples.iter().map(|s| unit.show(s.right_out_mm.abs())).collect::<Vec<_>>(),
        },
        "steps": steps(&file.recipe.steps, corrected, drafted, unit),
        "pieces": pieces,
        "checks": findings.iter().map(|f| finding(f, drafted)).collect::<Vec<_>>(),
    }))
}

/// The steps as they are written, with what each did.
fn steps(texts: &[StepText], corrected: &Corrected, drafted: &Drafted, unit: Unit) -> Vec<Value> {
    let one = |(index, text): (usize, &StepText)| {
        let report = drafted.reports.iter().find(|r| r.number == index + 1);
        let said = report.map(|report| {
            let mut report = report.clone();
            report.unit = unit;
            (report.spoken.clone(), report.lines())
        });
        let correction = corrected.reports.iter().find(|r| r.number == index + 1).map(|report| {
            let mut report = report.clone();
            report.unit = unit;
            (report.spoken.clone(), report.lines())
        });
        let (spoken, lines) = said.or(correction).unwrap_or_else(|| (text.kind.clone(), Vec::new()));
        json!({ "do": text.kind, "keys": text.entries, "off": text.is_off(), "correction": text.is_correction(), "spoken": spoken, "lines": lines })
    };
    texts.iter().enumerate().map(one).collect()
}

fn piece(piece: &Piece, unit: Unit) -> Result<Value, Refusal> {
    let (window, items) = picture::in_own_frame(piece).map_err(Refusal::cannot)?;
    let layers: Vec<Value> = svg::groups(&items)
        .into_iter()
        .map(|(id, title, svg)| json!({ "id": id, "title": title, "svg": svg }))
        .collect();
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
                "path": BezPath::from_path_segments(edge.segments.iter().copied()).to_svg(),
            })
        })
        .collect();
    let points: Vec<Value> = outline
        .points()
        .map(|(letter, at)| json!({ "letter": letter.to_string(), "x": rounded(at.x), "y": rounded(at.y) }))
        .collect();
    Ok(json!({
        "name": piece.record.piece,
        "half": outline.on_fold(),
        "window": box_of(window),
        "layers": layers,
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
    json!({ "grade": grade, "place": f.place, "figure": f.figure, "rule": f.rule, "mark": f.mark, "piece": piece })
}

/// The photograph seen straight down and the traced line on it.
pub(super) fn traced(open: &OpenPattern) -> Value {
    let traced = &open.folder().traced;
    let outer = &traced.outer;
    let ring = |r: &Ring| r.path().to_svg();
    json!({
        "window": box_of(capture::table_window(&outer.fitted.ring)),
        "rings": std::iter::once(&outer.fitted.ring).chain(traced.holes.iter().map(|h| &h.fitted.ring)).map(ring).collect::<Vec<_>>(),
        "trace": outer.trace.points.iter().step_by(TRACE_STRIDE).map(|p| {
            json!([rounded(p.at.x), rounded(p.at.y), rounded(p.sigma_mm), u8::from(p.bridged)])
        }).collect::<Vec<_>>(),
        "nodes": outer.fitted.ring.segments().iter().enumerate().map(|(i, s)| {
            let at = kurbo::ParamCurve::start(s);
            json!({ "x": rounded(at.x), "y": rounded(at.y), "corner": outer.fitted.corners.contains(&i) })
        }).collect::<Vec<_>>(),
    })
}

fn box_of(r: Rect) -> [f64; 4] {
    [r.x0, r.y0, r.width(), r.height()].map(rounded)
}

/// To a hundredth of a millimetre, finer than any screen shows.
fn rounded(v: f64) -> f64 {
    (v * 100.0).round() / 100.0
}
