//! Large openings: places inside the garment's region where the sheets show.
//!
//! A hole of the segmented region is an opening only if the printed sheets prove it: their checker corners are seen
//! in it, or both ink and paper stand where they are printed. A light patch or a pocket agrees with one of them at most.

use super::backdrop::{Backdrop, Ground};
use super::region::{CELL_LIGHT, label};
use super::table::{CELL_MM, Table};
use super::{contour, strap};
use crate::geometry::Point;

/// An opening is at least this wide, millimetres; what is narrower is looked for in the photograph itself.
const WIDE_MM: f64 = 20.0;
/// Mean cost of its cells as sheet, and the part of them that must agree.
const AGREE_COST: f32 = 2.0;
const AGREE_PART: f64 = 0.7;
/// Part of its cells that ink, and that paper, must cover when fewer corners are seen.
const BOTH_PART: f64 = 0.15;
/// Corners that prove it alone.
const CORNERS: usize = 2;

/// The openings' cells: holes of the `garment` (`filled` is it without them) that prove to show the sheets.
#[expect(clippy::cast_precision_loss, reason = "counts are small")]
pub(super) fn openings(
    garment: &[bool],
    filled: &[bool],
    table: &Table,
    backdrop: &Backdrop,
) -> Vec<Vec<bool>> {
    let across = table.across;
    let hollow: Vec<bool> = garment.iter().zip(filled).map(|(g, f)| *f && !g).collect();
    let labels = label(&hollow, across);
    let count = labels.iter().copied().max().unwrap_or(0);
    let core = strap::deeper(&hollow, across, 0.4 * WIDE_MM / CELL_MM);
    let mut out = Vec::new();
    for l in 1..=count {
        let cells: Vec<usize> = (0..labels.len()).filter(|&k| labels[k] == l).collect();
        if !cells.iter().any(|&k| core[k]) {
            continue;
        }
        let corners =
            backdrop.corners.iter().filter(|c| table.cell_of(**c).is_some_and(|k| labels[k] == l)).count();
        let (mut agree, mut ink, mut paper) = (0usize, 0usize, 0usize);
        for &k in &cells {
            let cell = &table.cells[k];
            if cell.ground != Ground::Print || cell.sheet_cost > AGREE_COST {
                continue;
            }
            agree += 1;
            if let Some(light) = backdrop.levels(table.place_of(k)).first() {
                let part = (cell.colour[0] - light.black[0]) / (light.white[0] - light.black[0]).max(1.0);
                ink += usize::from(part < CELL_LIGHT);
                paper += usize::from(part > 1.0 - CELL_LIGHT);
            }
        }
        let part = |n: usize| n as f64 / cells.len() as f64;
        let both = part(ink) > BOTH_PART && part(paper) > BOTH_PART;
        if corners >= CORNERS || part(agree) > AGREE_PART && both && corners > 0 {
            out.push(labels.iter().map(|n| *n == l).collect());
        }
    }
    out
}

/// The boundary of an opening, anticlockwise as seen: the cloth on its right hand like an outer line's.
pub(super) fn boundary(opening: &[bool], level: &[f32], table: &Table) -> Vec<Point> {
    // The region's own level inside the opening and next to it, full elsewhere.
    let near = strap::near_cells(opening, table.across, 1.5);
    let field: Vec<f32> = (0..opening.len())
        .map(|k| match (opening[k], near[k]) {
            (true, _) => (1.0 - level[k]).max(0.51),
            (false, true) => (1.0 - level[k]).min(0.49),
            (false, false) => 0.0,
        })
        .collect();
    let mut line: Vec<Point> = contour::longest(&field, table.across, table.down)
        .into_iter()
        .map(|(x, y)| table.place(x, y))
        .collect();
    line.reverse();
    line
}
