//! Which stretches of a line may be in doubt.

use super::{DOUBT_MM, TURN_LEAST_DEG};
use crate::geometry::TracePoint;

/// Places in good order between doubtful ones that do not end the stretch.
const GAP: usize = 4;
/// Fewer doubtful places are left to the smooth line.
const FEWEST: usize = 6;
/// A longer stretch is no matter of one corner or rounding, millimetres.
const LONGEST_MM: f64 = 60.0;
/// What lies this near a corner was drawn from its arms and says nothing of its own, millimetres.
const CORNERS_OWN_MM: f64 = 4.0;

/// Stretches that may be in doubt, first place and number of places: about every place where the line turns as at a corner,
/// then where it was found with doubt.
pub(super) fn stretches(points: &[TracePoint], corners: &[usize]) -> Vec<(usize, usize)> {
    let n = points.len();
    let weak: Vec<bool> = points.iter().map(|p| p.sigma_mm > DOUBT_MM).collect();
    let near_corner =
        |i: usize| corners.iter().any(|&c| points[c].at.distance(points[i].at) < CORNERS_OWN_MM);
    // A corner's own places are as doubtful as what leads to it.
    let neutral: Vec<bool> = (0..n).map(|i| !weak[i] && near_corner(i)).collect();
    let mut long = runs(&joined(weak, &neutral));
    long.retain(|&(first, count)| {
        let length: f64 =
            (0..count).map(|j| points[(first + j) % n].at.distance(points[(first + j + 1) % n].at)).sum();
        count >= FEWEST && length <= LONGEST_MM
    });
    let chord = |i: usize, j: usize| points[(i + j) % n].at - points[(i + n + j - TURN_CHORD) % n].at;
    let turn = |i: usize| {
        let (u, v) = (chord(i, n - TURN_CLEAR), chord(i, TURN_CLEAR + TURN_CHORD));
        u.cross(v).atan2(u.dot(v)).abs().to_degrees()
    };
    let turns: Vec<f64> = (0..n).map(turn).collect();
    let sharpest = |i: usize| {
        (1..=TURN_WITHIN).all(|k| turns[i] >= turns[(i + k) % n] && turns[i] > turns[(i + n - k) % n])
    };
    let mut out: Vec<(usize, usize)> = (0..n)
        .filter(|&i| turns[i] > TURN_LEAST_DEG && sharpest(i))
        .map(|i| ((i + n - TURN_WITHIN) % n, 2 * TURN_WITHIN))
        .collect();
    out.extend(long);
    out
}

/// Places from a turn's middle to its ends.
pub(super) const TURN_WITHIN: usize = 14;
/// Places from a turn's middle to the chords that tell it, and the chords' length in places.
const TURN_CLEAR: usize = 10;
pub(super) const TURN_CHORD: usize = 8;

/// The marks with the gaps between them closed over a few places, and over those of a corner.
fn joined(mut marked: Vec<bool>, neutral: &[bool]) -> Vec<bool> {
    let n = marked.len();
    let Some(start) = (0..n).find(|&i| !marked[i] && !neutral[i]) else { return vec![false; n] };
    for i in 0..n {
        let at = |k: usize| (start + i + k) % n;
        if !marked[at(0)] {
            continue;
        }
        let (mut good, mut k) = (0, 1);
        while i + k < n && !marked[at(k)] && good <= GAP {
            good += usize::from(!neutral[at(k)]);
            k += 1;
        }
        if i + k < n && good <= GAP {
            for j in 1..k {
                marked[at(j)] = true;
            }
        }
    }
    marked
}

/// Runs of marks on a ring: first place and number of places.
fn runs(marked: &[bool]) -> Vec<(usize, usize)> {
    let n = marked.len();
    let Some(start) = marked.iter().position(|m| !m) else { return Vec::new() };
    let mut out = Vec::new();
    let mut i = 0;
    while i < n {
        let count = (i..n).take_while(|&j| marked[(start + j) % n]).count();
        if count > 0 {
            out.push(((start + i) % n, count));
        }
        i += count.max(1);
    }
    out
}
