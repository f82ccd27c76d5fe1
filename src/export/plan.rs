//! A piece drawn: its lines, lettered points, named edges, fold and grain, dimensions and label.
//!
//! Enters a piece in its own frame (a half has its fold on x = 0, cloth at x ≥ 0, y down, millimetres); leaves items in
//! the same frame at full scale. Line kinds after ISO 128-2: finished line thick, fold long-dash-dot, dimensions thin.

use super::canvas::{Canvas, Style, circle};
use super::label;
use super::space::{Seams, Space};
use super::strokes::{self, THICK_MM, THIN_MM};
use super::{ExportError, font};
use crate::geometry::{BezPath, Face, Item, Layer, Line, Paint, PathSeg, Point, Rect, Vec2};
use crate::pattern::{CutLine, Edge, Piece, in_both_units};
use kurbo::{ParamCurve, ParamCurveArclen, ParamCurveDeriv};

/// The fold's bracket stands this far inside, millimetres.
const BRACKET_MM: f64 = 12.0;
/// The dimension along the fold stands this far inside, millimetres.
const FOLD_DIMENSION_MM: f64 = 30.0;
/// A dimension across stands at least this far from the place it measures, millimetres.
const ACROSS_OFFSET_MM: f64 = 20.0;
/// Words keep this distance from lines, millimetres.
const CLEAR_MM: f64 = 5.0;
/// Width to which a label is wrapped at scale 1, millimetres.
const LABEL_WIDTH_MM: f64 = 150.0;
/// Scales at which a label is tried, largest first: the last still has 2 mm letters.
const LABEL_SCALES: [f64; 5] = [1.0, 0.85, 0.7, 0.6, 0.5];
/// Widest places within this of the greatest width count as one edge, millimetres.
const WIDEST_MM: f64 = 0.02;
/// Words of a dimension are left to the label rather than set smaller than this, millimetres.
const LEAST_WORDS_MM: f64 = 2.4;
/// Edges steeper than this count as upright, and their words run upward, degrees.
const UPRIGHT_DEG: f64 = 75.0;
/// Edges shorter than this carry no words of their own, millimetres.
const SHORT_EDGE_MM: f64 = 25.0;

/// Chords of the cut line where words and pages keep account of it, millimetres.
const CUT_CHORD_MM: f64 = 0.2;

/// Cloth in a picture: light, so that thin black lines stand out.
const CLOTH: Paint = Paint { r: 0.96, g: 0.93, b: 0.87 };

/// How large words and lines are drawn.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Manner {
    /// Letters: 1 for paper at full scale, more for a picture that is looked at whole.
    pub(super) words: f64,
    /// Lines: the same.
    pub(super) lines: f64,
    /// Whether the label is set.
    pub(super) label: bool,
    /// Colour of the cloth.
    pub(super) cloth: Option<Paint>,
}

impl Manner {
    /// Paper at full scale.
    pub(super) const PAPER: Self = Self { words: 1.0, lines: 1.0, label: true, cloth: None };
    /// A picture of a piece of this size, looked at whole on a screen: words as large as a large piece needs, but no
    /// larger than a narrow one takes.
    pub(super) fn picture(piece: Rect) -> Self {
        let words = (piece.width().min(piece.height()) / 140.0).clamp(0.6, 2.4);
        let lines = (piece.width().max(piece.height()) / 360.0).clamp(0.6, 2.4);
        Self { words, lines, label: false, cloth: Some(CLOTH) }
    }
}

/// A drawn piece.
#[derive(Debug)]
pub(super) struct Plan {
    /// Items in the piece's frame.
    pub(super) items: Vec<Item>,
    /// Box round all of it.
    pub(super) bounds: Rect,
    /// What is still free.
    pub(super) space: Space,
}

