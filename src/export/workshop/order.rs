//! The order of making, with the pattern's own figures.

use super::tables::{cut_area_mm2, stitch_words};
use super::{Cell, Made, Step};
use crate::pattern::{Kind, LineKind, SPOKEN_UNIT, Sewn, in_both_units};
use std::collections::BTreeMap;

/// What waste asks for: net area times this, from a good hide to a poor one (common practice, no source).
const WASTE: [f64; 2] = [1.25, 1.33];

/// All steps that the pieces ask for.
pub(super) fn steps(made: &[Made<'_>], sewn: &[Sewn]) -> Vec<Step> {
    let all = [
        check_print(made),
        ("Mock-up", vec!["Cut it from paper or scrap, tape it, try it on. Changes are cheap until here.".to_owned()]),
        choose(made),
        lay_out(made),
        ("Cut", cut(made)),
        ("Skive", skive(made)),
        ("Cement and turn", turn(made)),
        ("Hardware", hardware(made)),
        ("Punch and drill", punch(made)),
        ("Stitch", stitch(made)),
        ("Sew together", sewn.iter().map(together).chain(laid_on(made)).collect()),
        ("Try on, keep the master", vec![
            "Wear it. Write changes into the recipe, not on the paper; date the new print and write what it supersedes."
                .to_owned(),
        ]),
    ];
    all.into_iter()
        .filter(|(_, lines)| !lines.is_empty())
        .map(|(title, lines)| Step { title, lines })
        .collect()
}

type Drafted = (&'static str, Vec<String>);

fn name<'a>(made: &'a Made<'_>) -> &'a str {
    &made.piece.record.piece
}

fn check_print(made: &[Made<'_>]) -> Drafted {
    let mut lines =
        vec!["Printed at 100 %: on every page the test square, or the two test lines, measure 100 mm across and down.".to_owned()];
    if let Some(first) = made.first() {
        let whole = first.piece.measures();
        lines.push(format!(
            "Joined, the finished line of {} is {} high{}.",
            name(first),
            in_both_units(whole.height_mm),
            if first.piece.outline.on_fold() {
                format!(", its half {} wide", in_both_units(whole.width_mm / 2.0))
            } else {
                format!(" and {} wide", in_both_units(whole.width_mm))
            }
        ));
    }
    ("Check the print", lines)
}

fn choose(made: &[Made<'_>]) -> Drafted {
    let mut areas: BTreeMap<&str, f64> = BTreeMap::new();
    for one in made {
        let area = f64::from(one.piece.quantity.pieces()) * cut_area_mm2(one.piece, &one.on_it);
        *areas.entry(one.piece.record.material.trim()).or_default() += area;
    }
    let mut lines: Vec<String> = areas
        .iter()
        .map(|(material, area)| {
            let material = if material.is_empty() { "material not named" } else { material };
            let [least, most] = WASTE.map(|waste| Cell::Area(waste * area).shown());
            format!("{material}: {} net, so {least} to {most} with waste.", Cell::Area(*area).shown())
        })
        .collect();
    let size = |one: &&Made<'_>| {
        let whole = one.piece.measures();
        whole.height_mm * whole.width_mm
    };
    if let Some(largest) = made.iter().max_by(|a, b| size(a).total_cmp(&size(b))) {
        lines.push(format!(
            "Try the largest piece, {}, on the clean part first: area alone does not tell.",
            name(largest)
        ));
    }
    ("Choose the material", lines)
}

fn lay_out(made: &[Made<'_>]) -> Drafted {
    let mut lines: Vec<String> = made
        .iter()
        .filter(|one| one.piece.outline.on_fold())
        .map(|one| {
            format!("{}: on the fold, or turned over at the fold line: never cut along it.", name(one))
        })
        .collect();
    lines.extend(
        made.iter()
            .filter(|one| one.piece.quantity.pairs)
            .map(|one| format!("{}: one of each pair turned over.", name(one))),
    );
    lines.push(
        "Grain arrows along the threads, or along the backbone of a hide. Mark notches and placements."
            .to_owned(),
    );
    ("Lay out and mark", lines)
}

fn cut(made: &[Made<'_>]) -> Vec<String> {
    let mut lines: Vec<String> = made
        .iter()
        .map(|one| {
            let on_fold = if one.piece.outline.on_fold() { ", on the fold" } else { "" };
            let which = if one.on_it.cut.is_some() || one.piece.cut_as_drawn {
                "the full line"
            } else {
                "the finished line: no allowance is on it"
            };
            format!("{}: {}{on_fold}, on {which}.", name(one), one.piece.quantity)
        })
        .collect();
    lines.push("Cut away from yourself, sharp blade, other hand clear.".to_owned());
    lines
}

/// What the lines of a kind say, once each.
fn says(made: &[Made<'_>], kind: LineKind, more: &str) -> Vec<String> {
    let mut out = Vec::new();
    for one in made {
        let mut said: Vec<&str> = Vec::new();
        for line in one.on_it.lines.iter().filter(|line| line.kind == kind && !line.says.is_empty()) {
            if !said.contains(&line.says.as_str()) {
                said.push(&line.says);
                out.push(format!("{}: {}, {more}.", name(one), line.says));
            }
        }
    }
    out
}

fn skive(made: &[Made<'_>]) -> Vec<String> {
    let mut out = says(made, LineKind::Skive, "from the cut edge: about half the thickness is left");
    if !out.is_empty() {
        out.push(
            "Skive away from yourself, sharp blade, other hand clear; try it on scrap first.".to_owned(),
        );
    }
    out
}

fn turn(made: &[Made<'_>]) -> Vec<String> {
    let mut out = Vec::new();
    for one in made {
        // A seam's allowance is no edge to turn: it is sewn to another.
        for words in one.piece.allowance_words(in_both_units) {
            if !words.starts_with(Kind::Seam.word()) {
                out.push(format!("{}: {words}.", name(one)));
            }
        }
        // A straight edge turns as it is; only curves have something to say.
        let curved = |turn: &&crate::pattern::EdgeTurn| turn.hollow.is_some() || turn.bulge.is_some();
        let turns = one.on_it.cut.iter().flat_map(|cut| cut.turned.iter().filter(curved));
        out.extend(turns.flat_map(|turn| turn.lines(SPOKEN_UNIT)).map(|l| format!("{}: {l}.", name(one))));
        let slits = one.on_it.lines.iter().filter(|line| line.kind == LineKind::Slit).count();
        if slits > 0 {
            let whole = if one.piece.outline.on_fold() { " on the half" } else { "" };
            out.push(format!(
                "{}: {slits} cuts in the allowances{whole}, made before it is turned.",
                name(one)
            ));
        }
    }
    let cemented = |one: &Made<'_>| {
        one.piece.outline.edges().iter().any(|e| e.allowance.is_some_and(|a| a.kind == Kind::Turned))
    };
    if made.iter().any(cemented) {
        out.push(
            "Leather: cement, turn, then hammer flat; the cement's solvent: ventilate, no ignition, read the data sheet. Cloth: turn and press."
                .to_owned(),
        );
    }
    out
}

fn hardware(made: &[Made<'_>]) -> Vec<String> {
    let bought = |one: &&Made<'_>| -> Vec<String> {
        let mut out: Vec<String> = one
            .piece
            .hardware
            .iter()
            .map(|h| format!("{}: {} to each, {}.", name(one), h.count, h.what))
            .collect();
        if one.piece.ring.is_some() {
            out.push(format!(
                "{}: lay it round the ring at its fold lines, one end on the other.",
                name(one)
            ));
        }
        out
    };
    made.iter().flat_map(|one| bought(&one)).collect()
}

fn punch(made: &[Made<'_>]) -> Vec<String> {
    let mut out = Vec::new();
    for one in made {
        let mut alike: Vec<(String, u64)> = Vec::new();
        for hole in &one.on_it.holes {
            let how = if hole.drilled { "drill" } else { "punch" };
            let holds = if hole.holds.is_empty() { String::new() } else { format!(" for {}", hole.holds) };
            let words = format!("{how} {:.1} mm{holds}", hole.diameter_mm);
            match alike.iter_mut().find(|(known, _)| *known == words) {
                Some((_, count)) => *count += u64::from(hole.count),
                None => alike.push((words, u64::from(hole.count))),
            }
        }
        out.extend(alike.iter().map(|(words, count)| format!("{}: {words}, {count} in each.", name(one))));
    }
    if !out.is_empty() {
        out.push("Wear eye protection.".to_owned());
    }
    out
}

fn stitch(made: &[Made<'_>]) -> Vec<String> {
    let mut out = Vec::new();
    for one in made {
        for line in &one.on_it.stitching {
            let (least, most) = line.pitch_mm;
            let pitch =
                if most - least < 0.005 { format!("{least:.2}") } else { format!("{least:.2} to {most:.2}") };
            let holes = if line.holes.is_empty() { String::new() } else { format!(", {} holes", line.count) };
            out.push(format!(
                "{}: {} along {}, {:.1} mm inside, pitch {pitch} mm{holes}, {} of thread.",
                name(one),
                stitch_words(line.stitch),
                line.edges,
                line.inset_mm,
                in_both_units(line.thread_mm)
            ));
        }
    }
    out
}

/// Pieces that are laid on others.
fn laid_on(made: &[Made<'_>]) -> Vec<String> {
    let mut out = Vec::new();
    for one in made {
        let lines = one.on_it.lines.iter().filter(|line| line.kind == LineKind::Placement);
        for line in lines.filter(|line| made.iter().any(|m| name(m) == line.says)) {
            out.push(format!("{} on {}, where its line is drawn.", line.says, name(one)));
        }
    }
    out
}

fn together(sewn: &Sewn) -> String {
    let ease =
        if sewn.ease_mm.abs() < 0.05 { String::new() } else { format!(", {:.1} mm eased in", sewn.ease_mm) };
    format!("{} to {}{ease}.", sewn.first, sewn.second)
}
