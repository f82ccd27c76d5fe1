//! Cloth told from sheet and floor, cell by cell, and the region of the garment.

use super::backdrop::{Backdrop, Ground, Levels, inks};
use super::colour::{self, Colour, Tint};
use super::hull::Hull;
use super::segment::segment;
use super::table::{CELL_MM, Cell, Table};
use super::{OutlineError, Scene, Wish, contour, hole, side_in_words, strap, unplaced};
use crate::geometry::{Point, Rect, Vec2};
use rayon::prelude::*;

/// The garment's region.
pub(super) struct Region {
    /// Its boundary on the table, clockwise as seen, millimetres, about a point a cell.
    pub boundary: Vec<Point>,
    /// For each boundary point, true where a strap was cut off: no edge is to be looked for there.
    pub cut: Vec<bool>,
    /// What each photograph shows of cloth and floor.
    pub tints: Vec<Tints>,
    /// Boundaries of its large openings, anticlockwise.
    pub openings: Vec<Vec<Point>>,
    /// Where it is cloth, openings left out.
    pub cloth: CellMask,
    /// Where in each photograph a sheet that was not recognised lies on a known one.
    pub unplaced: Vec<CellMask>,
}

impl Region {
    /// A region's boundary that is an opening's.
    pub(super) fn of_opening(boundary: Vec<Point>) -> Self {
        let cut = vec![false; boundary.len()];
        let cloth = CellMask { origin: Point::ORIGIN, across: 1, cells: Vec::new() };
        Self { boundary, cut, tints: Vec::new(), openings: Vec::new(), cloth, unplaced: Vec::new() }
    }
}

/// Cells of the table.
pub(super) struct CellMask {
    /// Table place of the first cell's centre.
    pub origin: Point,
    pub across: usize,
    pub cells: Vec<bool>,
}

impl CellMask {
    /// Whether a place of the table lies in one of them.
    pub(super) fn contains(&self, at: Point) -> bool {
        super::table::cell_at(self.origin, self.across, self.cells.len(), at).is_some_and(|k| self.cells[k])
    }

    /// Their box on the table; `None` where there is none.
    #[expect(clippy::cast_precision_loss, reason = "a few hundred cells")]
    pub(super) fn bounds(&self) -> Option<Rect> {
        let places = (0..self.cells.len())
            .filter(|&k| self.cells[k])
            .map(|k| self.origin + Vec2::new((k % self.across) as f64, (k / self.across) as f64) * CELL_MM);
        places.map(|p| Rect::from_points(p, p)).reduce(|a, b| a.union(b))
    }
}

/// Tints in one photograph.
pub(super) struct Tints {
    /// Of the garment's cloth.
    pub cloth: Vec<Tint>,
    /// Of the floor.
    pub floor: Vec<Tint>,
}

/// Farther than this from every visible corner, inside their hull, a cell can only be covered: the widest
/// strip without corners between two sheets laid edge to edge is 57 mm.
const COVERED_MM: f32 = 34.0;
/// Nearer than this to a visible corner the sheet shows.
const SHOWS_MM: f32 = 4.5;
/// Bound of one cell's evidence, so that a few odd cells cannot outvote a boundary's length.
const EVIDENCE_MOST: f32 = 6.0;
/// Evidence for cloth of a cell that can only be covered.
const COVERED_EVIDENCE: f32 = 1.5;
/// What it speaks for cloth that a place off the known sheets is shut in by showing sheets all round: floor has no
/// way in there. Raising it takes pockets of floor beside the garment for cloth.
const ENCLOSED_EVIDENCE: f32 = 1.5;
/// Evidence below which the sheet shows in such a cell all the same: its corners are lost to a bent sheet, or to
/// another that lies on it.
const COVERED_DENIED: f32 = -3.0;
/// What a cell of the print's inks costs as sheet where the known sheets have another ink: an unrecognised sheet lies
/// on them, or one is bent. Raising it lets such places pass for cloth.
const MISPLACED_COST: f32 = 0.5;
/// A shadow lies on sheets that are darker than where the cloth was learned by this part, in grey levels.
const SHADOWED: f32 = 0.7;
/// What a cell costs as cloth for having to be thought lit.
const RELIT_COST: f32 = 1.0;
/// Fewer cells than this that a shadow speaks for are not asked.
const SHADOW_CELLS: usize = 40;
/// A patch of cloth in a shadow reaches so many cells from its rim.
const SHADOW_DEEP: f64 = 2.5;
/// Evidence of a cell that no photograph shows.
const UNSEEN_EVIDENCE: f32 = -0.5;
/// Tints of a cloth: the colours of a tartan with its mixtures.
const CLOTH_TINTS: usize = 6;
/// Tints of the whole cloth, with its highlights and shades.
const ALL_TINTS: usize = 10;
/// Cells from the boundary at which the cloth is sure.
const INNER_CELLS: f64 = 2.0;
/// Tints of a floor.
const FLOOR_TINTS: usize = 8;
/// A second thing on the sheets is told from this area on, mm².
const THING_MM2: f64 = 4000.0;

