//! What places over white paper and places over ink are read apart by.
//!
//! How an edge is lit and what shade it throws is known in general only, and what is wrong of it shifts places over paper otherwise
//! than places over ink: by a tenth of a millimetre or two, alike along all edges that face one way. The garment's edge knows
//! nothing of the squares it lies on; where a line steps as the print changes, the reading does. So both kinds of places are given
//! an offset for every way that an edge may face, as small as may be, with which they agree about a smooth line: random effects
//! beside a local line (C. R. Henderson, "Best linear unbiased estimation and prediction under a selection model", Biometrics 31,
//! 1975, doi:10.2307/2529430; W. S. Cleveland, "Robust locally weighted regression and smoothing scatterplots", J. Am. Stat.
//! Assoc. 74, 1979, doi:10.1080/01621459.1979.10481038).

use super::path::Station;
use crate::geometry::{Point, TracePoint, Vec2};
use nalgebra::{Matrix3, SMatrix, SVector, Vector3};
use rayon::prelude::*;

/// Ways an edge may face at which offsets are found; between two of them they are interpolated.
const WAYS: usize = 18;
/// Offsets: over ink for every way, then over paper.
const OFFSETS: usize = 2 * WAYS;
type Offsets = SVector<f64, OFFSETS>;
/// What of each offset a place has.
type Parts = [(usize, f64); 4];

/// Places on either side that tell where the line runs: squares of both kinds.
const ABOUT: usize = 40;
/// They end where the edge turns from the place's way by more than this, radians: a curve of the second degree no longer follows.
const TURN_MOST: f64 = 0.35;
/// Places of one square go together: so many tell as much as one alone.
const TOGETHER: f64 = 20.0;
/// An offset's standard deviation, in those of its places.
const OFFSET_SIGMAS: f64 = 1.5;
/// A standard deviation that no place falls under here, millimetres: what is surer does not say so of all.
const SIGMA_LEAST_MM: f64 = 0.08;
/// Standard deviations off the line at which a place counts half.
const HALF_AT: f64 = 2.0;
/// Rounds in which places off the line lose weight.
const ROUNDS: usize = 3;

/// Takes the offsets out of the places. `white` tells how white the sheet beside each looks, 0 to 1, where one lies.
pub(super) fn even(points: &mut [TracePoint], stations: &[Station], white: &[Option<f64>]) {
    let places: Vec<Place> =
        points.iter().zip(stations).zip(white).map(|((p, s), white)| Place::new(p, s, *white)).collect();
    let rows: Vec<Row> = (0..places.len()).into_par_iter().filter_map(|i| Row::new(i, &places)).collect();
    let doubt = doubt(&places);
    let mut offsets = Offsets::zeros();
    for _ in 0..ROUNDS {
        let mut normal = SMatrix::<f64, OFFSETS, OFFSETS>::from_diagonal(&doubt);
        let mut right = Offsets::zeros();
        for row in &rows {
            let off = row.off - row.parts.iter().map(|(k, part)| part * offsets[*k]).sum::<f64>();
            let far = off / (HALF_AT * row.sigma_mm);
            let weight = 1.0 / (TOGETHER * row.sigma_mm * row.sigma_mm * (1.0 + far * far));
            for &(k, part) in &row.parts {
                right[k] += weight * part * row.off;
                for &(l, other) in &row.parts {
                    normal[(k, l)] += weight * part * other;
                }
            }
        }
        let Some(factor) = normal.cholesky() else { return };
        offsets = factor.solve(&right);
    }
    for ((point, station), place) in points.iter_mut().zip(stations).zip(&places) {
        point.at -= station.normal * place.parts.iter().map(|(k, part)| part * offsets[*k]).sum::<f64>();
    }
}

struct Place {
    at: Point,
    normal: Vec2,
    sigma_mm: f64,
    /// Whether it tells anything.
    seen: bool,
    parts: Parts,
}

impl Place {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few ways")]
    #[expect(clippy::cast_precision_loss, reason = "a few ways")]
    fn new(point: &TracePoint, station: &Station, white: Option<f64>) -> Self {
        let turn = (station.normal.atan2() / std::f64::consts::TAU + 0.5) * WAYS as f64;
        let (way, on) = (turn as usize % WAYS, turn.fract());
        let next = (way + 1) % WAYS;
        let [ink, paper] = white.map_or([0.0; 2], |w| [1.0 - w, w]);
        Self {
            at: point.at,
            normal: station.normal,
            sigma_mm: point.sigma_mm.max(SIGMA_LEAST_MM),
            seen: !point.bridged && white.is_some(),
            parts: [
                (way, ink * (1.0 - on)),
                (next, ink * on),
                (WAYS + way, paper * (1.0 - on)),
                (WAYS + next, paper * on),
            ],
        }
    }
}

/// 1 / variance of each offset before anything is known.
fn doubt(places: &[Place]) -> Offsets {
    let (mut sum, mut count) = (Offsets::zeros(), Offsets::zeros());
    for place in places.iter().filter(|p| p.seen) {
        for &(k, part) in &place.parts {
            sum[k] += part * place.sigma_mm;
            count[k] += part;
        }
    }
    sum.zip_map(&count, |sum, count| 1.0 / (OFFSET_SIGMAS * sum.max(1e-6) / count.max(1e-9)).powi(2))
}

