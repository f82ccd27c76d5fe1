//! The lines of a piece: each kind in its own line after ISO 128-2, on its own layer.

use super::{Drafting, Manner, Pages, id_of};
use crate::export::canvas::{Style, circle};
use crate::export::shape::Shape;
use crate::export::space::offsets;
use crate::export::strokes::{self, THICK_MM, THIN_MM};
use crate::export::{font, plan::edge_words};
use crate::geometry::{BezPath, Face, Item, Layer, Line, Paint, PathSeg, Point, Rect, Vec2};
use crate::pattern::{LineKind, WorkHole};
use kurbo::{ParamCurveArclen, Shape as _};

/// Radius of the dot that stands for a needle's hole, millimetres: seen, and small enough to prick in its middle.
const PRICK_MM: f64 = 0.4;
/// A hole's middle is marked by arms this much longer than its radius, millimetres.
const ARM_MM: f64 = 1.5;
/// Size of the words of construction lines, millimetres.
const SAYS_MM: f64 = 3.0;
/// A hole's words outside a narrow piece stand this far from it, and at most so far from the hole, millimetres.
const OUTSIDE_MM: f64 = 4.0;
const LEADER_MM: f64 = 40.0;
/// Words beside a line need its length and this many sizes more.
const ROOM: f64 = 1.0;

/// How a kind of construction line is drawn.
fn line_of(kind: LineKind, lines: f64) -> Line {
    let thin = THIN_MM * lines;
    match kind {
        LineKind::Fold | LineKind::Centre => strokes::dash_dot(thin),
        LineKind::Skive => strokes::dash_two_dots(thin),
        LineKind::Glue => strokes::dotted(thin),
        LineKind::Stitch => strokes::short_dashed(thin),
        LineKind::Placement => strokes::dashed(thin),
        LineKind::Notch | LineKind::Slit => strokes::full(0.7 * THICK_MM * lines),
        LineKind::Match => strokes::full(thin),
    }
}

/// A piece's lines and holes, in its frame, without its words.
pub(in crate::export) fn items(shape: &Shape, manner: Manner) -> Vec<Item> {
    let id = id_of(&shape.name);
    let mut names = Names { id: &id, counts: Vec::new() };
    let thick = strokes::full(THICK_MM * manner.lines);
    let mut out = Vec::new();
    let mut push = |layer, name, path, line: Line, fill| {
        out.push(Item::Path { layer, name, path, line: Some(line), fill });
    };
    let outer = open_at_fold(shape);
    if shape.finished.is_empty() {
        push(Layer::Finished, id.clone(), outer, thick.clone(), manner.cloth);
    } else {
        push(Layer::Cut, format!("{id}-cut"), outer, thick.clone(), manner.cloth);
        for (path, folded) in runs(&shape.finished) {
            let (layer, line) = if folded {
                (Layer::Fold, strokes::dash_dot(THIN_MM * manner.lines))
            } else {
                (Layer::Finished, strokes::dashed(THIN_MM * manner.lines))
            };
            push(layer, names.next(if folded { "fold" } else { "finished" }), path, line, None);
        }
    }
    for hole in &shape.holes {
        let fill = manner.cloth.map(|_| Paint::WHITE);
        push(Layer::Finished, names.next("hole"), hole.path(), thick.clone(), fill);
    }
    if let Some((bottom, top)) = shape.fold {
        let mut path = BezPath::new();
        path.move_to(bottom);
        path.line_to(top);
        let line = strokes::dash_dot(0.7 * THICK_MM * manner.lines);
        push(Layer::Fold, format!("{id}-on-fold"), path, line, None);
    }
    for line in &shape.lines {
        let name = names.next(line.kind.word());
        push(line.kind.layer(), name, line.path.clone(), line_of(line.kind, manner.lines), None);
    }
    for hole in &shape.punched {
        let thin = strokes::full(THIN_MM * manner.lines);
        push(Layer::Marks, names.next("hole"), hole_path(hole), thin, None);
    }
    for &at in &shape.pricked {
        let path = circle(at, PRICK_MM * manner.lines.sqrt());
        let item = Item::Path {
            layer: Layer::Stitch,
            name: String::new(),
            path,
            line: None,
            fill: Some(Paint::BLACK),
        };
        out.push(item);
    }
    out
}

