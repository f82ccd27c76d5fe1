//! Room `ink`: what is drawn on a paper pattern.
//!
//! A photograph with its camera and the paper's silhouette enter; the outer line as a [`Trace`] and the inner lines and
//! marks leave, in millimetres on the table, each along the centre of its ink.
//! 1. `face` sees the paper straight down, `ridge` finds dark lines on it and thins them, `graph` makes nodes and edges.
//! 2. `centre` finds every place anew in the photograph itself, across the line; `stain` takes out what is no ink.
//! 3. `chain` joins edges to lines, through junctions and over gaps; `outer` finds the loop that goes round, `paper_fold`
//!    closes it where the paper's edge is the fold; `settle` makes its points and corners; `meaning` proposes what the other
//!    lines are.

mod centre;
mod chain;
mod face;
mod graph;
mod meaning;
mod outer;
mod paper_fold;
mod ridge;
mod settle;
mod stain;

pub use meaning::{Inner, Meaning};

use crate::geometry::{Affine, Point, Rect, Trace, Vec2};
use crate::outline::{Scene, side_in_words};
use chain::Linked;
use face::Face;
use graph::{Edge, Graph};

/// What is drawn on a paper.
#[derive(Debug, Clone, PartialEq)]
pub struct Ink {
    /// The outer line; `None` when no drawn line goes round: the paper itself may be cut to shape.
    pub outer: Option<Trace>,
    /// Inner lines and marks.
    pub inner: Vec<Inner>,
    /// Strokes left out as handwriting or stains.
    pub left_out: usize,
    /// Length of all long lines, millimetres.
    pub drawn_mm: f64,
    /// Length of the paper's own edge in the outer line, where that is the drawing's fold, millimetres.
    pub paper_fold_mm: Option<f64>,
}

/// Why a drawing cannot be read.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum InkError {
    /// Nothing is drawn, and the paper is a plain rectangle.
    #[error(
        "no drawn line is found on the paper; draw the lines darker, take the photograph in better light, or capture a cut \
         shape with --kind garment"
    )]
    Nothing,
    /// The outer line has a gap that is too wide to close.
    #[error(
        "the outer line is not closed: {gap_mm:.0} mm are missing at the {side}; draw the line on until its ends meet, then \
         take the photograph again"
    )]
    Open {
        /// Width of the gap, millimetres.
        gap_mm: f64,
        /// Where.
        side: String,
    },
    /// A line ends at the paper's edge.
    #[error(
        "a drawn line runs off the paper at the {side}; tape paper on there and draw the line whole, then take the \
         photograph again"
    )]
    OffPaper {
        /// Where.
        side: String,
    },
    /// Much is drawn outside the largest closed figure.
    #[error(
        "{length_mm:.0} mm of drawn lines lie outside the largest closed figure, at the {side}: the outer line is broken or too \
         faint somewhere; draw it whole and darker, go closer or use more light, then take the photograph again"
    )]
    Beside {
        /// Length of the lines, millimetres.
        length_mm: f64,
        /// Where.
        side: String,
    },
    /// Two closed figures of like size.
    #[error(
        "{count} patterns are drawn on the paper, at the {places}; photograph one at a time, the others covered with plain \
         paper"
    )]
    Several {
        /// How many.
        count: usize,
        /// Where.
        places: String,
    },
}

/// A closed figure smaller than this part of the largest is a part of its drawing.
const FIGURE_PART: f64 = 0.2;
/// A loop smaller than this part of the paper is not the outer line.
const OUTER_PART: f64 = 0.06;
/// A line that comes this near to the end of what is looked at runs off the paper, millimetres.
const OFF_MM: f64 = 3.0;
/// A drawn way that goes round without closing is at least this much longer than its gap.
const OPEN_TIMES: f64 = 3.0;