/// How far a place lies off the line through those about it, and what of each offset that distance has.
struct Row {
    off: f64,
    sigma_mm: f64,
    parts: Vec<(usize, f64)>,
}

impl Row {
    /// Against the curve of the second degree through the places about it; `None` where the edge is too short for both kinds.
    #[expect(clippy::cast_precision_loss, reason = "a few places")]
    fn new(i: usize, places: &[Place]) -> Option<Self> {
        let (n, here) = (places.len(), &places[i]);
        if !here.seen {
            return None;
        }
        let straight = |j: usize| places[j % n].normal.dot(here.normal) > TURN_MOST.cos();
        let most = ABOUT.min(n / 2 - 1);
        let before = (1..=most).take_while(|k| straight(i + n - k)).count();
        let after = (1..=most).take_while(|k| straight(i + k)).count();
        if before + after < ABOUT {
            return None;
        }
        let about = || (0..=before + after).map(|k| &places[(i + n + k - before) % n]).filter(|p| p.seen);
        let row = |place: &Place| {
            let x = (place.at - here.at).dot(here.normal.turn_90()) / ABOUT as f64;
            Vector3::new(1.0, x, x * x) / (place.sigma_mm * place.sigma_mm)
        };
        let mut normal = Matrix3::identity() * 1e-9;
        for place in about() {
            let row = row(place);
            normal += place.sigma_mm * place.sigma_mm * row * row.transpose();
        }
        // What each place counts for the curve where it passes this one.
        let at_here = normal.cholesky()?.solve(&Vector3::x());
        let mut off = 0.0;
        let mut parts = [0.0; OFFSETS];
        here.parts.iter().for_each(|(k, part)| parts[*k] += part);
        for place in about() {
            let counts = at_here.dot(&row(place));
            off -= counts * (place.at - here.at).dot(here.normal);
            place.parts.iter().for_each(|(k, part)| parts[*k] -= counts * part);
        }
        let parts = parts.into_iter().enumerate().filter(|p| p.1 != 0.0).collect();
        Some(Self { off, sigma_mm: here.sigma_mm, parts })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A square of 400 mm on squares of 20 mm, its places a millimetre apart; what a place is read off by, told by side and print.
    fn off_after(off: impl Fn(usize, bool) -> f64) -> Vec<(usize, bool, f64)> {
        let (mut points, mut stations, mut white, mut kinds) = (vec![], vec![], vec![], vec![]);
        for (side, turn) in [0.0, 0.25, 0.5, 0.75].into_iter().enumerate() {
            let normal = Vec2::from_angle(std::f64::consts::TAU * turn);
            for k in -199..200i32 {
                let at = Point::ORIGIN + 200.0 * normal + f64::from(k) * normal.turn_90();
                let paper = k.div_euclid(20) % 2 == 0;
                // What noise there is goes to and fro.
                let seen = off(side, paper) + 0.05 * f64::from(k.rem_euclid(7) - 3) / 3.0;
                points.push(TracePoint { at: at + seen * normal, sigma_mm: 0.1, bridged: false });
                stations.push(Station { at, normal, after: 0, behind_corner: k == -199 });
                white.push(Some(if paper { 1.0 } else { 0.0 }));
                kinds.push((side, paper));
            }
        }
        even(&mut points, &stations, &white);
        let off = points.iter().zip(&stations).map(|(p, s)| (p.at - s.at).dot(s.normal));
        kinds.into_iter().zip(off).map(|((side, paper), off)| (side, paper, off)).collect()
    }

    fn mean(off: &[(usize, bool, f64)], side: usize, paper: bool) -> f64 {
        let of_kind: Vec<f64> = off.iter().filter(|o| o.0 == side && o.1 == paper).map(|o| o.2).collect();
        #[expect(clippy::cast_precision_loss, reason = "a few hundred")]
        let count = of_kind.len() as f64;
        of_kind.iter().sum::<f64>() / count
    }

    #[test]
    fn places_over_paper_and_ink_agree_about_the_line() {
        // Only what faces one way is read apart there, by a fifth of a millimetre.
        let off = off_after(|side, paper| if side == 1 && !paper { 0.2 } else { 0.0 });
        for side in 0..4 {
            let [ink, paper] = [false, true].map(|paper| mean(&off, side, paper));
            assert!((ink - paper).abs() < 0.04, "side {side}: {ink:.3} over ink, {paper:.3} over paper");
            // Equally sure, they meet half way.
            let wanted = if side == 1 { 0.1 } else { 0.0 };
            assert!((0.5 * (ink + paper) - wanted).abs() < 0.03, "side {side}: {ink:.3}, {paper:.3}");
        }
    }

    #[test]
    fn what_both_kinds_say_stays() {
        let off = off_after(|side, _| if side == 2 { 0.3 } else { 0.0 });
        for (side, wanted) in [(0, 0.0), (1, 0.0), (2, 0.3), (3, 0.0)] {
            for paper in [false, true] {
                let found = mean(&off, side, paper);
                assert!((found - wanted).abs() < 0.01, "side {side}: {found:.3}");
            }
        }
    }
}
