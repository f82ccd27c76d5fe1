//! Turned edges: radius against allowance, and stitch lines on them.

use super::{Finding, Grade, Sight};
use crate::pattern::{Advice, Bend, Kind, Piece, Stitching};

/// A stitch line on a turned edge stands at least this far inside, millimetres: 1/8 in (common practice, no source).
const LEAST_INSET_MM: f64 = 3.175;

/// And at least this far from where the cut edge comes to lie, millimetres (common practice, no source).
const FROM_LANDING_MM: f64 = 2.0;

/// A stitch line in leather stands this far from the edge, millimetres (common practice, no source).
const USUAL_MM: std::ops::RangeInclusive<f64> = 2.0..=6.0;

/// Insets are compared with this much grace, millimetres: rounding of what was typed.
const GRACE_MM: f64 = 0.01;

/// Looks at curves of turned edges and at stitch lines.
pub(super) fn check(piece: &Piece, out: &mut Vec<Finding>) {
    if let Ok(Some(cut)) = piece.cut_line() {
        for turn in &cut.turned {
            for turned in [turn.hollow, turn.bulge].into_iter().flatten() {
                let edges = piece.outline.edges().iter().enumerate();
                let edge = edges.filter(|(index, _)| piece.outline.spoken(*index) == turn.edge);
                let what = if turned.bend == Bend::Hollow { "stretch" } else { "excess" };
                out.push(Finding {
                    grade: if turned.advice() == Advice::None { Grade::Good } else { Grade::Look },
                    place: format!("{}, {}", piece.record.piece, turn.edge),
                    sights: edge.map(|(_, edge)| Sight::bent(piece, edge, turned.radius_mm)).collect(),
                    figure: format!(
                        "{:.1} % {what} at its smallest radius, {:.1} mm",
                        100.0 * turned.part,
                        turned.radius_mm
                    ),
                    rule: "up to 10 % nothing, to 25 % slits or a narrower turn, above that slits are needed",
                    mark: "G, bands judgement",
                });
            }
        }
    }
    let Ok(construction) = piece.construction() else { return };
    for line in &construction.stitching {
        stitch_line(piece, line, out);
    }
}

fn stitch_line(piece: &Piece, line: &Stitching, out: &mut Vec<Finding>) {
    let edges = piece.outline.edges();
    let turned =
        edges.iter().enumerate().filter(|(index, _)| line.edges.contains(&piece.outline.spoken(*index)));
    let sewn = edges.iter().enumerate().find(|(index, _)| line.edges.contains(&piece.outline.spoken(*index)));
    let sights: Vec<Sight> = sewn.map(|(_, edge)| Sight::middle(piece, edge)).into_iter().collect();
    let narrowest = turned
        .filter_map(|(_, e)| e.allowance.filter(|a| a.kind != Kind::Seam).map(|a| a.width_mm))
        .reduce(f64::min);
    let place = format!("{}, stitch line along {}", piece.record.piece, line.edges);
    let finding = match narrowest {
        Some(turned_mm) => {
            let good = line.inset_mm >= LEAST_INSET_MM - GRACE_MM
                && line.inset_mm <= turned_mm - FROM_LANDING_MM + GRACE_MM;
            Finding {
                grade: if good { Grade::Good } else { Grade::Fault },
                place,
                sights,
                figure: format!("{:.1} mm inside an edge turned by {turned_mm:.1} mm", line.inset_mm),
                rule: "at least 1/8 in from a turned edge, and 2 mm short of where the turn ends",
                mark: "CP",
            }
        }
        None => Finding {
            grade: if USUAL_MM.contains(&line.inset_mm) { Grade::Good } else { Grade::Look },
            place,
            sights,
            figure: format!("{:.1} mm inside the finished edge", line.inset_mm),
            rule: "2 to 6 mm from the edge, commonly 1/8 in",
            mark: "CP",
        },
    };
    out.push(finding);
}
