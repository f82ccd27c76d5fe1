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

/// A strap's root reaches so many disc radii along it.
const ROOT: f64 = 1.5;
/// A root takes cells in line with it that lie within so many disc radii of its middle.
const ROOT_NEAR: f64 = 3.0;

/// The cells of a residue that lie in the strap's own band: what is far from the body is strap for sure, and near
/// the body what lies in line with one of its roots: a neck loop has two.
fn strap_of(cells: &[usize], to_core: &[f64], radius: f64, across: usize) -> Vec<usize> {
    let off = |k: usize| to_core[k] - radius;
    let begins = CORNER_REACH * radius;
    let mut rooted = vec![false; to_core.len()];
    for &k in cells.iter().filter(|&&k| off(k) > begins && off(k) < begins + ROOT * radius) {
        rooted[k] = true;
    }
    let labels = label(&rooted, across);
    let mut roots: Vec<Vec<(f64, f64)>> =
        vec![Vec::new(); labels.iter().copied().max().unwrap_or(0) as usize];
    for &k in cells.iter().filter(|&&k| labels[k] > 0) {
        roots[labels[k] as usize - 1].push(middle(k, across));
    }
    let roots: Vec<Root> = roots.iter().filter_map(|places| Root::of(places)).collect();
    cells
        .iter()
        .copied()
        .filter(|&k| {
            let place = middle(k, across);
            off(k) > begins || roots.is_empty() || roots.iter().any(|r| r.takes(place, ROOT_NEAR * radius))
        })
        .collect()
}

#[expect(clippy::cast_precision_loss, reason = "a few hundred cells")]
fn middle(cell: usize, across: usize) -> (f64, f64) {
    ((cell % across) as f64, (cell / across) as f64)
}

/// Where a strap leaves the body: how it runs there and how wide it is.
struct Root {
    middle: (f64, f64),
    /// Radians from x.
    turn: f64,
    /// Its sides, cells aside of the middle.
    band: (f64, f64),
}

impl Root {
    /// By the principal axis of its cells; `None` of too few.
    #[expect(clippy::cast_precision_loss, reason = "a few hundred cells")]
    fn of(places: &[(f64, f64)]) -> Option<Self> {
        if places.len() < 3 {
            return None;
        }
        let n = places.len() as f64;
        let mx = places.iter().map(|p| p.0).sum::<f64>() / n;
        let my = places.iter().map(|p| p.1).sum::<f64>() / n;
        let (mut xx, mut xy, mut yy) = (0.0, 0.0, 0.0);
        for (x, y) in places {
            xx += (x - mx) * (x - mx);
            xy += (x - mx) * (y - my);
            yy += (y - my) * (y - my);
        }
        let mut root = Self {
            middle: (mx, my),
            turn: 0.5 * (2.0 * xy).atan2(xx - yy),
            band: (f64::INFINITY, -f64::INFINITY),
        };
        root.band = places.iter().map(|&p| root.aside(p)).fold(root.band, |b, v| (b.0.min(v), b.1.max(v)));
        Some(root)
    }

    fn aside(&self, (x, y): (f64, f64)) -> f64 {
        -(x - self.middle.0) * self.turn.sin() + (y - self.middle.1) * self.turn.cos()
    }

    /// Whether a place near it lies in line with it.
    fn takes(&self, place: (f64, f64), near: f64) -> bool {
        let v = self.aside(place);
        (place.0 - self.middle.0).hypot(place.1 - self.middle.1) < near
            && v >= self.band.0 - BESIDE
            && v <= self.band.1 + BESIDE
    }
}

/// Cells of the region farther than `depth` cells from its outside.
pub(super) fn deeper(mask: &[bool], across: usize, depth: f64) -> Vec<bool> {
    deep(mask, across).iter().map(|d| *d > depth).collect()
}

/// How deep every cell lies in the region, cells.
pub(super) fn deep(mask: &[bool], across: usize) -> Vec<f64> {
    distance_to(mask, across, false)
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

/// A line between two cuts that is shorter than this belongs to the strap, places a millimetre apart.
const BETWEEN_LEAST: usize = 12;
/// A cut shorter than this is no strap.
const CUT_LEAST: usize = 4;

/// The stations of a closed line at which a strap was cut off, without crumbs: what lies between two cuts close together
/// is of the strap, and a cut of a few places alone is none.
pub(super) fn whole(mut cut: Vec<bool>) -> Vec<bool> {
    for (of, least) in [(false, BETWEEN_LEAST), (true, CUT_LEAST)] {
        let n = cut.len();
        let Some(begin) = (0..n).find(|&i| cut[i] != of && cut[(i + 1) % n] == of) else { return cut };
        let mut k = 1;
        while k <= n {
            let run = (k..=n).take_while(|&j| cut[(begin + j) % n] == of).count();
            if (1..least).contains(&run) {
                for j in k..k + run {
                    cut[(begin + j) % n] = !of;
                }
            }
            k += run.max(1);
        }
    }
    cut
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
    fn crumbs_of_cuts_are_swept_up() {
        let cut = |runs: &[(usize, bool)]| -> Vec<bool> {
            runs.iter().flat_map(|&(count, value)| std::iter::repeat_n(value, count)).collect()
        };
        let told = cut(&[
            (5, true),
            (40, false),
            (2, true),
            (30, false),
            (20, true),
            (3, false),
            (1, true),
            (30, false),
        ]);
        let wanted = cut(&[(5, true), (72, false), (24, true), (30, false)]);
        assert_eq!(whole(told), wanted);
        assert_eq!(whole(vec![false; 9]), vec![false; 9]);
    }

    #[test]
    #[expect(clippy::cast_precision_loss, reason = "a small grid")]
    fn a_neck_loop_is_an_arm_on_two_roots() {
        let n = 160;
        let body = |x: usize, y: usize| (20..130).contains(&x) && (90..150).contains(&y);
        let round = |x: usize, y: usize, r: f64| (x as f64 - 75.0).hypot(y as f64 - 70.0) < r;
        let neck = |x: usize, y: usize| y < 70 && round(x, y, 40.0) && !round(x, y, 32.0);
        let sides =
            |x: usize, y: usize| (70..90).contains(&y) && ((36..43).contains(&x) || (107..115).contains(&x));
        let mask: Vec<bool> =
            (0..n * n).map(|k| body(k % n, k / n) || neck(k % n, k / n) || sides(k % n, k / n)).collect();
        let found = arms(&mask, n, 14.0);
        let at = |x: usize, y: usize| found[y * n + x];
        assert!(at(75, 34) && at(40, 80) && at(110, 80), "the loop is found");
        assert!(!at(20, 90) && !at(129, 90) && !at(75, 95), "the body and its corners stay");
        assert!(!at(25, 91) && !at(124, 91), "the corners beside the roots stay");
    }

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
