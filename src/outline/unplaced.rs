//! Where a sheet that was not recognised lies on a known one: beside the garment the print of the known sheet does not
//! show, and yet what shows is print.

use super::backdrop::{Backdrop, Ground, inks};
use super::region::CellMask;
use super::table::{Cell, Table};

/// Cost as the known sheet, bare or in a shadow, from which its print does not show.
const ABSENT_COST: f32 = 6.0;
/// Cost as ink, paper or a mixture of them up to which it is print.
const PRINT_COST: f32 = 4.5;
/// Cells to either side that are asked: a code and the squares about it.
const REACH: usize = 5;
/// Of the print beside the garment at least this part must be another's. Two prints agree by chance on half of it; where
/// the known sheets show, none is another's. Lowering it takes a light patch of the garment itself for one.
const PART_LEAST: f64 = 0.3;
/// Fewer cells tell nothing.
const CELLS_LEAST: u32 = 12;

/// The places where another sheet lies on the known ones, as one photograph shows them; `beside` are cells that lie clear
/// of the garment.
pub(super) fn find(table: &Table, backdrop: &Backdrop, beside: &[bool]) -> CellMask {
    let (across, down) = (table.across, table.down);
    let absent = |k: usize, cell: &Cell| {
        let at = table.place_of(k);
        cell.sheet_cost > ABSENT_COST
            && inks(backdrop.levels(at), cell.colour) < PRINT_COST
            && backdrop.cost(at, cell.colour).min(backdrop.shaded_cost(at, cell.colour)) > ABSENT_COST
    };
    // Sums over all cells above and to the left: of print, and of print that is another's.
    let mut sums = vec![(0u32, 0u32); (across + 1) * (down + 1)];
    for y in 0..down {
        let mut row = (0, 0);
        for x in 0..across {
            let k = y * across + x;
            let cell = &table.cells[k];
            if beside[k] && cell.ground == Ground::Print {
                row.0 += 1;
                row.1 += u32::from(absent(k, cell));
            }
            let above = sums[y * (across + 1) + x + 1];
            sums[(y + 1) * (across + 1) + x + 1] = (above.0 + row.0, above.1 + row.1);
        }
    }
    let cells = (0..across * down)
        .map(|k| {
            let (x, y) = (k % across, k / across);
            let (x0, x1) = (x.saturating_sub(REACH), (x + REACH + 1).min(across));
            let (y0, y1) = (y.saturating_sub(REACH), (y + REACH + 1).min(down));
            let sum = |x: usize, y: usize| sums[y * (across + 1) + x];
            let ([a, b], [c, d]) = ([sum(x0, y0), sum(x1, y0)], [sum(x0, y1), sum(x1, y1)]);
            let (print, others) = (d.0 + a.0 - b.0 - c.0, d.1 + a.1 - b.1 - c.1);
            print >= CELLS_LEAST && f64::from(others) > PART_LEAST * f64::from(print)
        })
        .collect();
    CellMask { origin: table.origin, across, cells }
}
