//! DXF release 12 (AC1009): shapes in, the text of a file out, millimetres, y up.
//!
//! Laid out after ASTM D6673 (sewn-product interchange, withdrawn 2019), whose layer numbers are given here from memory;
//! nothing more is claimed. One block a piece, inserted once at scale 1, its name of A-Z 0-9 $ _ - and at most 31 long:
//!
//! | layer | holds |
//! | --- | --- |
//! | 1 | the line that the knife follows, closed |
//! | 2, 3 | a point at each of its vertices: where it turns, and along its curves |
//! | 4 | notches: a point on the cut edge, and the line |
//! | 6 | the mirror line of a half |
//! | 7 | the grain line |
//! | 8 | internal lines: folds, skive and glue limits, placements, centre, slits, match marks |
//! | 11 | cutouts: holes of the piece and punched holes |
//! | 13 | holes to drill or prick |
//! | 14 | sew lines: the finished line, and stitch lines |
//! | 15 | texts |
//!
//! Curves are chords that depart by at most [`CHORD_MM`]. All of it is 7-bit ASCII.

mod ascii;
mod tags;

use super::{ExportError, Shape, grain_line};
use crate::geometry::{BezPath, Point, Ring, Vec2};
use crate::pattern::{LineKind, WorkHole};
use ascii::{block_name, plain};
use kurbo::{ParamCurve, ParamCurveDeriv, PathEl};
use tags::Tags;

/// How far a chord may depart from its curve, millimetres: a closed line of total turning T is then too short by less
/// than a third of this times T, under 0.005 mm for any piece. Smaller makes files longer and nothing truer.
pub const CHORD_MM: f64 = 0.002;
/// Space between pieces in the drawing, millimetres.
const APART_MM: f64 = 50.0;
/// Where a line turns by more than this at a vertex it is a turn point, radians (2 degrees).
const TURN_RAD: f64 = 0.035;
/// Height of texts, millimetres.
const TEXT_MM: f64 = 5.0;

/// What the file says of itself.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct About<'a> {
    /// Style name or number.
    pub style: &'a str,
    /// Date, as the record has it; empty for none.
    pub date: &'a str,
}

/// Writes shapes as blocks side by side.
///
/// # Errors
/// [`ExportError::Nothing`] without a shape.
pub fn write(about: &About<'_>, shapes: &[Shape]) -> Result<String, ExportError> {
    if shapes.is_empty() {
        return Err(ExportError::Nothing);
    }
    let mut names: Vec<String> = Vec::new();
    for shape in shapes {
        names.push(block_name(&shape.name, &names));
    }
    // Side by side, tops level: where each block's own origin comes to lie.
    let mut places = Vec::new();
    let mut right = 0.0;
    for shape in shapes {
        let bounds = shape.outer.bounds();
        places.push(Point::new(right - bounds.x0, bounds.y0));
        right += bounds.width() + APART_MM;
    }
    let mut out = Tags::default();
    let height = shapes.iter().map(|s| s.outer.bounds().height()).fold(0.0, f64::max);
    out.header(Point::new(0.0, -height), Point::new(right - APART_MM, 0.0));
    out.section("BLOCKS");
    for (shape, name) in shapes.iter().zip(&names) {
        block(&mut out, shape, name);
    }
    out.end_section();
    out.section("ENTITIES");
    for (name, place) in names.iter().zip(&places) {
        out.insert(name, *place);
    }
    let texts = [
        format!("Style Name: {}", plain(about.style)),
        format!("Creation Date: {}", plain(about.date)),
        "Units: METRIC".to_owned(),
    ];
    for (line, words) in (1_u32..).zip(&texts) {
        out.text(15, Point::new(0.0, 2.0 * TEXT_MM * f64::from(4 - line)), TEXT_MM, 0.0, words);
    }
    out.end_section();
    Ok(out.finish())
}

/// The plane of the file: y up.
fn up(p: Point) -> Point {
    Point::new(p.x, -p.y)
}

