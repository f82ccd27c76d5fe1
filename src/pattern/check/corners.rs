//! Square at the fold; layers at corners.

use super::{Finding, Grade, Sight};
use crate::pattern::{Corner, Kind, Piece};

/// Within this of a right angle the line is square at the fold, radians: 0.5° (common practice, no source).
const SQUARE_RAD: f64 = 0.5 * std::f64::consts::PI / 180.0;

/// More layers than this at a corner are worth a look (judgement: a domestic needle and a hand awl go through four).
const LAYERS: u32 = 3;

/// Looks at the ends of the fold and at corners of allowances that are folded in.
pub(super) fn check(piece: &Piece, out: &mut Vec<Finding>) {
    let outline = &piece.outline;
    for end in outline.fold_ends().into_iter().flatten() {
        let depth_mm = end.depth_mm(outline.ring().bounds().width());
        let what = if end.off_rad >= 0.0 { "V" } else { "peak" };
        out.push(Finding {
            grade: if end.off_rad.abs() <= SQUARE_RAD { Grade::Good } else { Grade::Fault },
            place: format!("{}, point {} at the fold", piece.record.piece, end.letter),
            sights: outline.points().filter(|p| p.0 == end.letter).map(|p| Sight::new(piece, p.1)).collect(),
            figure: format!(
                "{:.2}° off square, a {what} of {:.1} mm over the width of the half",
                end.off_rad.to_degrees().abs(),
                depth_mm.abs()
            ),
            rule: "square to the fold within 0.5°, or the opened piece has a V or a peak there",
            mark: "CP",
        });
    }
    let folded = |edge: usize| outline.edges()[edge].allowance.filter(|a| a.kind != Kind::Seam);
    for (index, edge) in outline.edges().iter().enumerate() {
        let (before, after) = (folded(outline.before(index)), folded(index));
        if before.is_none() || after.is_none() || outline.is_on_fold(index) {
            continue;
        }
        let layers = edge.corner.layers(before, after);
        let smooth =
            outline.smooth_joints()[outline.edges()[..index].iter().map(|e| e.segments.len()).sum::<usize>()];
        if smooth {
            continue;
        }
        let raw = matches!(edge.corner, Corner::Butted { rim_mm: Some(rim_mm), .. } if rim_mm <= 0.0);
        out.push(Finding {
            grade: if layers > LAYERS || raw { Grade::Look } else { Grade::Good },
            place: format!("{}, corner {}", piece.record.piece, edge.from),
            sights: vec![Sight::new(piece, edge.start())],
            figure: format!(
                "{} corner, {layers} layers{}",
                edge.corner.word(),
                if raw { ", the second edge raw where the first comes to lie" } else { "" }
            ),
            rule: match edge.corner {
                _ if raw => "a turned edge has no raw place: give the corner a rim, or dress the edge there",
                Corner::Full => {
                    "more than three layers are thick to turn and to sew: mitre the corner or cut it square"
                }
                _ => "more than three layers are thick to turn and to sew",
            },
            mark: "judgement",
        });
    }
}
