//! What is sewn to what: lengths walked, notches that meet, corners that run on.

use super::{Finding, Grade, Sight};
use crate::pattern::construction::Mark;
use crate::pattern::part::interior_rad;
use crate::pattern::{Piece, PieceEdge, SeamCorners, Sewn};
use std::f64::consts::PI;

/// Edges that are sewn together may differ by this, millimetres: 1/16 in, what a paper pattern is true to (common practice, no source).
const LENGTH_MM: f64 = 1.6;

/// Notches may stand off each other by this, millimetres, for the same reason.
const NOTCH_MM: f64 = 1.6;

/// Corners at a seam sum to 180°, or are the same, within this, radians: 2° (judgement: 1 mm over 30).
const CORNER_RAD: f64 = 2.0 * PI / 180.0;

/// Looks at one seam.
pub(super) fn check(pieces: &[Piece], sewn: &Sewn, out: &mut Vec<Finding>) {
    let place = format!("{} to {}", sewn.first, sewn.second);
    let (Some((a, first)), Some((b, second))) = (find(pieces, &sewn.first), find(pieces, &sewn.second))
    else {
        out.push(Finding {
            grade: Grade::Fault,
            place,
            sights: Vec::new(),
            figure: "one of the two edges is gone".to_owned(),
            rule: "edges that are sewn together are there",
            mark: "G",
        });
        return;
    };
    let lengths = [(a, first), (b, second)].map(|(p, e)| p.outline.edges()[e].length_mm());
    let over_mm = lengths[0] - lengths[1] - sewn.ease_mm;
    out.push(Finding {
        grade: if over_mm.abs() <= LENGTH_MM { Grade::Good } else { Grade::Fault },
        place: place.clone(),
        sights: middles([(a, first), (b, second)]),
        figure: format!(
            "{:.1} mm against {:.1} mm, ease {:.1} mm: {over_mm:+.1} mm",
            lengths[0], lengths[1], sewn.ease_mm
        ),
        rule: "edges walked along each other end together within 1/16 in",
        mark: "CP",
    });
    notches(&place, [(a, first), (b, second)], sewn, out);
    corners(&place, [(a, first), (b, second)], sewn.corners, out);
}

/// The middles of two edges.
fn middles(edges: [(&Piece, usize); 2]) -> Vec<Sight> {
    edges.map(|(piece, edge)| Sight::middle(piece, &piece.outline.edges()[edge])).into()
}

fn find<'a>(pieces: &'a [Piece], wanted: &PieceEdge) -> Option<(&'a Piece, usize)> {
    let piece = pieces.iter().find(|p| p.record.piece.eq_ignore_ascii_case(&wanted.piece))?;
    Some((piece, piece.outline.find_edge(&wanted.edge).ok()?))
}

/// Notches of the two edges, walked from the first one's start: the other edge may run the same way (a facing laid on its
/// body) or the other way (two parts side by side); the better of the two counts.
fn notches(place: &str, [a, b]: [(&Piece, usize); 2], sewn: &Sewn, out: &mut Vec<Finding>) {
    let (first, second) = (along(a), along(b));
    if first.is_empty() && second.is_empty() {
        return;
    }
    let length_mm = b.0.outline.edges()[b.1].length_mm();
    let mut back: Vec<f64> = second.iter().map(|mm| length_mm - mm).collect();
    back.sort_by(f64::total_cmp);
    let apart = |other: &[f64]| first.iter().zip(other).map(|(x, y)| (x - y).abs()).fold(0.0, f64::max);
    let off_mm = apart(&second).min(apart(&back));
    let same = first.len() == second.len();
    out.push(Finding {
        grade: if same && off_mm <= NOTCH_MM + sewn.ease_mm.abs() { Grade::Good } else { Grade::Fault },
        place: place.to_owned(),
        sights: middles([a, b]),
        figure: if same {
            format!("{} notches, at most {off_mm:.1} mm off each other", first.len())
        } else {
            format!("{} notches against {}", first.len(), second.len())
        },
        rule: "notches of edges that are sewn together meet",
        mark: "CP",
    });
}

