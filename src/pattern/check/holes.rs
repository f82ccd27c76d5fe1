//! Holes against the edge; rings against the strap.

use super::{Finding, Grade, Sight};
use crate::pattern::Piece;

/// From the middle of a hole to the cut edge in its diameters, at least (common practice, no source).
const DIAMETERS: f64 = 2.0;

/// A ring is wider than the strap that it takes by 1 to 2 mm (common practice, no source); less binds, much more lets it twist.
const PLAY_MM: std::ops::RangeInclusive<f64> = 1.0..=2.0;

/// Lengths are compared with this much grace, millimetres: rounding of what was typed.
const GRACE_MM: f64 = 0.01;

/// Looks at every hole.
pub(super) fn check(piece: &Piece, out: &mut Vec<Finding>) {
    let Ok(construction) = piece.construction() else { return };
    for hole in &construction.holes {
        let good = hole.to_edge_mm >= DIAMETERS * hole.diameter_mm - GRACE_MM;
        out.push(Finding {
            grade: if good { Grade::Good } else { Grade::Fault },
            place: format!(
                "{}, hole {:.1} mm across and {:.1} mm down",
                piece.record.piece, hole.at.x, hole.at.y
            ),
            sights: vec![Sight::new(piece, hole.at)],
            figure: format!("{:.1} mm from the cut edge, {:.1} mm wide", hole.to_edge_mm, hole.diameter_mm),
            rule: "a hole stands at least twice its diameter from the edge, or it tears out",
            mark: "CP",
        });
    }
}

/// Looks at rings: each against the strip that holds it, and against the strap that it takes where that is named.
pub(super) fn straps(pieces: &[Piece], out: &mut Vec<Finding>) {
    for piece in pieces {
        let Some(ring) = &piece.ring else { continue };
        let width = |strap: &Piece| strap.measures().width_mm.min(strap.measures().height_mm);
        let named = ring.strap.as_ref().and_then(|name| pieces.iter().find(|p| p.record.piece == *name));
        let mut taken = vec![("its strip".to_owned(), ring.strip_mm)];
        taken.extend(named.map(|strap| (strap.record.piece.clone(), width(strap))));
        for (what, strap_mm) in taken {
            one_ring(piece, ring.inside_mm, &what, strap_mm, out);
        }
    }
}

fn one_ring(piece: &Piece, ring_mm: f64, what: &str, strap_mm: f64, out: &mut Vec<Finding>) {
    let play_mm = ring_mm - strap_mm;
    let grade = if play_mm < PLAY_MM.start() - GRACE_MM {
        Grade::Fault
    } else if play_mm > PLAY_MM.end() + GRACE_MM {
        Grade::Look
    } else {
        Grade::Good
    };
    out.push(Finding {
        grade,
        place: format!("{}, its ring", piece.record.piece),
        sights: Vec::new(),
        figure: format!("{ring_mm:.1} mm inside for {what}, {strap_mm:.1} mm wide"),
        rule: "a ring is 1 to 2 mm wider than the strap it takes",
        mark: "CP",
    });
}
