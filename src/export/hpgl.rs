//! HP-GL/2: a drawing in, the bytes of a file for pen plotters out.
//!
//! A plotter unit is 0.025 mm; y runs up from the page's lower edge. Places are written in hundredths of a unit: scaling is
//! switched on with user units as large as plotter units (`IP`, `SC`), for with it, and only with it, places may have decimals.
//! What reads neither draws the same, rounded to its own units.
//! Pens by what a line is for: 1 the knife's line and slits, 2 finished lines and folds, 3 skive, stitch and marks, 4
//! words, so that a machine with one knife can be told to take pen 1 alone. Dashed lines are drawn dash by dash, and words as
//! the outlines of their letters: no plotter's own line types or letters are asked for. Fills are outlined.

use super::font;
use crate::geometry::{Affine, BezPath, Drawing, Item, Layer, Line, Point, Rect};
use kurbo::PathEl;
use std::fmt::Write as _;

/// Plotter units to a millimetre.
pub const UNITS_PER_MM: f64 = 40.0;
/// Steps in which places are written, to a plotter unit: 0.00025 mm.
const STEPS_A_UNIT: i64 = 100;
/// How far a chord may depart from its curve, millimetres. An arc of φ radians is drawn too short by φ / 3 of it, so that
/// a line that turns round five times loses 0.01 mm; halving it takes 1.4 times the places.
const CHORD_MM: f64 = 0.001;
/// The same for the letters of words, which nothing is cut by: a fifth of a plotter unit.
const LETTER_CHORD_MM: f64 = 0.005;
/// Most places in one command: some plotters read no longer ones.
const MOST_PLACES: usize = 200;

/// Writes a drawing.
#[must_use]
pub fn write(drawing: &Drawing) -> String {
    let units = |mm: f64| (mm * UNITS_PER_MM).round();
    let mut plot = Plot { text: String::new(), pen: 0, height_mm: drawing.height_mm };
    let _ = write!(plot.text, "IN;PS{:.0},{:.0};", units(drawing.height_mm), units(drawing.width_mm));
    plot.text.push_str("IP0,0,1000,1000;SC0,1000,0,1000;");
    // Pen after pen: changing pens is slow.
    for pen in 1..=4 {
        plot.items(&drawing.items, pen, Affine::IDENTITY, None);
    }
    plot.text.push_str("PU;SP0;\n");
    plot.text
}

/// The pen that draws a layer.
const fn pen_of(layer: Layer) -> u8 {
    match layer {
        Layer::Cut => 1,
        Layer::Finished | Layer::Fold => 2,
        Layer::Skive | Layer::Stitch | Layer::Marks | Layer::Page | Layer::Target => 3,
        Layer::Text => 4,
    }
}

struct Plot {
    text: String,
    pen: u8,
    height_mm: f64,
}

impl Plot {
    fn items(&mut self, items: &[Item], pen: u8, page_from_items: Affine, window: Option<Rect>) {
        for item in items {
            match item {
                Item::Path { layer, path, line, .. } if pen_of(*layer) == pen => {
                    self.path(&(page_from_items * path.clone()), line.as_ref(), CHORD_MM, pen, window);
                }
                Item::Text { layer, text } if pen_of(*layer) == pen => {
                    let letters = page_from_items * font::outline(text);
                    self.path(&letters, None, LETTER_CHORD_MM, pen, window);
                }
                Item::Clip(clip) => {
                    let cut = clip.window.map(|w| page_from_items.transform_rect_bbox(w));
                    let cut = match (window, cut) {
                        (Some(a), Some(b)) => Some(a.intersect(b)),
                        (a, b) => a.or(b),
                    };
                    self.items(&clip.items, pen, page_from_items * clip.parent_from_items, cut);
                }
                Item::Path { .. } | Item::Text { .. } => {}
            }
        }
    }

    fn path(&mut self, path: &BezPath, line: Option<&Line>, chord_mm: f64, pen: u8, window: Option<Rect>) {
        let dashes = line.map_or(&[][..], |line| &line.dashes_mm);
        let dashed: BezPath;
        let drawn = if dashes.is_empty() {
            path
        } else {
            dashed = kurbo::dash(path.elements().iter().copied(), 0.0, dashes).collect();
            &dashed
        };
        let mut run: Vec<Point> = Vec::new();
        let mut runs = Vec::new();
        kurbo::flatten(drawn, chord_mm, |element| match element {
            PathEl::MoveTo(p) => runs.push(std::mem::replace(&mut run, vec![p])),
            PathEl::LineTo(p) => run.push(p),
            PathEl::ClosePath => run.extend(run.first().copied()),
            PathEl::QuadTo(..) | PathEl::CurveTo(..) => {}
        });
        runs.push(run);
        for run in runs.iter().filter(|run| run.len() > 1) {
            match window {
                None => self.run(run, pen),
                Some(window) => within(run, window).iter().for_each(|part| self.run(part, pen)),
            }
        }
    }

    /// One stroke of the pen.
    fn run(&mut self, points: &[Point], pen: u8) {
        if self.pen != pen {
            let _ = write!(self.text, "PU;SP{pen};");
            self.pen = pen;
        }
        let mut places: Vec<(i64, i64)> = points.iter().map(|p| self.steps(*p)).collect();
        places.dedup();
        let Some((first, rest)) = places.split_first() else { return };
        let _ = write!(self.text, "PU{};", place(*first));
        if rest.is_empty() {
            // A dot: the pen goes down where it stands.
            self.text.push_str("PD;");
        }
        for part in rest.chunks(MOST_PLACES) {
            let list: Vec<String> = part.iter().map(|at| place(*at)).collect();
            let _ = write!(self.text, "PD{};", list.join(","));
        }
    }

    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_precision_loss,
        reason = "a plot of 100 m has 400 million steps; a cast saturates"
    )]
    fn steps(&self, p: Point) -> (i64, i64) {
        let steps = |mm: f64| (mm * UNITS_PER_MM * STEPS_A_UNIT as f64).round() as i64;
        (steps(p.x), steps(self.height_mm - p.y))
    }
}

/// A place in plotter units, from steps, with as many decimals as it needs.
fn place((x, y): (i64, i64)) -> String {
    let number = |steps: i64| {
        let (sign, size) = (if steps < 0 { "-" } else { "" }, steps.abs());
        let decimals = format!(".{:02}", size % STEPS_A_UNIT);
        format!("{sign}{}{}", size / STEPS_A_UNIT, decimals.trim_end_matches('0').trim_end_matches('.'))
    };
    format!("{},{}", number(x), number(y))
}

/// The parts of a run that lie in a window.
fn within(run: &[Point], window: Rect) -> Vec<Vec<Point>> {
    let mut out: Vec<Vec<Point>> = Vec::new();
    for pair in run.windows(2) {
        let line = kurbo::Line::new(pair[0], pair[1]);
        let Some((from, to)) = super::space::part_within(window, (line.p0, line.p1)) else { continue };
        let (a, b) = (line.p0.lerp(line.p1, from), line.p0.lerp(line.p1, to));
        match out.last_mut() {
            Some(part) if part.last() == Some(&a) => part.push(b),
            _ => out.push(vec![a, b]),
        }
    }
    out
}