/// How far along an edge its notches stand, millimetres, ascending.
fn along((piece, edge): (&Piece, usize)) -> Vec<f64> {
    let mut list: Vec<f64> = piece
        .marks
        .iter()
        .filter_map(|mark| match mark {
            Mark::Notch(notch) => notch.at.find(&piece.outline).ok(),
            _ => None,
        })
        .filter(|found| found.edge == edge)
        .map(|found| found.along_mm)
        .collect();
    list.sort_by(f64::total_cmp);
    list
}

/// A corner of each of the two pieces at one end of a seam: the points' names and the angles within the pieces, radians.
struct End {
    points: [String; 2],
    sights: Vec<Sight>,
    angles: [f64; 2],
}

impl End {
    /// By how much the two fail to run on into each other: their sum less 180 degrees.
    fn off_straight(&self) -> f64 {
        self.angles[0] + self.angles[1] - PI
    }

    /// By how much they fail to lie on each other.
    fn off_alike(&self) -> f64 {
        self.angles[0] - self.angles[1]
    }
}

/// The corners at both ends of a seam. Laid side by side, the start of one is at the end of the other; laid on each other
/// the starts may lie together, or one piece is turned over. Where nobody said which, what fits best counts.
fn corners(
    place: &str,
    [(one, first), (other, second)]: [(&Piece, usize); 2],
    asked: SeamCorners,
    out: &mut Vec<Finding>,
) {
    if asked == SeamCorners::Free {
        return;
    }
    let (a, b) = (&one.outline, &other.outline);
    let end = |p: usize, q: usize| {
        // On the fold the corners are square each by itself, which is looked at there.
        let looked_at = !a.is_on_fold(p) && !b.is_on_fold(q);
        let angles = [interior_rad(a, p)?, interior_rad(b, q)?];
        let points = [a.edges()[p].from.to_string(), b.edges()[q].from.to_string()];
        let sights = vec![Sight::new(one, a.edges()[p].start()), Sight::new(other, b.edges()[q].start())];
        looked_at.then_some(End { points, sights, angles })
    };
    let ends =
        |pairs: [(usize, usize); 2]| pairs.into_iter().filter_map(|(p, q)| end(p, q)).collect::<Vec<_>>();
    let crossed = ends([(first, b.after(second)), (a.after(first), second)]);
    let along = ends([(first, second), (a.after(first), b.after(second))]);
    let worst = |ends: &[End], off: fn(&End) -> f64| ends.iter().map(|e| off(e).abs()).fold(0.0, f64::max);
    let straight = worst(&crossed, End::off_straight);
    let alike = [&along, &crossed].map(|ends| worst(ends, End::off_alike));
    let runs_on = asked == SeamCorners::RunOn || straight <= alike[0].min(alike[1]);
    let (looked_at, off, rule): (_, fn(&End) -> f64, _) = if runs_on {
        (crossed, End::off_straight, "corners that run on into each other sum to 180°")
    } else {
        let ends = if alike[0] <= alike[1] { along } else { crossed };
        (
            ends,
            End::off_alike,
            "corners at a seam sum to 180°, or are the same where one piece lies on the other",
        )
    };
    for end in looked_at {
        let [x, y] = end.angles.map(f64::to_degrees);
        let figure = if runs_on {
            format!("{x:.1}° and {y:.1}° sum to {:.1}°", x + y)
        } else {
            format!("{x:.1}° on {y:.1}°, {:.1}° apart", (x - y).abs())
        };
        out.push(Finding {
            grade: if off(&end).abs() <= CORNER_RAD { Grade::Good } else { Grade::Look },
            place: format!("{place}, points {} and {}", end.points[0], end.points[1]),
            sights: end.sights,
            figure,
            rule,
            mark: "G",
        });
    }
}
