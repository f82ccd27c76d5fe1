//! Replaying a recipe: the folded half and its steps enter, drafted pieces and a report of every step leave.

use super::bundle::{Bundle, Sewn};
use super::recipe::name_edge;
use super::{CutLine, Measures, PatternError, Piece, Recipe, StepProblem, StepText, crossing, edit};
use crate::geometry::Point;
use crate::units::Unit;

/// Departures smaller than this are not reported, millimetres: below what anybody can cut.
const REPORTED_MM: f64 = 0.05;

/// The pieces after the last step, and what each step changed.
#[derive(Debug, Clone, PartialEq)]
pub struct Drafted {
    /// The pieces; the traced body is the first.
    pub pieces: Vec<Piece>,
    /// Edges that are sewn to each other.
    pub sewn: Vec<Sewn>,
    /// One report a step; none for one that is switched off or corrects the traced line.
    pub reports: Vec<StepReport>,
}

impl Drafted {
    /// The traced piece after all steps.
    #[must_use]
    pub fn body(&self) -> &Piece {
        &self.pieces[0]
    }
}

/// What one step changed.
#[derive(Debug, Clone, PartialEq)]
pub struct StepReport {
    /// Which step, from 1.
    pub number: usize,
    /// What it did, as a person says it.
    pub spoken: String,
    /// The unit that its amount was written in (without one, that of the step before); the report is shown in it.
    pub unit: Unit,
    /// Sizes of the whole piece before.
    pub before: Measures,
    /// Sizes of the whole piece after.
    pub after: Measures,
    /// Edges whose length changed.
    pub edges: Vec<EdgeChange>,
    /// Points that moved.
    pub points: Vec<PointChange>,
    /// New pieces with their sizes.
    pub made: Vec<(String, Measures)>,
}

/// An edge whose length changed.
#[derive(Debug, Clone, PartialEq)]
pub struct EdgeChange {
    /// The edge, as a person says it.
    pub edge: String,
    /// Arc length before, millimetres.
    pub before_mm: f64,
    /// Arc length after, millimetres.
    pub after_mm: f64,
}

/// A lettered point that moved.
#[derive(Debug, Clone, PartialEq)]
pub struct PointChange {
    /// Its letter.
    pub letter: String,
    /// Where it was, millimetres.
    pub before: Point,
    /// Where it is, millimetres.
    pub after: Point,
}

/// Replays a recipe on the folded half; its corrections of the traced line were done before the fold. Nothing but the two arguments decides the outcome.
///
/// # Errors
/// [`PatternError`], naming the step and what to do.
pub fn draft(half: &Piece, recipe: &Recipe) -> Result<Drafted, PatternError> {
    let mut bundle = Bundle { pieces: vec![half.clone()], sewn: Vec::new() };
    for (name, edge) in &recipe.names {
        name_edge(&mut bundle.pieces[0].outline, name, edge)
            .map_err(|problem| PatternError::Name { name: name.clone(), problem: Box::new(problem) })?;
    }
    let mut reports = Vec::with_capacity(recipe.steps.len());
    let mut cuts = Cuts::default();
    for (index, text) in recipe.steps.iter().enumerate() {
        let number = index + 1;
        if text.is_off() || text.is_correction() {
            continue;
        }
        let unit = reports.last().map_or(Unit::Millimetre, |r: &StepReport| r.unit);
        let report = take_step(&mut bundle, &mut cuts, text, number, unit).map_err(|problem| {
            PatternError::Step { number, kind: text.kind.clone(), problem: Box::new(problem) }
        })?;
        reports.push(report);
    }
    bundle.number();
    Ok(Drafted { pieces: bundle.pieces, sewn: bundle.sewn, reports })
}

/// The cut line of every piece that was looked at: a step that only draws on a piece leaves it as it is.
#[derive(Default)]
struct Cuts(Vec<Option<Looked>>);

/// A piece that was looked at, with the cut line that it has besides its finished line, if any.
struct Looked(Option<CutLine>);

impl Cuts {
    /// Looks at a new piece, or at one whose line a step may have changed.
    fn check(&mut self, at: usize, piece: &Piece) -> Result<(), StepProblem> {
        crossing::check(&piece.outline)?;
        let made = piece.construction()?;
        self.0.resize_with(self.0.len().max(at + 1), || None);
        self.0[at] = Some(Looked(made.cut));
        Ok(())
    }

    /// Looks at the marks from number `first` on of a piece whose line is as it was; `None` for a piece not looked at before.
    fn check_marks(&self, at: usize, piece: &Piece, first: usize) -> Option<Result<(), StepProblem>> {
        let Looked(cut) = self.0.get(at)?.as_ref()?;
        Some(piece.try_marks(first, cut.as_ref()))
    }
}