/// Draws a piece; `seams` are page borders that the label keeps off where it can.
pub(super) fn draw(piece: &Piece, manner: Manner, seams: &Seams) -> Result<Plan, ExportError> {
    let ring = piece.outline.ring();
    if !ring.bounds().is_finite() {
        return Err(ExportError::NotFinite { piece: piece.record.piece.clone() });
    }
    let space = Space::new(&ring, &piece.holes);
    let bounds = space.bounds();
    let mut drawing = Drafting { canvas: Canvas::default(), space, manner, bounds };
    let cut = piece.cut_line()?;
    drawing.lines(piece, cut.as_ref());
    if piece.outline.on_fold() {
        drawing.fold(bounds, seams);
    }
    drawing.dimensions(piece);
    drawing.letters(piece);
    drawing.edge_words(piece);
    drawing.grain(piece, seams);
    if manner.label {
        drawing.label(piece, seams);
    }
    Ok(Plan { items: drawing.canvas.items, bounds: drawing.bounds, space: drawing.space })
}

/// A name fit for an id: small letters, figures and hyphens.
pub(super) fn id_of(name: &str) -> String {
    let plain: String =
        name.to_lowercase().chars().map(|c| if c.is_alphanumeric() { c } else { '-' }).collect();
    if plain.starts_with(char::is_alphabetic) { plain } else { format!("piece-{plain}") }
}

struct Drafting {
    canvas: Canvas,
    space: Space,
    manner: Manner,
    bounds: Rect,
}

impl Drafting {
    fn size(&self, mm: f64) -> f64 {
        mm * self.manner.words
    }

    fn thin(&self) -> Line {
        strokes::full(THIN_MM * self.manner.lines)
    }

    /// The cut line and the finished line (one and the same without allowances), the fold and the holes.
    fn lines(&mut self, piece: &Piece, cut: Option<&CutLine>) {
        let edges: Vec<&[PathSeg]> = piece.outline.edges().iter().map(|e| e.segments.as_slice()).collect();
        let on_fold = piece.outline.on_fold();
        let (thick, id) = (strokes::full(THICK_MM * self.manner.lines), id_of(&piece.record.piece));
        let cloth = self.manner.cloth;
        let path = |layer, name, path, line: &Line, fill| Item::Path {
            layer,
            name,
            path,
            line: Some(line.clone()),
            fill,
        };
        let mut fold = edges.last().map(|fold| (fold[0].start(), fold[fold.len() - 1].end()));
        if let Some(cut) = cut {
            let outer = joined(&cut.edges, on_fold);
            self.bounds = self.bounds.union(cut.ring.bounds());
            // Pages that carry nothing but a bit of cut line are printed too.
            let corners = cut.ring.flatten(CUT_CHORD_MM);
            for (k, &a) in corners.iter().enumerate() {
                self.space.wall(a, corners[(k + 1) % corners.len()]);
            }
            self.canvas.items.push(path(Layer::Cut, format!("{id}-cut"), outer, &thick, cloth));
            let inner = strokes::dashed(THIN_MM * self.manner.lines);
            self.canvas.items.push(path(Layer::Finished, id.clone(), joined(&edges, on_fold), &inner, None));
            let last = cut.edges.last().filter(|run| !run.is_empty());
            fold = last.map(|run| (run[0].start(), run[run.len() - 1].end()));
        } else {
            self.canvas.items.push(path(Layer::Finished, id.clone(), joined(&edges, on_fold), &thick, cloth));
        }
        for (number, hole) in piece.holes.iter().enumerate() {
            let name = format!("{id}-hole-{}", number + 1);
            let fill = cloth.map(|_| Paint::WHITE);
            self.canvas.items.push(path(Layer::Finished, name, hole.path(), &thick, fill));
        }
        if let (true, Some((start, end))) = (on_fold, fold) {
            let line = strokes::dash_dot(0.7 * THICK_MM * self.manner.lines);
            self.canvas.line(Layer::Fold, &[start, end], line);
        }
    }

