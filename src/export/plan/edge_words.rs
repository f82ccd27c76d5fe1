//! What is written along the finished line: letters at its points, names and lengths at its edges.

use super::{Drafting, Pages};
use crate::export::canvas::{Style, circle};
use crate::export::font;
use crate::export::space::least;
use crate::geometry::{Face, Layer, Paint, PathSeg, Point, Rect, Vec2};
use crate::pattern::{Edge, Piece};
use kurbo::{ParamCurve, ParamCurveArclen, ParamCurveDeriv};

/// Edges steeper than this count as upright, and their words run upward, degrees.
const UPRIGHT_DEG: f64 = 75.0;
/// Edges shorter than this carry no words of their own, millimetres.
const SHORT_EDGE_MM: f64 = 25.0;

/// A letter may stand this far beside the line that halves its corner, degrees.
const BESIDE_DEG: f64 = 35.0;
/// How far from a line its words stand, in sizes of their letters; farther where something runs beside it.
pub(super) const STANDS: [f64; 5] = [1.2, 1.7, 2.2, 2.7, 3.4];
/// Height of the band that words beside a line keep free, in sizes: their letters with what hangs below them, and a little.
const BAND: f64 = 1.6;

/// Where along a line words are tried, as parts of its length.
pub(super) const PARTS: [f64; 7] = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8];

/// A place for words beside a line.
pub(super) struct EdgePlace {
    /// Middle of the baseline.
    pub(super) base: Point,
    /// Turn of the baseline, degrees clockwise.
    pub(super) turn_deg: f64,
    /// What the words cover, in boxes one after another along them.
    pub(super) covered: Vec<Rect>,
}

impl Drafting {
    /// A dot and a letter at every lettered point, the letter inside.
    pub(super) fn letters(&mut self, piece: &Piece) {
        let edges = piece.outline.edges();
        let size = self.size(5.0);
        for (index, edge) in edges.iter().enumerate() {
            let before = &edges[(index + edges.len() - 1) % edges.len()];
            let at = edge.start();
            self.canvas.fill(Layer::Marks, circle(at, 0.9 * self.manner.lines.sqrt()), Paint::BLACK);
            let inward = self.inward(at, leaving(edge), arriving(before)) * size;
            // As near as nothing else stands, beside a line that halves the corner too, or where least does.
            let box_at = |middle: Point| Rect::from_center_size(middle, (size * 1.2, size * 1.2));
            let turned = |deg: f64| {
                let (sin, cos) = deg.to_radians().sin_cos();
                Vec2::new(inward.x * cos - inward.y * sin, inward.x * sin + inward.y * cos)
            };
            let ways = [0.0, BESIDE_DEG, -BESIDE_DEG].map(turned);
            let spots: Vec<Point> = [1.5, 2.1, 2.8, 3.6, 4.5]
                .iter()
                .flat_map(|off| ways.map(|way| at + way * *off))
                .filter(|p| self.space.inside(*p))
                .collect();
            let free = spots.iter().copied().find(|p| self.space.is_clear(box_at(*p)));
            let middle = free.or_else(|| least(spots.iter().copied(), |p| self.space.crowding_mm(box_at(p))));
            let middle = middle.unwrap_or(at + inward * 1.5);
            let style = Style::plain(size).bold().middle();
            let baseline = middle + Vec2::new(0.0, size * font::CAPITAL / 2.0);
            self.canvas.words(Layer::Text, baseline, edge.from.to_string(), style);
            self.space.take(box_at(middle));
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
    pub(super) fn edge_words(&mut self, piece: &Piece, pages: &Pages) {
        let edges = piece.outline.edges();
        let size = self.size(3.2);
        let counted = edges.len() - usize::from(piece.outline.on_fold());
        for (index, edge) in edges[..counted].iter().enumerate() {
            let length = edge.length_mm();
            let words = format!("{}  {length:.1} mm", piece.outline.spoken(index));
            let width = font::width_mm(&words, size, Face::Regular);
            if length >= SHORT_EDGE_MM.max(width + 3.0 * size) {
                self.words_along(&edge.segments, length, &words, size, pages);
            }
        }
    }

    /// Where words of this width stand along an edge, if they meet nothing there.
    pub(super) fn edge_place(
        &self,
        run: &[PathSeg],
        along_mm: f64,
        width: f64,
        size: f64,
        stand: f64,
    ) -> Option<EdgePlace> {
        let (at, way) = place_on(run, along_mm)?;
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
        let [start, end] = [-0.5, 0.5].map(|s| place_on(run, along_mm + s * width).map_or(at, |(p, _)| p));
        let bend = [start, end].map(|p| (p - at).dot(inward)).into_iter().fold(0.0, f64::max);
        let off = bend + stand * size;
        let centre = at + inward * (off + size * font::CAPITAL / 2.0);
        let boxes = (width / size).ceil().max(1.0);
        #[expect(
            clippy::cast_possible_truncation,
            clippy::cast_sign_loss,
            reason = "a few words are some letters long"
        )]
        let covered: Vec<Rect> = (0..boxes as u32)
            .map(|k| centre + unit * (width * ((f64::from(k) + 0.5) / boxes - 0.5)))
            .map(|at| Rect::from_center_size(at, (BAND * size, BAND * size)))
            .collect();
        let free = covered.iter().all(|r| self.space.is_clear(*r) && self.space.inside(r.center()));
        let down = Vec2::new(-unit.y, unit.x) * (size * font::CAPITAL / 2.0);
        free.then_some(EdgePlace { base: centre + down, turn_deg, covered })
    }
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

/// The point so far along a run, and the way there.
fn place_on(run: &[PathSeg], along_mm: f64) -> Option<(Point, Vec2)> {
    /// Good enough for words, millimetres.
    const ACCURACY_MM: f64 = 0.05;
    let mut left = along_mm.max(0.0);
    for segment in run {
        let length = segment.arclen(ACCURACY_MM);
        if left <= length {
            let t = segment.inv_arclen(left, ACCURACY_MM);
            return Some((segment.eval(t), tangent(segment, t)));
        }
        left -= length;
    }
    None
}
