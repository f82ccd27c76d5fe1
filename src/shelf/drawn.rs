//! A captured paper pattern as the beginning of a recipe: its fold, and what is drawn on it as steps.

use crate::capture::CapturedPaper;
use crate::curve::{Fitted, Tolerance};
use crate::geometry::{Affine, BezPath, Point, Rect, Vec2};
use crate::ink::{Inner, Meaning};
use crate::pattern::{
    self, FoldError, FoldOptions, Folded, Outline, Piece, Record, StepText, StraightEdge, fold_drawn,
    straight_edges,
};
use kurbo::{ParamCurveArclen, ParamCurveNearest};

/// Which straight edge of a drawn half is its fold, as the photograph shows it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum FoldEdge {
    /// The longest straight edge; a drawing that is its own mirror image is a whole pattern.
    #[default]
    Longest,
    /// The straight edge at the left.
    Left,
    /// The straight edge at the right.
    Right,
    /// The straight edge at the top.
    Top,
    /// The straight edge at the bottom.
    Bottom,
    /// The drawing is a whole pattern.
    None,
}

/// Why a drawing is no pattern with the fold that was told.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum DrawnError {
    /// No straight edge lies there.
    #[error("the drawing has no straight edge there to be its fold; give another --fold, or --fold none")]
    NoEdge,
    /// The half cannot be made.
    #[error("the half cannot be made at that fold: {0}")]
    Half(FoldError),
}

/// A captured drawing as the beginning of a recipe.
#[derive(Debug, Clone, PartialEq)]
pub struct Drawn {
    /// The ends of the fold on the table, millimetres; `None` for a whole pattern.
    pub fold: Option<[Point; 2]>,
    /// Steps that draw what was drawn, in the half's frame; none where nothing is folded.
    pub steps: Vec<StepText>,
    /// What was found on the paper, name and text, for a person.
    pub facts: Vec<(String, String)>,
}

impl Drawn {
    /// Finds the fold, and says what was drawn as steps.
    ///
    /// # Errors
    /// [`DrawnError`].
    pub fn of(paper: &CapturedPaper, told: FoldEdge) -> Result<Self, DrawnError> {
        let found = fold(paper, told)?;
        Ok(Self { fold: found.ends, steps: steps(paper, &found), facts: facts(paper, &found) })
    }
}

/// How the fold was found, for a person, and its ends.
struct FoldFound {
    ends: Option<[Point; 2]>,
    why: String,
    folded: Option<Folded>,
}

/// A fold is at least this part of the pattern's height or width.
const FOLD_PART: f64 = 0.3;
/// A line on the other half that lies within this of one on this half is its mirror image, millimetres.
const TWIN_MM: f64 = 3.0;
/// A notch within this of the line belongs to it, millimetres.
const NOTCH_MM: f64 = 4.0;

/// Finds the fold.
fn fold(paper: &CapturedPaper, told: FoldEdge) -> Result<FoldFound, DrawnError> {
    let outer = &paper.captured.outer.fitted;
    let tolerance = Tolerance { depart_mm: super::folder::DEPART_MM, ..Tolerance::default() };
    let options = FoldOptions { tolerance, ..FoldOptions::default() };
    let whole = || pattern::fold(outer, &[], &options).ok();
    if told == FoldEdge::None {
        return Ok(FoldFound { ends: None, why: "whole pattern, as told".to_owned(), folded: whole() });
    }
    if told == FoldEdge::Longest
        && let Some(folded) = whole()
    {
        let why = "whole pattern: the drawing is its own mirror image; give --fold left (or right, top, bottom) for a half";
        return Ok(FoldFound { ends: None, why: why.to_owned(), folded: Some(folded) });
    }
    let edge = chosen(outer, paper.up, told);
    let Some(edge) = edge else {
        if told == FoldEdge::Longest {
            let why = "no fold: no long straight edge and no mirror axis".to_owned();
            return Ok(FoldFound { ends: None, why, folded: None });
        }
        return Err(DrawnError::NoEdge);
    };
    let folded = fold_drawn(outer, edge.ends, &options).map_err(DrawnError::Half)?;
    let how = if told == FoldEdge::Longest { "the longest straight edge" } else { "as told" };
    let why = format!("half pattern: its fold is a straight edge of {:.1} mm, {how}", edge.length_mm());
    Ok(FoldFound { ends: Some(edge.ends), why, folded: Some(folded) })
}