    /// The bracket whose arrows point to the fold, with its words.
    fn fold(&mut self, bounds: Rect, seams: &Seams) {
        let (top, bottom) = (bounds.y0 + 0.28 * bounds.height(), bounds.y0 + 0.78 * bounds.height());
        let x = BRACKET_MM * self.manner.words.sqrt();
        let line = strokes::full(1.4 * THIN_MM * self.manner.lines);
        self.canvas.line(Layer::Marks, &[Point::new(x, top), Point::new(x, bottom)], line.clone());
        for y in [top, bottom] {
            self.canvas.arrow(Layer::Marks, Point::new(x, y), Point::new(1.0, y), &line);
        }
        let (large, small) = (self.size(7.0), self.size(4.0));
        let base = x + 1.5 + large * font::CAPITAL;
        let middle = f64::midpoint(top, bottom);
        let says = "place this edge on the fold, do not cut it";
        let widths = (font::width_mm("FOLD", large, Face::Bold), font::width_mm(says, small, Face::Regular));
        // Read from the right-hand side of the sheet: words run upward.
        let total = widths.0 + large * 0.5 + widths.1;
        let fits = total < bottom - top;
        let run = if fits { total } else { widths.0 };
        // On one page if it can be: the place nearest to the middle that crosses no seam.
        let free = (bottom - top - run).max(0.0) / 2.0;
        let shifts = [0.0, 0.25, -0.25, 0.5, -0.5, 0.75, -0.75, 1.0, -1.0].map(|part| part * free);
        let whole = |shift: &&f64| {
            let centre = middle + **shift;
            !seams.level.iter().any(|y| (y - centre).abs() < run / 2.0 + large)
        };
        let begin = middle + shifts.iter().find(whole).unwrap_or(&0.0) + 0.5 * run;
        let word = Style::plain(large).bold().turned(-90.0);
        self.canvas.words(Layer::Text, Point::new(base, begin), "FOLD", word);
        if fits {
            let at = Point::new(base, begin - widths.0 - large * 0.5);
            self.canvas.words(Layer::Text, at, says, Style::plain(small).turned(-90.0));
        }
        self.space.take(Rect::new(0.0, top - 3.0, base + 0.3 * large, bottom + 3.0));
        // The word again and again, so that no page along the fold lacks it.
        if self.manner.label {
            let mut y = bounds.y0 + 30.0;
            while y < bounds.y1 - 10.0 {
                let small = Style::plain(3.0).turned(-90.0).middle();
                self.canvas.words(Layer::Text, Point::new(5.0, y), "FOLD", small);
                y += 120.0;
            }
        }
        self.space.take(Rect::new(0.0, bounds.y0, 6.0, bounds.y1));
    }

    /// Two dimensions: along the fold (or down the left), and across at the widest place.
    fn dimensions(&mut self, piece: &Piece) {
        let ring = piece.outline.ring();
        let bounds = ring.bounds();
        let size = self.size(4.0);
        let on_fold = piece.outline.on_fold();
        let (left, ends) = match piece.outline.edges().last() {
            Some(fold) if on_fold => (0.0, (fold.end().y, fold.start().y)),
            _ => (bounds.x0, (bounds.y0, bounds.y1)),
        };
        let x = left
            + FOLD_DIMENSION_MM * self.manner.words.sqrt()
            + if self.manner.words > 1.5 { 8.0 } else { 0.0 };
        self.dimension(Point::new(x, ends.0), Point::new(x, ends.1));
        for y in [ends.0, ends.1] {
            self.canvas.line(Layer::Marks, &[Point::new(left, y), Point::new(x + 2.0, y)], self.thin());
        }
        let words = in_both_units(ends.1 - ends.0);
        let at = Point::new(x + size * (0.4 + font::CAPITAL), ends.0 + 0.16 * (ends.1 - ends.0));
        let width = font::width_mm(&words, size, Face::Regular);
        self.canvas.words(Layer::Text, at, words, Style::plain(size).turned(-90.0).middle());
        self.space.take(Rect::new(x - 2.0, at.y - width / 2.0, at.x + 1.0, at.y + width / 2.0));
        self.space.wall(Point::new(x, ends.0), Point::new(x, ends.1));

        let widest: Vec<Point> =
            ring.flatten(0.01).into_iter().filter(|p| p.x > bounds.x1 - WIDEST_MM).collect();
        let (high, low) = widest.iter().fold((f64::MAX, f64::MIN), |(a, b), p| (a.min(p.y), b.max(p.y)));
        let offset = ACROSS_OFFSET_MM * self.manner.words.sqrt();
        // On a straight side the dimension stands on it; at a single corner it stands off, towards the middle.
        let y = if low - high > 2.0 * offset {
            low - offset
        } else if low > bounds.center().y {
            high - offset
        } else {
            low + offset
        };
        self.dimension(Point::new(left, y), Point::new(bounds.x1, y));
        let (near, far) = if y < high { (high, y - 2.0) } else { (low, y + 2.0) };
        self.canvas.line(
            Layer::Marks,
            &[Point::new(bounds.x1, near), Point::new(bounds.x1, far)],
            self.thin(),
        );
        self.across_words(piece, x, bounds.x1, y, size);
        self.space.wall(Point::new(left, y), Point::new(bounds.x1, y));
    }