fn take_step(
    bundle: &mut Bundle,
    cuts: &mut Cuts,
    text: &StepText,
    number: usize,
    unit: Unit,
) -> Result<StepReport, StepProblem> {
    let (on, text) = text.parted()?;
    let at = on.map_or(Ok(0), |name| bundle.find(&name))?;
    let step = edit::read(&text)?;
    let (old, known) = (bundle.pieces[at].clone(), bundle.pieces.len());
    step.apply(bundle, at)?;
    bundle.lay();
    let new = &bundle.pieces[at];
    let same_line = new.outline == old.outline && new.holes == old.holes;
    let only_more = same_line && new.marks.starts_with(&old.marks);
    match only_more.then(|| cuts.check_marks(at, new, old.marks.len())).flatten() {
        Some(drawn) => drawn?,
        None => cuts.check(at, new)?,
    }
    for (at, piece) in bundle.pieces.iter().enumerate().skip(known) {
        cuts.check(at, piece)?;
    }
    let before = old.measures();
    let on = if at == 0 { String::new() } else { format!("{}: ", old.record.piece) };
    Ok(StepReport {
        number,
        spoken: on + &step.spoken(),
        unit: step.unit().unwrap_or(unit),
        before,
        after: if same_line { before } else { new.measures() },
        edges: if same_line { Vec::new() } else { edge_changes(&old, new) },
        points: if same_line { Vec::new() } else { point_changes(&old, new) },
        made: bundle.pieces[known..].iter().map(|p| (p.record.piece.clone(), p.measures())).collect(),
    })
}

/// Edges are told by the letter at which they begin, which an edit never changes.
fn edge_changes(before: &Piece, after: &Piece) -> Vec<EdgeChange> {
    let mut out = Vec::new();
    for (index, edge) in after.outline.edges().iter().enumerate() {
        let Some(old) = before.outline.edges().iter().find(|e| e.from == edge.from) else { continue };
        let (before_mm, after_mm) = (old.length_mm(), edge.length_mm());
        if (after_mm - before_mm).abs() >= REPORTED_MM {
            out.push(EdgeChange { edge: after.outline.spoken(index), before_mm, after_mm });
        }
    }
    out
}

fn point_changes(before: &Piece, after: &Piece) -> Vec<PointChange> {
    after
        .outline
        .points()
        .filter_map(|(letter, at)| {
            let (_, was) = before.outline.points().find(|(l, _)| *l == letter)?;
            (was.distance(at) >= REPORTED_MM).then(|| PointChange {
                letter: letter.to_string(),
                before: was,
                after: at,
            })
        })
        .collect()
}

impl StepReport {
    /// The report in words, one line each, in the unit of the step: sizes of the whole piece, points, edges.
    #[must_use]
    pub fn lines(&self) -> Vec<String> {
        let length = |name: &str, before: f64, after: f64| {
            ((after - before).abs() >= REPORTED_MM).then(|| {
                let (b, a) = (self.unit.show(before), self.unit.show(after));
                format!("{name} {b} -> {a} ({})", self.unit.show_change(after - before))
            })
        };
        let mut out = Vec::new();
        out.extend(length("whole height", self.before.height_mm, self.after.height_mm));
        out.extend(length("whole width", self.before.width_mm, self.after.width_mm));
        let (b, a) = (self.unit.show_area(self.before.area_mm2), self.unit.show_area(self.after.area_mm2));
        if a != b {
            out.push(format!("whole area {b} -> {a}"));
        }
        for p in &self.points {
            let mut moves = Vec::new();
            let (dx, dy) = (p.after.x - p.before.x, p.after.y - p.before.y);
            for (d, more, less) in [(dx, "out", "in"), (dy, "down", "up")] {
                if d.abs() >= REPORTED_MM {
                    moves.push(format!("{} {}", self.unit.show(d.abs()), if d > 0.0 { more } else { less }));
                }
            }
            out.push(format!("point {} moves {}", p.letter, moves.join(" and ")));
        }
        out.extend(
            self.edges.iter().filter_map(|e| length(&format!("edge {}", e.edge), e.before_mm, e.after_mm)),
        );
        out.extend(self.made.iter().map(|(name, m)| {
            let (high, wide) = (self.unit.show(m.height_mm), self.unit.show(m.width_mm));
            format!("new piece {name}: {high} high, {wide} wide, {}", self.unit.show_area(m.area_mm2))
        }));
        out
    }
}
