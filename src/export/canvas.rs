//! A drawing while it is made: lines, fills and words put down one after another, in millimetres.

use super::font;
use super::strokes;
use crate::geometry::{
    Affine, Anchor, BezPath, Clip, Drawing, Face, Item, Layer, Line, Paint, Point, Rect, Text, Vec2,
};
use kurbo::{Circle, Shape};

/// How far a circle or round corner drawn by cubics may depart, millimetres.
const ROUND_MM: f64 = 0.001;
/// Length of an arrowhead in line widths, ISO 128 fashion: about 3 mm on a thin line.
const HEAD: f64 = 11.0;

/// Items so far.
#[derive(Debug, Clone, Default)]
pub(super) struct Canvas {
    /// In drawing order.
    pub(super) items: Vec<Item>,
}

/// How words are set.
#[derive(Debug, Clone, Copy)]
pub(super) struct Style {
    /// Size (em), millimetres.
    pub(super) size_mm: f64,
    /// Weight.
    pub(super) face: Face,
    /// Which end stands at the point.
    pub(super) anchor: Anchor,
    /// Turn, degrees clockwise.
    pub(super) turn_deg: f64,
    /// Colour.
    pub(super) paint: Paint,
}

impl Style {
    /// Plain black letters that begin at the point.
    pub(super) const fn plain(size_mm: f64) -> Self {
        Self { size_mm, face: Face::Regular, anchor: Anchor::Start, turn_deg: 0.0, paint: Paint::BLACK }
    }
    /// Bold.
    pub(super) const fn bold(self) -> Self {
        Self { face: Face::Bold, ..self }
    }
    /// Centred on the point.
    pub(super) const fn middle(self) -> Self {
        Self { anchor: Anchor::Middle, ..self }
    }
    /// Turned clockwise.
    pub(super) const fn turned(self, turn_deg: f64) -> Self {
        Self { turn_deg, ..self }
    }
    /// In another colour.
    pub(super) const fn painted(self, paint: Paint) -> Self {
        Self { paint, ..self }
    }
}

impl Canvas {
    /// The page.
    pub(super) fn into_drawing(self, width_mm: f64, height_mm: f64) -> Drawing {
        Drawing { width_mm, height_mm, items: self.items }
    }

    /// Moves everything.
    pub(super) fn shift(&mut self, by: Vec2) {
        for item in &mut self.items {
            match item {
                Item::Path { path, .. } => path.apply_affine(Affine::translate(by)),
                Item::Text { text, .. } => text.at += by,
                Item::Clip(clip) => {
                    clip.window = clip.window.map(|w| w + by);
                    clip.parent_from_items = Affine::translate(by) * clip.parent_from_items;
                }
            }
        }
    }

    /// A path in a line.
    pub(super) fn stroke(&mut self, layer: Layer, path: BezPath, line: Line) {
        self.push(layer, path, Some(line), None);
    }

    /// A path filled.
    pub(super) fn fill(&mut self, layer: Layer, path: BezPath, paint: Paint) {
        self.push(layer, path, None, Some(paint));
    }

    /// A path filled and lined.
    pub(super) fn push(&mut self, layer: Layer, path: BezPath, line: Option<Line>, fill: Option<Paint>) {
        self.items.push(Item::Path { layer, name: String::new(), path, line, fill });
    }

    /// Straight runs through points.
    pub(super) fn line(&mut self, layer: Layer, points: &[Point], line: Line) {
        self.stroke(layer, polyline(points), line);
    }

    /// Words at a point.
    pub(super) fn words(&mut self, layer: Layer, at: Point, words: impl Into<String>, style: Style) {
        let Style { size_mm, face, anchor, turn_deg, paint } = style;
        let text = Text { at, words: words.into(), size_mm, turn_deg, anchor, face, paint };
        self.items.push(Item::Text { layer, text });
    }

    /// Words in lines no wider than `width_mm`, the first baseline at `at`; returns the baseline after the last.
    pub(super) fn paragraph(
        &mut self,
        layer: Layer,
        at: Point,
        width_mm: f64,
        words: &str,
        style: Style,
    ) -> f64 {
        let mut y = at.y;
        for line in font::wrap(words, style.size_mm, style.face, width_mm) {
            self.words(layer, Point::new(at.x, y), line, style);
            y += style.size_mm * LEADING;
        }
        y
    }