    /// The words of the dimension across, as many as there is room for above its line.
    fn across_words(&mut self, piece: &Piece, from: f64, to: f64, y: f64, size: f64) {
        let said = label::dimensions(piece);
        let short = said[1].split(" (").next().unwrap_or_default().to_owned();
        let least = LEAST_WORDS_MM.min(size);
        for words in [said[1..].join(", "), said[1].clone(), short] {
            let size = size.min((to - from - 6.0) / font::width_mm(&words, 1.0, Face::Regular));
            if size < least {
                continue;
            }
            let middle = Point::new(f64::midpoint(from, to), y - 0.4 * size);
            let width = font::width_mm(&words, size, Face::Regular);
            self.canvas.words(Layer::Text, middle, words, Style::plain(size).middle());
            self.space.take(Rect::new(
                middle.x - width / 2.0,
                middle.y - size,
                middle.x + width / 2.0,
                y + 1.0,
            ));
            return;
        }
    }

    fn dimension(&mut self, a: Point, b: Point) {
        let line = self.thin();
        self.canvas.double_arrow(Layer::Marks, a, b, &line);
    }

    /// A dot and a letter at every lettered point, the letter inside.
    fn letters(&mut self, piece: &Piece) {
        let edges = piece.outline.edges();
        let size = self.size(5.0);
        for (index, edge) in edges.iter().enumerate() {
            let before = &edges[(index + edges.len() - 1) % edges.len()];
            let at = edge.start();
            self.canvas.fill(Layer::Marks, circle(at, 0.9 * self.manner.lines.sqrt()), Paint::BLACK);
            let inward = self.inward(at, leaving(edge), arriving(before)) * (1.5 * size);
            let middle = at + inward;
            let style = Style::plain(size).bold().middle();
            let baseline = middle + Vec2::new(0.0, size * font::CAPITAL / 2.0);
            self.canvas.words(Layer::Text, baseline, edge.from.to_string(), style);
            self.space.take(Rect::from_center_size(middle, (size * 1.2, size * 1.2)));
        }
    }

    /// The direction into the cloth that halves the corner between the edge that arrives and the one that leaves.
    fn inward(&self, at: Point, leaving: Vec2, arriving: Vec2) -> Vec2 {
        // Clockwise with y down: the cloth lies to the right of the way, a quarter turn clockwise from it.
        let right = |v: Vec2| Vec2::new(-v.y, v.x);
        let sum = right(leaving) + right(arriving);
        let halving = if sum.hypot() > 0.1 { sum.normalize() } else { -leaving };
        if self.space.inside(at + halving * 2.0) { halving } else { right(leaving) }
    }