/// Reads a drawing. `paper` is the paper's silhouette on the table, its face lies `thickness_mm` above it.
///
/// # Errors
/// [`InkError`], which says where and what to do.
pub fn read(scene: &Scene<'_>, paper: &[Point], thickness_mm: f64) -> Result<Ink, InkError> {
    let face = Face::new(scene, paper, thickness_mm);
    let skeleton = ridge::skeleton(&face);
    let nothing = Ink { outer: None, inner: Vec::new(), left_out: 0, drawn_mm: 0.0, paper_fold_mm: None };
    if !skeleton.any {
        return Ok(nothing);
    }
    let mut graph = Graph::new(&face, &skeleton.on);
    centre::refine(scene, thickness_mm, &mut graph.edges);
    let stains = stain::remove(&mut graph);
    centre::reach_out(scene, thickness_mm, &mut graph);
    let mut linked = Linked::new(graph);
    if linked.graph.edges.is_empty() {
        return Ok(nothing);
    }
    let paper_mm2 = area(paper).abs();
    let large = |l: &outer::Loop| l.area_mm2 > OUTER_PART * paper_mm2;
    let mut loops = outer::loops(&linked);
    let mut paper_fold_mm = None;
    if !loops.first().is_some_and(large) {
        // The paper's own edge may be the fold.
        let mut graph = linked.graph.clone();
        graph.edges.retain(|edge| !edge.bridged);
        paper_fold::without_rim(&mut graph, paper);
        let mut closed = Linked::new(graph);
        paper_fold_mm = paper_fold::close(&mut closed, paper);
        if paper_fold_mm.is_some() {
            loops = outer::loops(&closed);
            linked = closed;
        }
    }
    let junctions: Vec<Point> = {
        let arms = linked.graph.arms();
        (0..arms.len()).filter(|n| arms[*n].len() > 2).map(|n| linked.graph.nodes[n]).collect()
    };
    let blots: Vec<Point> = {
        let arms = linked.graph.arms();
        (0..arms.len()).filter(|n| arms[*n].len() > 1).map(|n| linked.graph.nodes[n]).collect()
    };
    let drawn_mm = linked
        .chains(|_| true)
        .iter()
        .map(|c| c.parts.iter().map(|p| linked.graph.edges[p.0].length_mm()).sum::<f64>())
        .filter(|mm| *mm > LONG_MM)
        .sum();
    let Some(way) = loops.first().filter(|l| large(l)) else {
        // Lines may run to the edge of a card that is cut to shape.
        if is_rectangle(paper) {
            open_line(scene, &linked, &face, paper_mm2)?;
        }
        let (inner, left_out) = meaning::read(&linked, &vec![false; linked.graph.edges.len()], paper, &blots);
        return Ok(Ink { outer: None, inner, left_out: left_out + stains, drawn_mm, paper_fold_mm });
    };
    several(scene, &linked, &loops)?;
    let way = &outer::straight_on(&linked, way);
    let mut trace = outer::trace(&linked, way, &junctions);
    let mut used = vec![false; linked.graph.edges.len()];
    for (k, _) in &way.parts {
        used[*k] = true;
    }
    let ring = trace.polyline();
    if area(&ring) < 0.0 {
        trace.points.reverse();
        let last = trace.points.len() - 1;
        trace.corners = trace.corners.iter().rev().map(|c| last - c).collect();
    }
    beside(scene, &linked, &used, &ring)?;
    let (inner, left_out) = meaning::read(&linked, &used, &ring, &blots);
    Ok(Ink { outer: Some(trace), inner, left_out: left_out + stains, drawn_mm, paper_fold_mm })
}

/// Refuses a closed figure beside which more is drawn than a guide or two: the outer line is broken, and the figure is one
/// of those within it.
fn beside(scene: &Scene<'_>, linked: &Linked, used: &[bool], ring: &[Point]) -> Result<(), InkError> {
    let round: f64 = (0..ring.len()).map(|i| ring[i].distance(ring[(i + 1) % ring.len()])).sum();
    let (mut length_mm, mut points) = (0.0, Vec::new());
    for chain in linked.chains(|k| !used[k]) {
        let edges = || chain.parts.iter().map(|p| &linked.graph.edges[p.0]);
        if edges().map(Edge::length_mm).sum::<f64>() < LONG_MM {
            continue;
        }
        for edge in edges() {
            let middle = edge.spots.get(edge.spots.len() / 2).map(|s| s.at);
            if let Some(at) = middle.filter(|at| !contains(ring, *at)) {
                length_mm += edge.length_mm();
                points.push(at);
            }
        }
    }
    if length_mm < BESIDE_PART * round {
        return Ok(());
    }
    Err(InkError::Beside { length_mm, side: side_in_words(std::slice::from_ref(scene), middle(&points)) })
}

/// Lines beside the outer line may be this part of its length.
const BESIDE_PART: f64 = 0.5;

fn contains(ring: &[Point], p: Point) -> bool {
    let n = ring.len();
    let cuts = (0..n).filter(|&i| {
        let (a, b) = (ring[i], ring[(i + 1) % n]);
        (a.y > p.y) != (b.y > p.y) && a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x) > p.x
    });
    cuts.count() % 2 == 1
}

/// A line this long is drawn, not written, millimetres.
const LONG_MM: f64 = 60.0;

/// Paper that fills this part of the least rectangle round it is no cut shape; a torn corner takes off a hundredth or two.
const RECTANGLE_PART: f64 = 0.95;