    /// A full arrowhead with its tip at `tip`, flying along `along`.
    pub(super) fn head(&mut self, layer: Layer, tip: Point, along: Vec2, line_mm: f64, paint: Paint) {
        let (back, side) =
            (along.normalize() * (HEAD * line_mm), along.normalize().turn_90() * (HEAD * line_mm / 6.0));
        let mut path = polyline(&[tip, tip - back + side, tip - back - side]);
        path.close_path();
        self.fill(layer, path, paint);
    }

    /// An arrow from `from` to `to`.
    pub(super) fn arrow(&mut self, layer: Layer, from: Point, to: Point, line: &Line) {
        let along = to - from;
        // The shaft ends inside the head, so that the tip stays sharp.
        let shaft_end = to - along.normalize() * (HEAD * line.width_mm * 0.6);
        self.line(layer, &[from, shaft_end], line.clone());
        self.head(layer, to, along, line.width_mm, line.paint);
    }

    /// An arrow with a head at both ends.
    pub(super) fn double_arrow(&mut self, layer: Layer, a: Point, b: Point, line: &Line) {
        let middle = a.midpoint(b);
        self.arrow(layer, middle, a, line);
        self.arrow(layer, middle, b, line);
    }

    /// What another canvas holds, placed and cut.
    pub(super) fn place(&mut self, window: Option<Rect>, parent_from_items: Affine, inner: Vec<Item>) {
        self.items.push(Item::Clip(Clip { window, parent_from_items, items: inner }));
    }
}

/// Distance between baselines in sizes.
pub(super) const LEADING: f64 = 1.35;

/// Points joined by straight lines, open.
pub(super) fn polyline(points: &[Point]) -> BezPath {
    let mut path = BezPath::new();
    for (i, p) in points.iter().enumerate() {
        if i == 0 { path.move_to(*p) } else { path.line_to(*p) }
    }
    path
}

/// A closed box.
pub(super) fn boxed(r: Rect) -> BezPath {
    let mut path = polyline(&[
        Point::new(r.x0, r.y0),
        Point::new(r.x1, r.y0),
        Point::new(r.x1, r.y1),
        Point::new(r.x0, r.y1),
    ]);
    path.close_path();
    path
}

/// A circle.
pub(super) fn circle(centre: Point, radius: f64) -> BezPath {
    Circle::new(centre, radius).to_path(ROUND_MM)
}

/// A square of 100 mm with its words, top-left corner at `corner`: the reader's check of the print.
pub(super) fn test_square(canvas: &mut Canvas, corner: Point) {
    let side = TEST_SQUARE_MM;
    let line = strokes::painted(strokes::full(strokes::THIN_MM * 0.8), strokes::QUIET);
    canvas.stroke(Layer::Page, boxed(Rect::from_origin_size(corner, (side, side))), line);
    let style = Style::plain(2.6).painted(strokes::QUIET).middle();
    canvas.words(Layer::Page, corner + Vec2::new(side / 2.0, 4.0), "test square: 100 mm across", style);
    canvas.words(Layer::Page, corner + Vec2::new(side - 2.6, side / 2.0), "100 mm down", style.turned(90.0));
}

/// Two lines as long as the test square, across and down, for a page that has no room for it; top-left corners of their room.
pub(super) fn test_lines(canvas: &mut Canvas, across: Point, down: Point) {
    let line = strokes::painted(strokes::full(strokes::THIN_MM * 0.8), strokes::QUIET);
    let style = Style::plain(2.6).painted(strokes::QUIET).middle();
    let mut ruled = |from: Point, along: Vec2, tick: Vec2| {
        let to = from + along * TEST_SQUARE_MM;
        canvas.line(Layer::Page, &[from, to], line.clone());
        for end in [from, to] {
            canvas.line(Layer::Page, &[end - tick, end + tick], line.clone());
        }
        from + along * (TEST_SQUARE_MM / 2.0)
    };
    let (right, below) = (Vec2::new(1.0, 0.0), Vec2::new(0.0, 1.0));
    let one = ruled(across + below * (TEST_LINE_MM - TICK_MM), right, below * TICK_MM);
    let other = ruled(down + right * TICK_MM, below, right * TICK_MM);
    canvas.words(Layer::Page, one - below * 1.2, "test line: 100 mm across", style);
    canvas.words(Layer::Page, other + right * 1.2, "test line: 100 mm down", style.turned(90.0));
}

/// Room that a test line takes beside its length, with its words, millimetres.
pub(super) const TEST_LINE_MM: f64 = 6.0;
/// Half the length of the strokes that end it, millimetres.
const TICK_MM: f64 = 2.0;

/// Side of the test square, millimetres.
pub(super) const TEST_SQUARE_MM: f64 = 100.0;