    /// Along every longer edge its letters, its name if it has one, and its length.
    fn edge_words(&mut self, piece: &Piece) {
        let edges = piece.outline.edges();
        let size = self.size(3.2);
        let counted = edges.len() - usize::from(piece.outline.on_fold());
        for (index, edge) in edges[..counted].iter().enumerate() {
            let length = edge.length_mm();
            let words = format!("{}  {length:.1} mm", piece.outline.spoken(index));
            let width = font::width_mm(&words, size, Face::Regular);
            if length < SHORT_EDGE_MM.max(width + 3.0 * size) {
                continue;
            }
            // The first place along the edge whose words meet nothing; the middle first.
            for part in [0.5, 0.4, 0.6, 0.3, 0.7] {
                if self.try_edge_words(edge, length * part, &words, width, size) {
                    break;
                }
            }
        }
    }

    fn try_edge_words(&mut self, edge: &Edge, along_mm: f64, words: &str, width: f64, size: f64) -> bool {
        let Some((at, way)) = place_on(edge, along_mm) else { return false };
        let inward = Vec2::new(-way.y, way.x);
        // Words are read from below or from the right, also where an upright edge leans a little.
        let turn = way.atan2().to_degrees();
        let turn_deg = if turn > UPRIGHT_DEG {
            turn - 180.0
        } else if turn <= UPRIGHT_DEG - 180.0 {
            turn + 180.0
        } else {
            turn
        };
        let unit = Vec2::from_angle(turn_deg.to_radians());
        // A curve bends into the words: stand off by its sagitta as well.
        let [start, end] = [-0.5, 0.5].map(|s| place_on(edge, along_mm + s * width).map_or(at, |(p, _)| p));
        let bend = [start, end].map(|p| (p - at).dot(inward)).into_iter().fold(0.0, f64::max);
        let off = bend + 1.2 * size;
        let centre = at + inward * (off + size * font::CAPITAL / 2.0);
        let reach = (unit.x * width).abs().max(size) / 2.0;
        let rise = (unit.y * width).abs().max(size) / 2.0;
        let covered = Rect::new(centre.x - reach, centre.y - rise, centre.x + reach, centre.y + rise);
        let upright_enough = unit.x.abs() > 0.97 || unit.y.abs() > 0.97;
        let free = if upright_enough { self.space.is_clear(covered) } else { self.space.inside(centre) };
        if !free {
            return false;
        }
        let down = Vec2::new(-unit.y, unit.x) * (size * font::CAPITAL / 2.0);
        self.canvas.words(Layer::Text, centre + down, words, Style::plain(size).middle().turned(turn_deg));
        self.space.take(covered);
        true
    }

    /// The grain arrow, parallel to the fold unless the record says across or bias.
    fn grain(&mut self, piece: &Piece, seams: &Seams) {
        let said = piece.record.grain.to_lowercase();
        let way = if said.contains("bias") {
            Vec2::from_angle(-std::f64::consts::FRAC_PI_4)
        } else if said.contains("across") {
            Vec2::new(1.0, 0.0)
        } else {
            Vec2::new(0.0, -1.0)
        };
        let bounds = self.space.bounds();
        let size = self.size(4.0);
        let wish = Point::new(bounds.x0 + 0.72 * bounds.width(), bounds.y0 + 0.6 * bounds.height());
        for part in [0.35, 0.25, 0.15, 0.08] {
            let length = part * bounds.height();
            let covered = Vec2::new((way.x * length).abs() + 2.5 * size, (way.y * length).abs() + 2.0);
            let Some((_, r)) = self.space.place(covered, CLEAR_MM, wish, seams) else { continue };
            let centre = r.center() - Vec2::new(way.y.abs() * size * 0.5, 0.0);
            let line = strokes::full(1.4 * THIN_MM * self.manner.lines);
            self.canvas.double_arrow(
                Layer::Marks,
                centre - way * (length / 2.0),
                centre + way * (length / 2.0),
                &line,
            );
            let words = format!("grain {}", piece.record.grain);
            let side = Vec2::new(-way.y, way.x) * (size * (0.4 + font::CAPITAL));
            let fits = font::width_mm(&words, size, Face::Regular) < length;
            let words = if fits { words } else { "grain".to_owned() };
            let style = Style::plain(size).middle().turned(way.atan2().to_degrees());
            self.canvas.words(Layer::Text, centre + side, words, style);
            self.space.take(r);
            return;
        }
    }