fn is_rectangle(paper: &[Point]) -> bool {
    let least = (0..90)
        .map(|turn| {
            let turn = Affine::rotate(f64::from(turn).to_radians());
            let first = turn * paper[0];
            paper.iter().fold(Rect::from_points(first, first), |r, p| r.union_pt(turn * *p)).area()
        })
        .fold(f64::INFINITY, f64::min);
    area(paper).abs() > RECTANGLE_PART * least
}

fn area(ring: &[Point]) -> f64 {
    let n = ring.len();
    (0..n).map(|i| ring[i].to_vec2().cross(ring[(i + 1) % n].to_vec2()) / 2.0).sum()
}

/// Refuses two figures of like size, one beside the other.
fn several(scene: &Scene<'_>, linked: &Linked, loops: &[outer::Loop]) -> Result<(), InkError> {
    let ring = |l: &outer::Loop| -> Vec<Point> {
        l.parts.iter().flat_map(|(k, enter)| linked.graph.edges[*k].away_from(*enter)).collect()
    };
    let first = ring(&loops[0]);
    let mut places = vec![middle(&first)];
    for other in loops[1..].iter().filter(|l| l.area_mm2 > FIGURE_PART * loops[0].area_mm2) {
        let points = ring(other);
        if !points.is_empty() && !contains(&first, points[0]) {
            places.push(middle(&points));
        }
    }
    if places.len() < 2 {
        return Ok(());
    }
    let words: Vec<String> = places.iter().map(|p| side_in_words(std::slice::from_ref(scene), *p)).collect();
    Err(InkError::Several { count: places.len(), places: words.join(" and at the ") })
}

fn middle(points: &[Point]) -> Point {
    (points.iter().fold(Vec2::ZERO, |s, p| s + p.to_vec2()) / points.len().max(1) as f64).to_point()
}

/// Refuses a line that goes round without closing, or that runs off the paper.
fn open_line(scene: &Scene<'_>, linked: &Linked, face: &Face, paper_mm2: f64) -> Result<(), InkError> {
    // Edges that hang together, whatever their corners: their free ends.
    let edges = &linked.graph.edges;
    let mut part: Vec<usize> = (0..linked.graph.nodes.len()).collect();
    for edge in edges {
        let [a, b] = edge.ends.map(|n| part[n]);
        for p in &mut part {
            if *p == b {
                *p = a;
            }
        }
    }
    let mut length = vec![0.0; part.len()];
    for edge in edges {
        length[part[edge.ends[0]]] += edge.length_mm();
    }
    let side = |p: Point| side_in_words(std::slice::from_ref(scene), p);
    let Some(longest) = (0..part.len()).max_by(|a, b| length[*a].total_cmp(&length[*b])) else {
        return Ok(());
    };
    if length[longest] < LONG_MM {
        return Ok(());
    }
    let whole: f64 = length[longest];
    // A figure that would go round: much longer than it is wide, over much of the paper.
    let points: Vec<Point> = edges
        .iter()
        .filter(|e| part[e.ends[0]] == longest)
        .flat_map(|e| e.spots.iter().map(|s| s.at))
        .collect();
    let bounds = points.iter().fold(Rect::from_points(points[0], points[0]), |r, p| r.union_pt(*p));
    let round = bounds.area() > 0.15 * paper_mm2 && whole > 1.2 * (bounds.width() + bounds.height());
    let free: Vec<Point> = linked
        .free_ends()
        .into_iter()
        .map(|e| edges[e.0].ends[e.1])
        .filter(|n| part[*n] == longest)
        .map(|n| linked.graph.nodes[n])
        .collect();
    let off = free.iter().find(|p| {
        (0..16).any(|k| {
            !face.on_paper(**p + Vec2::from_angle(f64::from(k) * std::f64::consts::FRAC_PI_8) * OFF_MM)
        })
    });
    if let Some(off) = off.filter(|_| whole > 2.0 * LONG_MM) {
        return Err(InkError::OffPaper { side: side(*off) });
    }
    if !round {
        return Ok(());
    }
    let gap = free
        .iter()
        .enumerate()
        .flat_map(|(i, a)| free[i + 1..].iter().map(move |b| (a.distance(*b), a.midpoint(*b))))
        .filter(|(gap, _)| gap * OPEN_TIMES < whole)
        .max_by(|a, b| a.0.total_cmp(&b.0));
    match gap {
        Some((gap_mm, at)) => Err(InkError::Open { gap_mm, side: side(at) }),
        None => Ok(()),
    }
}