/// Part of the light between ink and paper up to which a cell is ink, and as near to paper it is paper.
pub(super) const CELL_LIGHT: f32 = 0.3;
/// Cells of the cloth's rim in which no small hole is looked for.
const RIM_OF_CLOTH: f64 = 1.5;

/// Cells within which the end of the photograph or of the sheets counts as reached.
const RIM_CELLS: usize = 3;
/// Cells from the photograph's edge within which no checker corner may be seen.
const PHOTO_CELLS: usize = 12;
/// More cells than this at the end of the photograph or of the sheets, and the garment runs out there.
const LEAVING_CELLS: usize = 24;

/// Finds the garment.
pub(super) fn find(
    scenes: &[Scene<'_>],
    backdrops: &[Backdrop],
    tables: &[Table],
    wish: &Wish,
) -> Result<Region, OutlineError> {
    let table = &Table::joined(tables);
    let hull = Hull::of(&backdrops[0].corners);
    let inside: Vec<bool> =
        (0..table.cells.len()).into_par_iter().map(|k| hull.contains(table.place_of(k))).collect();
    let covered: Vec<bool> = table
        .cells
        .iter()
        .zip(&inside)
        .map(|(c, inside)| *inside && c.ground != Ground::Unseen && c.to_corner_mm > COVERED_MM)
        .collect();
    // Where a sheet is known to lie and yet does not show, only cloth can be; elsewhere it may be floor.
    let core: Vec<bool> =
        covered.iter().zip(&table.cells).map(|(c, cell)| *c && cell.ground == Ground::Print).collect();
    let first: Vec<Tints> = tables
        .iter()
        .map(|seen| {
            let bare = |k: usize| {
                let cell = &seen.cells[k];
                cell.ground == Ground::Floor && !inside[k] && cell.to_corner_mm > 40.0
            };
            let (cloth, floor) = rayon::join(
                || colour::tints(&pick(seen, |k| core[k]), CLOTH_TINTS),
                || colour::tints(&pick(seen, bare), FLOOR_TINTS),
            );
            Tints { cloth, floor }
        })
        .collect();
    if first.iter().all(|t| t.cloth.is_empty()) {
        return Err(OutlineError::Nothing);
    }
    let whites: Vec<Option<f32>> =
        tables.iter().zip(backdrops).map(|(t, b)| usual_white(t, b, |k| core[k])).collect();
    let enclosed = enclosed(table, &inside);
    // The mean of the photographs that see the cell and know the cloth, as each weighs it.
    let evidence_of = |k: usize, weighed: &dyn Fn(usize, &Cell, &[Levels]) -> f32| {
        let (mut sum, mut count) = (0.0, 0.0);
        for (i, (seen, tints)) in tables.iter().zip(&first).enumerate() {
            let cell = &seen.cells[k];
            if cell.ground != Ground::Unseen && !tints.cloth.is_empty() {
                sum += weighed(i, cell, backdrops[i].levels(table.place_of(k)));
                count += 1.0;
            }
        }
        let base = if count > 0.0 { sum / count } else { UNSEEN_EVIDENCE };
        match core[k] {
            true if base > COVERED_DENIED => base.max(COVERED_EVIDENCE),
            false if enclosed[k] => base + ENCLOSED_EVIDENCE,
            _ => base,
        }
    };
    let parted = |evidence: &[f32]| {
        let u = segment(evidence, table.across, table.down);
        let mask: Vec<bool> = u.iter().map(|v| *v > 0.5).collect();
        (u, mask)
    };
    let as_seen = |i: usize, cell: &Cell, levels: &[Levels]| weigh(cell, &first[i], None, levels);
    let plain: Vec<f32> = (0..table.cells.len()).into_par_iter().map(|k| evidence_of(k, &as_seen)).collect();
    let (mut u, mut mask) = parted(&plain);
    let in_shadow = |k: &usize| {
        let dark = |(b, white): (&Backdrop, &Option<f32>)| {
            white.is_some_and(|usual| parts_left(b.levels(table.place_of(*k)), usual).next().is_some())
        };
        backdrops.iter().zip(&whites).any(dark)
    };
    let as_lit = |i: usize, cell: &Cell, levels: &[Levels]| weigh(cell, &first[i], whites[i], levels);
    let relit: Vec<(usize, f32)> = (0..table.cells.len())
        .into_par_iter()
        .filter(in_shadow)
        .map(|k| (k, evidence_of(k, &as_lit)))
        .collect();
    if relit.iter().filter(|(k, lit)| *lit > plain[*k] + 1.0).count() >= SHADOW_CELLS {
        // Cloth that lies in a shadow is a patch of some size: what changes along the edge alone is left to the edge.
        let mut shaded = plain;
        for (k, lit) in relit {
            shaded[k] = lit;
        }
        let lit = parted(&shaded);
        let changed: Vec<bool> = mask.iter().zip(&lit.1).map(|(a, b)| a != b).collect();
        if strap::deeper(&changed, table.across, SHADOW_DEEP).contains(&true) {
            (u, mask) = lit;
        }
    }
    let garment = choose(scenes, table, &mask, &core, &inside)?;
    let (body, cut_near) = match wish.trim_narrower_mm.map(|w| w / CELL_MM) {
        Some(width) => {
            let solid = contour::filled_to(&garment, table.across, width);
            let arms = strap::arms(&solid, table.across, width);
            let bare: Vec<bool> = solid.iter().zip(&arms).map(|(s, a)| *s && !a).collect();
            (contour::filled(&bare, table.across), arms)
        }
        None => (contour::filled(&garment, table.across), vec![false; mask.len()]),
    };
    let openings = hole::openings(&garment, &body, table, &backdrops[0]);
    complete(scenes, table, &body, &inside)?;
    let level: Vec<f32> =
        u.iter().zip(&body).map(|(v, b)| if *b { v.max(0.51) } else { v.min(0.49) }).collect();
    let grid_boundary = contour::longest(&level, table.across, table.down);
    if grid_boundary.len() < 8 {
        return Err(OutlineError::Nothing);
    }
    let cut = grid_boundary.iter().map(|&(x, y)| strap::near(&cut_near, table.across, x, y)).collect();
    let boundary: Vec<Point> = grid_boundary.iter().map(|&(x, y)| table.place(x, y)).collect();
    let open: Vec<bool> = (0..mask.len()).map(|k| openings.iter().any(|o| o[k])).collect();
    let bare: Vec<bool> = body.iter().zip(&open).map(|(b, o)| *b && !o).collect();
    let cloth = CellMask {
        origin: table.origin,
        across: table.across,
        cells: strap::deeper(&bare, table.across, RIM_OF_CLOTH),
    };
    let openings = openings.iter().map(|o| hole::boundary(o, &u, table)).filter(|b| b.len() >= 8).collect();
    // Now that its region is known, the whole cloth tells its tints, highlights and shaded hems too.
    let inner = strap::deeper(&bare, table.across, INNER_CELLS);
    let outside: Vec<bool> = body.iter().zip(&cut_near).map(|(b, c)| !b && !c).collect();
    let outer = strap::deeper(&outside, table.across, INNER_CELLS);
    let tints = tables
        .iter()
        .zip(first)
        .map(|(seen, first)| {
            let floor = pick(seen, |k| outer[k] && seen.cells[k].ground == Ground::Floor);
            let (cloth, floor) = rayon::join(
                || colour::tints(&pick(seen, |k| inner[k]), ALL_TINTS),
                || if floor.is_empty() { first.floor } else { colour::tints(&floor, FLOOR_TINTS) },
            );
            Tints { cloth, floor }
        })
        .collect();
    let unplaced = tables.iter().zip(backdrops).map(|(t, b)| unplaced::find(t, b, &outer)).collect();
    Ok(Region { boundary, cut, tints, openings, cloth, unplaced })
}

/// Cells that cannot be reached from beyond the sheets without coming near a corner that shows: the strip between
/// two sheets laid edge to edge is too narrow for a way.
fn enclosed(table: &Table, inside: &[bool]) -> Vec<bool> {
    let (across, count) = (table.across, table.cells.len());
    let way = |k: usize| !inside[k] || table.cells[k].to_corner_mm > COVERED_MM;
    let mut reached: Vec<bool> = inside.iter().map(|inside| !inside).collect();
    let mut next: Vec<usize> = (0..count).filter(|&k| reached[k]).collect();
    while let Some(k) = next.pop() {
        let x = k % across;
        let beside = [
            (x > 0).then(|| k - 1),
            (x + 1 < across).then(|| k + 1),
            k.checked_sub(across),
            Some(k + across).filter(|n| *n < count),
        ];
        for n in beside.into_iter().flatten() {
            if !reached[n] && way(n) {
                reached[n] = true;
                next.push(n);
            }
        }
    }
    (0..count).map(|k| way(k) && !reached[k]).collect()
}

fn pick(table: &Table, wanted: impl Fn(usize) -> bool) -> Vec<Colour> {
    const ENOUGH: usize = 6000;
    let all: Vec<usize> =
        (0..table.cells.len()).filter(|&k| table.cells[k].ground != Ground::Unseen && wanted(k)).collect();
    let step = all.len().div_ceil(ENOUGH).max(1);
    all.into_iter().step_by(step).map(|k| table.cells[k].colour).collect()
}

/// The light in which the cloth's tints were learned, grey levels of white.
fn usual_white(table: &Table, backdrop: &Backdrop, wanted: impl Fn(usize) -> bool) -> Option<f32> {
    const EVERY: usize = 16;
    let white = |k: usize| backdrop.levels(table.place_of(k)).first().map(|l| l.white[0]);
    let mut whites: Vec<f32> =
        (0..table.cells.len()).filter(|&k| wanted(k)).step_by(EVERY).filter_map(white).collect();
    whites.sort_by(f32::total_cmp);
    whites.get(whites.len() / 2).copied()
}

/// Cost of a cell as cloth: as it is, or where a shadow lies on the sheets about it, as it would be in the usual light, if that is
/// known.
fn cloth_cost(cloth: &[Tint], usual_white: Option<f32>, levels: &[Levels], colour: Colour) -> f32 {
    let plain = colour::cost(cloth, colour);
    let lit = |part: f32| {
        [colour[0] / part, 128.0 + (colour[1] - 128.0) / part, 128.0 + (colour[2] - 128.0) / part]
    };
    let parts = usual_white.into_iter().flat_map(|usual| parts_left(levels, usual));
    parts.map(|part| colour::cost(cloth, lit(part)) + RELIT_COST).fold(plain, f32::min)
}

/// What the shadows that lie on the sheets there leave of the usual light, as parts of it; nothing where none lies.
fn parts_left(levels: &[Levels], usual_white: f32) -> impl Iterator<Item = f32> {
    levels.iter().map(move |l| l.white[0] / usual_white).filter(|part| *part < SHADOWED)
}

/// Evidence of one cell: positive for cloth.
fn weigh(cell: &Cell, tints: &Tints, usual_white: Option<f32>, levels: &[Levels]) -> f32 {
    if cell.to_corner_mm < SHOWS_MM {
        return -EVIDENCE_MOST;
    }
    // What is neither is rather cloth where a sheet is known to lie: the sheet is known better than the cloth.
    let most = if cell.ground == Ground::Print { 5.0 } else { 12.0 };
    let cloth_cost = cloth_cost(&tints.cloth, usual_white, levels, cell.colour).min(most);
    let floor = &tints.floor;
    let other = match cell.ground {
        Ground::Print => cell.sheet_cost.min(inks(levels, cell.colour) + MISPLACED_COST),
        Ground::Margin => cell.sheet_cost.min(colour::cost(floor, cell.colour) + 2.0),
        // A sheet that was not recognised may lie there.
        _ => colour::cost(floor, cell.colour).min(inks(levels, cell.colour)),
    };
    let evidence = (other.min(12.0) - cloth_cost).clamp(-EVIDENCE_MOST, EVIDENCE_MOST);
    // Off the sheets the floor is only learned: trust it less.
    if cell.ground == Ground::Floor { 0.5 * evidence - 0.5 } else { evidence }
}

/// The component that holds most of the core, with what goes against it: other things, the picture's edge.
fn choose(
    scenes: &[Scene<'_>],
    table: &Table,
    mask: &[bool],
    core: &[bool],
    inside: &[bool],
) -> Result<Vec<bool>, OutlineError> {
    let labels = label(mask, table.across);
    let count = labels.iter().copied().max().unwrap_or(0) as usize + 1;
    let (mut area, mut in_core, mut sums) =
        (vec![0usize; count], vec![0usize; count], vec![(0.0, 0.0); count]);
    for (k, &l) in labels.iter().enumerate() {
        if l > 0 {
            let l = l as usize;
            area[l] += 1;
            in_core[l] += usize::from(core[k]);
            let p = table.place_of(k);
            sums[l] = (sums[l].0 + p.x, sums[l].1 + p.y);
        }
    }
    let best = (1..count).max_by_key(|&l| (in_core[l], area[l])).ok_or(OutlineError::Nothing)?;
    #[expect(clippy::cast_precision_loss, reason = "counts are small")]
    let mm2 = |l: usize| area[l] as f64 * CELL_MM * CELL_MM;
    let others: Vec<usize> =
        (1..count).filter(|&l| l != best && in_core[l] > 0 && mm2(l) > THING_MM2).collect();
    // A garment that leaves the photograph or the sheets may fall into parts; that it leaves is the thing to tell.
    if !others.is_empty() {
        let thing = |l: u32| l as usize == best || others.contains(&(l as usize));
        complete(scenes, table, &labels.iter().map(|&l| thing(l)).collect::<Vec<bool>>(), inside)?;
    }
    if !others.is_empty() {
        #[expect(clippy::cast_precision_loss, reason = "counts are small")]
        let words: Vec<String> = std::iter::once(best)
            .chain(others.iter().copied())
            .map(|l| {
                let n = area[l] as f64;
                side_in_words(scenes, Point::new(sums[l].0 / n, sums[l].1 / n))
            })
            .collect();
        return Err(OutlineError::Several { count: words.len(), places: words.join(", ") });
    }
    let garment: Vec<bool> = labels.iter().map(|&l| l as usize == best).collect();
    Ok(garment)
}

/// Whether all of it lies on the sheets and in the photograph.
fn complete(scenes: &[Scene<'_>], table: &Table, mask: &[bool], inside: &[bool]) -> Result<(), OutlineError> {
    let near = |k: usize, reach: usize, wanted: &dyn Fn(usize) -> bool| {
        let (x, y) = (k % table.across, k / table.across);
        (1..=reach).any(|d| {
            x < d
                || y < d
                || x + d >= table.across
                || y + d >= table.down
                || [k - d, k + d, k - d * table.across, k + d * table.across].iter().any(|&n| wanted(n))
        })
    };
    let unseen = |n: usize| table.cells[n].ground == Ground::Unseen;
    let off: Vec<usize> =
        (0..mask.len()).filter(|&k| mask[k] && near(k, RIM_CELLS, &|n| !inside[n] || unseen(n))).collect();
    if off.len() <= LEAVING_CELLS {
        return Ok(());
    }
    let side = side_in_words(scenes, table.place_of(off[off.len() / 2]));
    // Near the photograph's edge no corner is seen any more: there it is the photograph that ends.
    let out = off.iter().filter(|&&k| near(k, PHOTO_CELLS, &unseen)).count();
    if 2 * out > off.len() {
        return Err(OutlineError::OutOfPhoto { side });
    }
    #[expect(clippy::cast_precision_loss, reason = "counts are small")]
    Err(OutlineError::OffSheets { side, off_mm: (off.len() / RIM_CELLS) as f64 * CELL_MM })
}

/// Connected components (4-neighbours), 0 for what is false.
#[expect(clippy::cast_possible_truncation, reason = "a few hundred cells")]
pub(super) fn label(mask: &[bool], across: usize) -> Vec<u32> {
    let (w, h) = (across as u32, (mask.len() / across) as u32);
    let picture = image::GrayImage::from_fn(w, h, |x, y| {
        image::Luma([u8::from(mask[y as usize * across + x as usize])])
    });
    imageproc::region_labelling::connected_components(
        &picture,
        imageproc::region_labelling::Connectivity::Four,
        image::Luma([0]),
    )
    .into_raw()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cloth_in_a_deep_shadow_is_cloth_and_shadowed_paper_is_not() {
        let rose = Tint::new([180.0, 122.0, 140.0], 6.0, 1.0);
        let levels =
            |part: f32| Levels { white: [230.0 * part, 128.0, 128.0], black: [30.0 * part, 128.0, 128.0] };
        let cost = |colour: Colour, part: f32| cloth_cost(&[rose], Some(230.0), &[levels(part)], colour);
        // Half the grey levels leave half the chroma.
        let shadowed = [90.0, 125.0, 134.0];
        assert!(cost(shadowed, 0.5) < 2.0, "{}", cost(shadowed, 0.5));
        assert!(cost(shadowed, 1.0) > 20.0, "without a shadow it is something else");
        assert!(cost([115.0, 128.0, 128.0], 0.5) > 5.0, "paper in the shadow");
    }
}