    /// The label, as large as fits inside; beside the piece where none fits.
    fn label(&mut self, piece: &Piece, seams: &Seams) {
        let bounds = self.space.bounds();
        let wish = Point::new(bounds.x0 + 0.5 * bounds.width(), bounds.y0 + 0.42 * bounds.height());
        for scale in LABEL_SCALES {
            let shapes = [LABEL_WIDTH_MM, 0.65 * LABEL_WIDTH_MM]
                .map(|width| label::lines(piece, scale, width * scale));
            let places = shapes.iter().filter_map(|lines| {
                let (cost, r) = self.space.place(label::size(lines), CLEAR_MM, wish, seams)?;
                Some((cost, r, lines))
            });
            if let Some((_, r, lines)) = places.min_by(|a, b| a.0.total_cmp(&b.0)) {
                label::set(&mut self.canvas, r.origin(), lines);
                self.space.take(r);
                return;
            }
        }
        let lines = label::lines(piece, 0.7, 0.7 * LABEL_WIDTH_MM);
        let corner = Point::new(bounds.x1 + 8.0, bounds.y0);
        let r = Rect::from_origin_size(corner, label::size(&lines).to_size());
        label::set(&mut self.canvas, corner, &lines);
        self.space.take(r);
        self.bounds = self.bounds.union(r);
    }
}

/// Edges as one path: closed, or open along the fold, which is drawn by itself.
fn joined<R: AsRef<[PathSeg]>>(edges: &[R], on_fold: bool) -> BezPath {
    let drawn = &edges[..edges.len() - usize::from(on_fold)];
    let mut segments = drawn.iter().flat_map(AsRef::as_ref).peekable();
    let mut path = BezPath::new();
    if let Some(first) = segments.peek() {
        path.move_to(first.start());
    }
    for segment in segments {
        path.push(segment.as_path_el());
    }
    if !on_fold {
        path.close_path();
    }
    path
}

/// The way in which an edge leaves its first point.
fn leaving(edge: &Edge) -> Vec2 {
    tangent(&edge.segments[0], 0.0)
}

/// The way in which an edge arrives at its last point.
fn arriving(edge: &Edge) -> Vec2 {
    tangent(&edge.segments[edge.segments.len() - 1], 1.0)
}

/// Direction of a segment at a parameter; of its chord where its handles have no length.
fn tangent(segment: &PathSeg, t: f64) -> Vec2 {
    let slope = match segment {
        PathSeg::Line(l) => l.p1 - l.p0,
        PathSeg::Quad(q) => q.deriv().eval(t).to_vec2(),
        PathSeg::Cubic(c) => c.deriv().eval(t).to_vec2(),
    };
    let chord = segment.end() - segment.start();
    match (slope.hypot() > 1e-9, chord.hypot() > 1e-9) {
        (true, _) => slope.normalize(),
        (false, true) => chord.normalize(),
        (false, false) => Vec2::new(1.0, 0.0),
    }
}

/// The point so far along an edge, and the way there.
fn place_on(edge: &Edge, along_mm: f64) -> Option<(Point, Vec2)> {
    /// Good enough for words, millimetres.
    const ACCURACY_MM: f64 = 0.05;
    let mut left = along_mm.max(0.0);
    for segment in &edge.segments {
        let length = segment.arclen(ACCURACY_MM);
        if left <= length {
            let t = segment.inv_arclen(left, ACCURACY_MM);
            return Some((segment.eval(t), tangent(segment, t)));
        }
        left -= length;
    }
    None
}
