//! Arms of the silhouette: straps and ties that hang off the body.
//!
//! A region opened by a disc (P. Soille, "Morphological Image Analysis", 2nd ed. 2004, chapter 4) loses
//! what is narrower than the disc; what it loses at a mere corner stays near, what it loses of a strap
//! goes far.

use super::region::label;
use imageproc::distance_transform::euclidean_squared_distance_transform;

/// What reaches farther than this many disc radii beyond the opened body is a strap; a corner of 90
/// degrees reaches 0.41, one of 45 degrees 1.6.
const REACH: f64 = 2.0;

/// Cells of the region that belong to arms narrower than `width` cells.
pub(super) fn arms(mask: &[bool], across: usize, width: f64) -> Vec<bool> {
    let radius = width / 2.0;
    let eroded = deeper(mask, across, radius);
    let to_core = distance_to(&eroded, across, true);
    // One cell more, so that the grid's staircase along the body is not taken for residue.
    let residue: Vec<bool> = mask.iter().zip(&to_core).map(|(m, d)| *m && *d > radius + 1.0).collect();
    let labels = label(&residue, across);
    let count = labels.iter().copied().max().unwrap_or(0) as usize + 1;
    let mut reach = vec![0f64; count];
    for (l, d) in labels.iter().zip(&to_core) {
        reach[*l as usize] = reach[*l as usize].max(d - radius);
    }
    let mut out = vec![false; mask.len()];
    for arm in (1..count).filter(|&l| reach[l] > REACH * radius) {
        let cells: Vec<usize> = (0..mask.len()).filter(|&k| labels[k] as usize == arm).collect();
        for k in strap_of(&cells, &to_core, radius, across) {
            out[k] = true;
        }
    }
    out
}

/// A corner of the body beside a strap belongs to the same residue, but goes no farther from the opened body than
/// this part of the disc's radius.
const CORNER_REACH: f64 = 0.5;
/// Cells beside a strap's own width that are taken with it.
const BESIDE: f64 = 1.0;

/// The cells of a residue that lie in the strap's own band: what is far from the body is strap for sure, and near
/// the body what lies in line with it.
#[expect(clippy::cast_precision_loss, reason = "a few hundred cells")]
fn strap_of(cells: &[usize], to_core: &[f64], radius: f64, across: usize) -> Vec<usize> {
    let off = |k: usize| to_core[k] - radius;
    let place = |k: usize| ((k % across) as f64, (k / across) as f64);
    let sure: Vec<usize> = cells.iter().copied().filter(|&k| off(k) > CORNER_REACH * radius).collect();
    // How the strap runs at its root: the principal axis of its first stretch.
    let root: Vec<(f64, f64)> =
        sure.iter().filter(|&&k| off(k) < (CORNER_REACH + 1.5) * radius).map(|&k| place(k)).collect();
    if root.len() < 3 {
        return cells.to_vec();
    }
    let n = root.len() as f64;
    let (mx, my) = (root.iter().map(|p| p.0).sum::<f64>() / n, root.iter().map(|p| p.1).sum::<f64>() / n);
    let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
    for (x, y) in &root {
        xx += (x - mx) * (x - mx);
        xy += (x - mx) * (y - my);
        yy += (y - my) * (y - my);
    }
    let turn = 0.5 * (2.0 * xy).atan2(xx - yy);
    let aside = |(x, y): (f64, f64)| -(x - mx) * turn.sin() + (y - my) * turn.cos();
    let band = root
        .iter()
        .map(|&p| aside(p))
        .fold((f64::INFINITY, f64::NEG_INFINITY), |b, v| (b.0.min(v), b.1.max(v)));
    cells
        .iter()
        .copied()
        .filter(|&k| {
            let v = aside(place(k));
            off(k) > CORNER_REACH * radius || (v >= band.0 - BESIDE && v <= band.1 + BESIDE)
        })
        .collect()
}

/// Cells of the region farther than `depth` cells from its outside.
pub(super) fn deeper(mask: &[bool], across: usize, depth: f64) -> Vec<bool> {
    distance_to(mask, across, false).iter().map(|d| *d > depth).collect()
}

/// Cells at most `reach` cells from the region, and its own.
pub(super) fn near_cells(mask: &[bool], across: usize, reach: f64) -> Vec<bool> {
    distance_to(mask, across, true).iter().map(|d| *d <= reach).collect()
}

/// True when a place of the boundary lies where an arm was cut off.
#[expect(clippy::cast_possible_truncation, reason = "a few hundred cells")]
#[expect(clippy::cast_possible_wrap, reason = "a few hundred cells")]
pub(super) fn near(arms: &[bool], across: usize, x: f64, y: f64) -> bool {
    const ROUND: i64 = 2;
    let (i, j) = (x.round() as i64, y.round() as i64);
    (-ROUND..=ROUND).any(|dy| {
        (-ROUND..=ROUND).any(|dx| {
            let (u, v) = (i + dx, j + dy);
            u >= 0
                && v >= 0
                && u < across as i64
                && usize::try_from(v * across as i64 + u)
                    .ok()
                    .and_then(|k| arms.get(k))
                    .copied()
                    .unwrap_or(false)
        })
    })
}

/// Distance of every cell to the nearest cell whose mask is `wanted`, in cells.
#[expect(clippy::cast_possible_truncation, reason = "a few hundred cells")]
fn distance_to(mask: &[bool], across: usize, wanted: bool) -> Vec<f64> {
    let picture = image::GrayImage::from_fn(across as u32, (mask.len() / across) as u32, |x, y| {
        image::Luma([if mask[y as usize * across + x as usize] == wanted { 255 } else { 0 }])
    });
    euclidean_squared_distance_transform(&picture).pixels().map(|p| p.0[0].sqrt()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_strap_is_an_arm_and_a_corner_is_not() {
        let n = 120;
        let body = |x: usize, y: usize| (20..100).contains(&x) && (60..110).contains(&y);
        let strap = |x: usize, y: usize| (50..58).contains(&x) && (10..60).contains(&y);
        let mask: Vec<bool> = (0..n * n).map(|k| body(k % n, k / n) || strap(k % n, k / n)).collect();
        let found = arms(&mask, n, 14.0);
        let at = |x: usize, y: usize| found[y * n + x];
        assert!(at(54, 12) && at(53, 40), "the strap is found");
        assert!(!at(20, 60) && !at(99, 109) && !at(60, 80), "the body and its corners stay");
    }
}