fn block(out: &mut Tags, shape: &Shape, name: &str) {
    out.block(name);
    let vertices = chords(&shape.outer);
    out.polyline(1, &vertices.iter().map(|v| up(v.at)).collect::<Vec<_>>(), true);
    for vertex in &vertices {
        out.point(if vertex.turns { 2 } else { 3 }, up(vertex.at));
    }
    for hole in &shape.holes {
        out.polyline(11, &chords(hole).iter().map(|v| up(v.at)).collect::<Vec<_>>(), true);
    }
    if let Some((bottom, top)) = shape.fold {
        out.line(6, up(bottom), up(top));
    }
    if let Some((from, to)) = grain_line(shape) {
        out.line(7, up(from), up(to));
    }
    for (path, _) in &shape.finished {
        runs(out, 14, path);
    }
    for line in &shape.lines {
        match line.kind {
            LineKind::Notch => {
                if let Some(PathEl::MoveTo(at)) = line.path.elements().first() {
                    out.point(4, up(*at));
                }
                runs(out, 4, &line.path);
            }
            LineKind::Stitch => runs(out, 14, &line.path),
            _ => runs(out, 8, &line.path),
        }
    }
    for WorkHole { at, diameter_mm, drilled, .. } in &shape.punched {
        let layer = if *drilled { 13 } else { 11 };
        out.circle(layer, up(*at), diameter_mm / 2.0);
        out.point(13, up(*at));
    }
    for &at in &shape.pricked {
        out.point(13, up(at));
    }
    texts(out, shape);
    out.end_block();
}

fn texts(out: &mut Tags, shape: &Shape) {
    let mut lines = vec![format!("Piece Name: {}", plain(&shape.name))];
    if let Some(record) = &shape.record {
        lines.push(format!("Size: {}", plain(&record.version)));
        lines.push(format!("Quantity: {}", plain(&shape.quantity.to_string())));
        lines.push(format!("Material: {}", plain(&record.material)));
    }
    let bounds = shape.outer.bounds();
    let mut at = up(Point::new(bounds.x0 + 0.3 * bounds.width(), bounds.y0 + 0.3 * bounds.height()));
    for words in lines {
        out.text(15, at, TEXT_MM, 0.0, &words);
        at -= Vec2::new(0.0, 1.6 * TEXT_MM);
    }
    for words in &shape.words {
        out.text(15, up(words.at), words.size_mm, -words.turn_deg, &plain(&words.words));
    }
    for line in shape.lines.iter().filter(|line| !line.says.is_empty()) {
        if let Some(PathEl::MoveTo(at)) = line.path.elements().first() {
            out.text(15, up(*at), 0.6 * TEXT_MM, 0.0, &plain(&line.says));
        }
    }
}

/// A vertex of a closed line of chords.
struct Vertex {
    at: Point,
    turns: bool,
}

fn chords(ring: &Ring) -> Vec<Vertex> {
    let segments = ring.segments();
    let mut out = Vec::new();
    for (index, segment) in segments.iter().enumerate() {
        let before = segments[(index + segments.len() - 1) % segments.len()];
        let turn = direction(&before, 1.0).cross(direction(segment, 0.0));
        let same_way = direction(&before, 1.0).dot(direction(segment, 0.0)) > 0.0;
        let corner = !same_way || turn.abs() > TURN_RAD.sin();
        // Lines have their ends only, so the joint of two of them is a turn point even where it hardly turns.
        let lines = matches!((&before, segment), (kurbo::PathSeg::Line(_), kurbo::PathSeg::Line(_)));
        let mut first = true;
        let mut add = |at| {
            out.push(Vertex { at, turns: first && (corner || lines) });
            first = false;
        };
        add(segment.start());
        let mut path = BezPath::new();
        path.move_to(segment.start());
        path.push(segment.as_path_el());
        kurbo::flatten(&path, CHORD_MM, |element| {
            if let PathEl::LineTo(p) = element
                && p != segment.end()
            {
                add(p);
            }
        });
    }
    out
}

fn direction(segment: &kurbo::PathSeg, t: f64) -> Vec2 {
    let slope = match segment {
        kurbo::PathSeg::Line(l) => l.p1 - l.p0,
        kurbo::PathSeg::Quad(q) => q.deriv().eval(t).to_vec2(),
        kurbo::PathSeg::Cubic(c) => c.deriv().eval(t).to_vec2(),
    };
    if slope.hypot() > 1e-9 { slope.normalize() } else { (segment.end() - segment.start()).normalize() }
}

/// A path as lines of chords, each run one polyline.
fn runs(out: &mut Tags, layer: u8, path: &BezPath) {
    let mut run: Vec<Point> = Vec::new();
    let mut all = Vec::new();
    kurbo::flatten(path, CHORD_MM, |element| match element {
        PathEl::MoveTo(p) => all.push((std::mem::replace(&mut run, vec![up(p)]), false)),
        PathEl::LineTo(p) => run.push(up(p)),
        PathEl::ClosePath => all.push((std::mem::take(&mut run), true)),
        PathEl::QuadTo(..) | PathEl::CurveTo(..) => {}
    });
    all.push((run, false));
    for (run, closed) in all.iter().filter(|(run, _)| run.len() > 1) {
        if let ([a, b], false) = (run.as_slice(), closed) {
            out.line(layer, *a, *b);
        } else {
            out.polyline(layer, run, *closed);
        }
    }
}
