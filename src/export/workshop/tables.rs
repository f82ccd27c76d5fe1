//! The tables: measures, what to cut, what to buy.

use super::{Cell, Made, Table};
use crate::pattern::{StepProblem, Stitch};
use std::collections::BTreeMap;

fn words(text: &str) -> Cell {
    if text.trim().is_empty() { Cell::Empty } else { Cell::Words(text.trim().to_owned()) }
}

/// Widths below this are left out, millimetres: no tape shows them.
const LEAST_WIDTH_MM: f64 = 0.5;

/// Every edge and width, finished and cut.
pub(super) fn measures(made: &[Made<'_>]) -> Result<Table, StepProblem> {
    let mut rows = Vec::new();
    for Made { piece, .. } in made {
        let name = || words(&piece.record.piece);
        let whole = piece.measures();
        let cut = piece.cut_line()?.map(|cut| cut.ring.bounds());
        let times = if piece.outline.on_fold() { 2.0 } else { 1.0 };
        let cut_height = cut.map_or(whole.height_mm, |b| b.height());
        let cut_width = cut.map_or(whole.width_mm, |b| times * b.width());
        rows.push(vec![
            name(),
            words("height"),
            Cell::Mm(whole.height_mm),
            Cell::Mm(cut_height),
            Cell::Empty,
        ]);
        rows.push(vec![
            name(),
            words("greatest width"),
            Cell::Mm(whole.width_mm),
            Cell::Mm(cut_width),
            Cell::Empty,
        ]);
        // A width of nothing, at the tip of a piece, helps nobody.
        for width in piece.width_measures()?.into_iter().filter(|w| w.finished_mm > LEAST_WIDTH_MM) {
            let what = format!("width at {}, {:.0} mm down", width.at, width.down_mm);
            let sizes = [Cell::Mm(width.finished_mm), Cell::Mm(width.cut_mm)];
            rows.push([vec![name(), Cell::Words(what)], sizes.to_vec(), vec![Cell::Empty]].concat());
        }
        for edge in piece.edge_measures()? {
            let added = edge
                .allowance
                .map_or(Cell::Empty, |a| Cell::Words(format!("{} {:.1} mm", a.kind.word(), a.width_mm)));
            let side = if piece.outline.on_fold() { ", one side" } else { "" };
            let what = Cell::Words(format!("edge {}{side}", edge.edge));
            rows.push(vec![name(), what, Cell::Mm(edge.finished_mm), Cell::Mm(edge.cut_mm), added]);
        }
    }
    Ok(Table { title: "Measures", columns: vec!["piece", "where", "finished", "cut", "allowance"], rows })
}

/// How many of what, of which material.
pub(super) fn to_cut(made: &[Made<'_>]) -> Table {
    let row = |Made { piece, on_it }: &Made<'_>| {
        let record = &piece.record;
        let on_fold = if piece.outline.on_fold() { ", on the fold" } else { "" };
        let thickness = record.thickness.as_ref().map_or(Cell::Empty, |t| Cell::Words(t.to_string()));
        vec![
            words(&record.piece),
            Cell::Words(format!("{}{on_fold}", piece.quantity)),
            words(&record.material),
            thickness,
            words(&record.grain),
            Cell::Area(cut_area_mm2(piece, on_it)),
        ]
    };
    let columns = vec!["piece", "how many", "material", "thickness", "grain", "cut area of one"];
    Table { title: "To cut", columns, rows: made.iter().map(row).collect() }
}

/// Area of one whole piece as it is cut, its holes not taken off: what it takes from the hide.
pub(super) fn cut_area_mm2(piece: &crate::pattern::Piece, on_it: &crate::pattern::Construction) -> f64 {
    let times = if piece.outline.on_fold() { 2.0 } else { 1.0 };
    times * on_it.cut.as_ref().map_or_else(|| piece.outline.area_mm2(), |cut| cut.ring.area_mm2())
}

/// Hardware, and thread by the line.
pub(super) fn to_buy(made: &[Made<'_>]) -> Table {
    let mut hardware: BTreeMap<String, u64> = BTreeMap::new();
    let mut rows = Vec::new();
    for Made { piece, on_it } in made {
        let pieces = u64::from(piece.quantity.pieces());
        for bought in &piece.hardware {
            *hardware.entry(bought.what.clone()).or_default() += pieces * u64::from(bought.count);
        }
        for hole in on_it.holes.iter().filter(|hole| !hole.holds.is_empty()) {
            *hardware.entry(hole.holds.clone()).or_default() += pieces * u64::from(hole.count);
        }
    }
    for (what, count) in hardware {
        rows.push(vec![Cell::Words(what), Cell::Count(count), Cell::Empty, Cell::Empty, Cell::Empty]);
    }
    let mut thread_mm = 0.0;
    for Made { piece, on_it } in made {
        for line in &on_it.stitching {
            let pieces = f64::from(piece.quantity.pieces());
            thread_mm += pieces * line.thread_mm;
            let by_hand = line.stitch == Stitch::Saddle;
            rows.push(vec![
                Cell::Words(format!(
                    "thread, {}: {} of {}",
                    stitch_words(line.stitch),
                    line.edges,
                    piece.record.piece
                )),
                Cell::Count(u64::from(piece.quantity.pieces())),
                Cell::Mm(line.thread_mm),
                if by_hand { Cell::Count(line.count as u64) } else { Cell::Empty },
                Cell::Mm(f64::midpoint(line.pitch_mm.0, line.pitch_mm.1)),
            ]);
        }
    }
    if thread_mm > 0.0 {
        rows.push(vec![words("thread in all"), Cell::Empty, Cell::Mm(thread_mm), Cell::Empty, Cell::Empty]);
    }
    let columns = vec!["what", "how many", "thread of one", "holes of one", "pitch"];
    Table { title: "Hardware and thread", columns, rows }
}

/// The stitch as the trade says it.
pub(super) const fn stitch_words(stitch: Stitch) -> &'static str {
    match stitch {
        Stitch::Saddle => "saddle stitch",
        Stitch::Lockstitch => "lockstitch",
    }
}