/// Names for the paths of one piece: `body-stitch-1`, `body-stitch-2`.
struct Names<'a> {
    id: &'a str,
    counts: Vec<(&'a str, usize)>,
}

impl<'a> Names<'a> {
    fn next(&mut self, word: &'a str) -> String {
        let at = self.counts.iter().position(|(w, _)| *w == word).unwrap_or_else(|| {
            self.counts.push((word, 0));
            self.counts.len() - 1
        });
        self.counts[at].1 += 1;
        format!("{}-{word}-{}", self.id, self.counts[at].1)
    }
}

/// The closed line, or all of it but the fold, which is drawn by itself.
fn open_at_fold(shape: &Shape) -> BezPath {
    match (shape.fold, shape.outer.segments().split_last()) {
        (Some(_), Some((_, drawn))) => {
            let mut path = BezPath::new();
            path.move_to(kurbo::ParamCurve::start(&shape.outer.segments()[0]));
            drawn.iter().for_each(|segment| path.push(segment.as_path_el()));
            path
        }
        _ => shape.outer.path(),
    }
}

/// Edges one after another of one kind as one path each.
fn runs(edges: &[(BezPath, bool)]) -> Vec<(BezPath, bool)> {
    let mut out: Vec<(BezPath, bool)> = Vec::new();
    for (path, folded) in edges {
        let start = path.segments().next().map(|s| kurbo::ParamCurve::start(&s));
        match out.last_mut() {
            Some((run, kind)) if kind == folded && run.current_position() == start => {
                run.extend(path.elements().iter().skip(1).copied());
            }
            _ => out.push((path.clone(), *folded)),
        }
    }
    out
}

/// A circle of the hole's size with a cross in its middle.
fn hole_path(hole: &WorkHole) -> BezPath {
    let radius = hole.diameter_mm / 2.0;
    let mut path = circle(hole.at, radius);
    let reach = radius + ARM_MM;
    for arm in [(reach, 0.0), (0.0, reach)] {
        path.move_to(hole.at - arm);
        path.line_to(hole.at + arm);
    }
    path
}

impl Drafting {
    /// Everything that is drawn of the piece, and account kept of it.
    pub(super) fn lines(&mut self, shape: &Shape) {
        self.canvas.items.extend(items(shape, self.manner));
        self.bounds = self.bounds.union(shape.outer.bounds());
        if !shape.finished.is_empty() {
            // Pages that carry nothing but a bit of cut line are printed too.
            self.space.edge(&shape.outer);
        }
        for line in &shape.lines {
            self.bounds = self.bounds.union(line.path.bounding_box());
            for chord in chords(&line.path) {
                self.space.wall(chord.0, chord.1);
            }
        }
        for hole in &shape.punched {
            let side = hole.diameter_mm + 2.0 * ARM_MM;
            self.space.take(Rect::from_center_size(hole.at, (side, side)));
        }
        for words in &shape.words {
            let style = Style::plain(words.size_mm).turned(words.turn_deg);
            self.canvas.words(Layer::Text, words.at, words.words.clone(), style);
            if let Some(Item::Text { text, .. }) = self.canvas.items.last() {
                self.space.take(font::outline(text).bounding_box());
            }
        }
    }

    /// What construction lines and holes say, beside them where there is room.
    pub(super) fn line_words(&mut self, shape: &Shape, pages: &Pages) {
        let size = self.size(SAYS_MM);
        let mut said: Vec<&str> = Vec::new();
        for line in shape.lines.iter().filter(|line| !line.says.is_empty()) {
            // What many lines say alike, slits for example, is said once.
            if said.contains(&line.says.as_str()) && matches!(line.kind, LineKind::Slit | LineKind::Notch) {
                continue;
            }
            said.push(&line.says);
            let segments: Vec<PathSeg> = line.path.segments().collect();
            let length: f64 = segments.iter().map(|s| s.arclen(0.05)).sum();
            let width = font::width_mm(&line.says, size, Face::Regular);
            if length > width + ROOM * size {
                self.words_along(&segments, length, &line.says, size, pages);
            }
        }
        let beside = shape.outer.bounds().x1 + OUTSIDE_MM;
        let mut said: Vec<String> = Vec::new();
        for hole in &shape.punched {
            self.hole_words(hole, size, beside, &mut said);
        }
    }