fn chosen(outer: &Fitted, up: Vec2, told: FoldEdge) -> Option<StraightEdge> {
    let flat = outer.ring.flatten(0.1);
    let bounds = flat.iter().fold(Rect::from_points(flat[0], flat[0]), |r, p| r.union_pt(*p));
    let long = FOLD_PART * bounds.width().max(bounds.height());
    let edges = straight_edges(outer);
    let mut edges = edges.into_iter().filter(|e| e.length_mm() >= long);
    let right = Vec2::new(-up.y, up.x);
    let towards = match told {
        FoldEdge::Longest | FoldEdge::None => return edges.next(),
        FoldEdge::Left => -right,
        FoldEdge::Right => right,
        FoldEdge::Top => up,
        FoldEdge::Bottom => -up,
    };
    let reach = |e: &StraightEdge| e.ends[0].midpoint(e.ends[1]).to_vec2().dot(towards);
    let along = |e: &StraightEdge| (e.ends[1] - e.ends[0]).normalize().dot(towards).abs();
    edges.filter(|e| along(e) < 0.7).max_by(|a, b| reach(a).total_cmp(&reach(b)))
}

/// Steps that draw what was drawn, in the half's frame; none where nothing is folded.
fn steps(paper: &CapturedPaper, fold: &FoldFound) -> Vec<StepText> {
    let Some(folded) = &fold.folded else { return Vec::new() };
    let outline = Piece::from_folded(folded, Record::default()).outline;
    let whole = fold.ends.is_none();
    let map = folded.half_from_traced;
    let mut here: Vec<Inner> = Vec::new();
    let mut mirrored: Vec<Inner> = Vec::new();
    for line in &paper.inner {
        let moved = carried(line, map);
        if whole && middle(&moved).x < -TWIN_MM {
            mirrored.push(carried(&moved, Affine::FLIP_X));
        } else {
            here.push(moved);
        }
    }
    for line in mirrored {
        let twin = |l: &Inner| l.is == line.is && middle(l).distance(middle(&line)) < TWIN_MM;
        if !here.iter().any(twin) {
            here.push(line);
        }
    }
    here.iter().filter_map(|line| step(line, &outline)).collect()
}

/// What was found on the paper, name and text, for a person.
fn facts(paper: &CapturedPaper, fold: &FoldFound) -> Vec<(String, String)> {
    let outer = match (paper.drawn, paper.paper_fold_mm) {
        (true, None) => "the line that is drawn".to_owned(),
        (true, Some(mm)) => {
            format!("the line that is drawn, closed by {mm:.0} mm of the paper's edge, its fold")
        }
        (false, _) => "the paper's own edge: no drawn line goes round".to_owned(),
    };
    let mut out = vec![("outer_line".to_owned(), outer), ("fold".to_owned(), fold.why.clone())];
    for (index, line) in paper.inner.iter().enumerate() {
        out.push((format!("drawn_{}", index + 1), format!("{}: {}", line.is.word(), line.why)));
    }
    if paper.left_out > 0 {
        let text = format!("{} strokes, taken for handwriting or stains", paper.left_out);
        out.push(("left_out".to_owned(), text));
    }
    out
}

fn carried(line: &Inner, map: Affine) -> Inner {
    let strokes = line.strokes.iter().map(|s| s.iter().map(|p| map * *p).collect()).collect();
    Inner { strokes, ..line.clone() }
}

fn middle(line: &Inner) -> Point {
    let points: Vec<Point> = line.strokes.iter().flatten().copied().collect();
    let sum = points.iter().fold(Vec2::ZERO, |s, p| s + p.to_vec2());
    (sum / f64::from(u32::try_from(points.len().max(1)).unwrap_or(1))).to_point()
}