    /// A hole's size and what it holds, beside it where nothing else stands; where there is no room, outside the piece, and
    /// of holes that are alike once.
    fn hole_words(&mut self, hole: &WorkHole, size: f64, beside: f64, said: &mut Vec<String>) {
        let kind = if hole.drilled { "drill ⌀" } else { "⌀" };
        let holds = if hole.holds.is_empty() { String::new() } else { format!(", {}", hole.holds) };
        let words = format!("{kind} {:.1} mm{holds}", hole.diameter_mm);
        let width = font::width_mm(&words, size, Face::Regular);
        let off = hole.diameter_mm / 2.0 + ARM_MM + 0.5 * size;
        let places = [
            Point::new(hole.at.x + off, hole.at.y + size * font::CAPITAL / 2.0),
            Point::new(hole.at.x - off - width, hole.at.y + size * font::CAPITAL / 2.0),
            Point::new(hole.at.x - width / 2.0, hole.at.y + off + size * font::CAPITAL),
            Point::new(hole.at.x - width / 2.0, hole.at.y - off),
        ];
        let covered = |at: Point| Rect::new(at.x, at.y - size * font::CAPITAL, at.x + width, at.y);
        let free = places.into_iter().find(|at| {
            self.space.inside(covered(*at).center()) && self.space.is_clear(covered(*at).inset(0.5))
        });
        if let Some(at) = free {
            self.canvas.words(Layer::Text, at, words.as_str(), Style::plain(size));
            self.space.take(covered(at));
            said.push(words);
            return;
        }
        if said.contains(&words) || beside - hole.at.x > LEADER_MM {
            return;
        }
        // At the end of a thin line from the hole, at its height or a little off.
        let outside =
            offsets(LEADER_MM).map(|d| Point::new(beside, hole.at.y + d + size * font::CAPITAL / 2.0));
        let free = outside.into_iter().find(|at| self.space.is_clear(covered(*at).inset(0.5)));
        if let Some(at) = free {
            let from = hole.at + Vec2::new(hole.diameter_mm / 2.0 + ARM_MM, 0.0);
            let to = Point::new(at.x - 0.3 * size, at.y - size * font::CAPITAL / 2.0);
            let line = self.thin();
            self.canvas.line(Layer::Text, &[from, to], line);
            self.canvas.words(Layer::Text, at, words.as_str(), Style::plain(size));
            self.space.take(covered(at));
            self.bounds = self.bounds.union(covered(at));
            said.push(words);
        }
    }

    /// Words beside a line, at the first place that meets nothing, on one page if it can be; the middle first.
    pub(super) fn words_along(
        &mut self,
        segments: &[PathSeg],
        length: f64,
        words: &str,
        size: f64,
        pages: &Pages,
    ) {
        let width = font::width_mm(words, size, Face::Regular);
        let spots = || edge_words::STANDS.iter().flat_map(|s| edge_words::PARTS.iter().map(move |p| (s, p)));
        let places = || {
            spots().filter_map(|(stand, part)| self.edge_place(segments, length * part, width, size, *stand))
        };
        let place = places()
            .find(|p| p.covered.iter().all(|r| pages.seams.crossed(*r) == 0))
            .or_else(|| places().next());
        if let Some(place) = place {
            let style = Style::plain(size).middle().turned(place.turn_deg);
            self.canvas.words(Layer::Text, place.base, words, style);
            place.covered.iter().for_each(|r| self.space.take(*r));
        }
    }
}

/// A line as chords good enough to keep words off it.
fn chords(path: &BezPath) -> Vec<(Point, Point)> {
    /// Departure of a chord, millimetres.
    const CHORD_MM: f64 = 0.2;
    let mut out = Vec::new();
    let mut last = Point::ZERO;
    kurbo::flatten(path, CHORD_MM, |element| match element {
        kurbo::PathEl::MoveTo(p) => last = p,
        kurbo::PathEl::LineTo(p) => {
            out.push((last, p));
            last = p;
        }
        _ => {}
    });
    out
}