fn step(line: &Inner, outline: &Outline) -> Option<StepText> {
    let drawn = |is: &str| {
        let mut path = BezPath::new();
        for stroke in &line.strokes {
            add(&mut path, stroke);
        }
        StepText::new("drawn").with("is", is).with("path", svg(&path)).with("why", &line.why)
    };
    match line.is {
        Meaning::Notch => {
            let (from, to) = (*line.strokes.first()?.first()?, *line.strokes.first()?.last()?);
            Some(notch(from, to, outline).unwrap_or_else(|| drawn("inner")))
        }
        Meaning::Drill => {
            let at = middle(line);
            let radius = line.strokes[0].iter().map(|p| p.distance(at)).sum::<f64>()
                / f64::from(u32::try_from(line.strokes[0].len()).ok()?);
            Some(
                StepText::new("hole")
                    .with("out", format!("{:.2}mm", at.x))
                    .with("down", format!("{:.2}mm", at.y))
                    .with("diameter", format!("{:.1}mm", 2.0 * radius))
                    .with("how", "drill"),
            )
        }
        other => Some(drawn(other.word())),
    }
}

fn notch(from: Point, to: Point, outline: &Outline) -> Option<StepText> {
    let edges = outline.edges();
    let mut best: Option<(f64, usize, f64)> = None;
    for (index, edge) in edges.iter().enumerate() {
        let mut along = 0.0;
        for segment in &edge.segments {
            for p in [from, to] {
                let near = segment.nearest(p, 1e-4);
                let off = near.distance_sq.sqrt();
                if off < NOTCH_MM && best.is_none_or(|b| off < b.0) {
                    best = Some((
                        off,
                        index,
                        along + kurbo::ParamCurve::subsegment(segment, 0.0..near.t).arclen(1e-4),
                    ));
                }
            }
            along += segment.arclen(1e-4);
        }
    }
    let (_, index, along) = best?;
    let (a, b) = (edges[index].from, edges[(index + 1) % edges.len()].from);
    Some(
        StepText::new("notch")
            .with("at", format!("{along:.2}mm along {a}-{b}"))
            .with("depth", format!("{:.1}mm", from.distance(to))),
    )
}

/// Adds a stroke: straight, or a smooth curve through its places.
fn add(path: &mut BezPath, stroke: &[Point]) {
    let Some(first) = stroke.first() else { return };
    // A stroke that goes on from the last one is one line with it.
    let last = path.elements().last().and_then(kurbo::PathEl::end_point);
    if last.is_none_or(|p| p.distance(*first) > 1e-6) {
        path.move_to(*first);
    }
    if stroke.len() < 3 {
        stroke[1..].iter().for_each(|p| path.line_to(*p));
        return;
    }
    let mut points: Vec<Point> = stroke.iter().copied().step_by(CURVE_STEP).collect();
    if !(stroke.len() - 1).is_multiple_of(CURVE_STEP) {
        points.extend(stroke.last());
    }
    // Catmull and Rom's spline: the way at a place is half of that between its neighbours.
    for k in 0..points.len() - 1 {
        let (a, b) = (points[k], points[k + 1]);
        let before = points[k.saturating_sub(1)];
        let after = points[(k + 2).min(points.len() - 1)];
        path.curve_to(a + (b - before) / 6.0, b - (after - a) / 6.0, b);
    }
}

/// Every so many places of a curved stroke, a millimetre apart, carry its curve.
const CURVE_STEP: usize = 8;

/// SVG path data to a thousandth of a millimetre.
fn svg(path: &BezPath) -> String {
    use kurbo::PathEl::{ClosePath, CurveTo, LineTo, MoveTo, QuadTo};
    let p = |p: Point| format!("{:.3},{:.3}", p.x, p.y);
    let words = path.elements().iter().map(|el| match *el {
        MoveTo(a) => format!("M {}", p(a)),
        LineTo(a) => format!("L {}", p(a)),
        QuadTo(a, b) => format!("Q {} {}", p(a), p(b)),
        CurveTo(a, b, c) => format!("C {} {} {}", p(a), p(b), p(c)),
        ClosePath => "Z".to_owned(),
    });
    words.collect::<Vec<_>>().join(" ")
}
