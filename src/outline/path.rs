//! Closed polylines walked at even steps, and the best way along a closed row of costs.

use crate::geometry::{Point, Vec2};

/// A station on a closed line: place and outward normal.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Station {
    pub at: Point,
    pub normal: Vec2,
    /// Index of the line's vertex just before it.
    pub after: usize,
    /// True when a corner lies between the station before and this one.
    pub behind_corner: bool,
}

/// Stations every `step_mm` or a little less along a closed line that runs clockwise as seen, with normals
/// from the chord over `reach_mm` to either side, or up to the next of the `corners` (indices of the line).
#[expect(clippy::cast_precision_loss, reason = "a few thousand points")]
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few thousand points")]
pub(super) fn stations(line: &[Point], step_mm: f64, reach_mm: f64, corners: &[usize]) -> Vec<Station> {
    let n = line.len();
    let total: f64 = (0..n).map(|i| line[i].distance(line[(i + 1) % n])).sum();
    let count = (total / step_mm).ceil().max(8.0) as usize;
    let step = total / count as f64;
    let mut out: Vec<Station> = Vec::with_capacity(count);
    let (mut i, mut before) = (0, 0.0);
    for k in 0..count {
        let wanted = k as f64 * step;
        while i + 1 < n && before + line[i].distance(line[(i + 1) % n]) <= wanted {
            before += line[i].distance(line[(i + 1) % n]);
            i += 1;
        }
        let (a, b) = (line[i], line[(i + 1) % n]);
        let length = a.distance(b);
        let t = if length > 0.0 { ((wanted - before) / length).clamp(0.0, 1.0) } else { 0.0 };
        out.push(Station { at: a.lerp(b, t), normal: Vec2::ZERO, after: i, behind_corner: false });
    }
    // A station at or after a corner is behind it, the one before is not.
    for k in 0..count {
        let (from, to) = (out[(k + count - 1) % count].after, out[k].after);
        let passed = |c: usize| if from <= to { from < c && c <= to } else { c > from || c <= to };
        out[k].behind_corner = corners.iter().any(|&c| passed(c));
    }
    let reach = ((reach_mm / step).round() as usize).max(1);
    for k in 0..count {
        let (mut a, mut b) = (k, k);
        for _ in 0..reach {
            let next = (b + 1) % count;
            if !out[next].behind_corner {
                b = next;
            }
            if !out[a].behind_corner {
                a = (a + count - 1) % count;
            }
        }
        let mut chord = out[b].at - out[a].at;
        if chord.hypot() < 1e-9 {
            chord = out[(k + 1) % count].at - out[(k + count - 1) % count].at;
        }
        // Clockwise with y down: the outside is on the left hand.
        out[k].normal = Vec2::new(chord.y, -chord.x) / chord.hypot().max(1e-9);
    }
    out
}

/// The closed line smoothed by a Gaussian of this many vertices.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few vertices")]
#[expect(clippy::cast_precision_loss, reason = "a few vertices")]
pub(super) fn smoothed(line: &[Point], sigma: f64) -> Vec<Point> {
    let n = line.len();
    let reach = (3.0 * sigma).ceil() as usize;
    let weights: Vec<f64> =
        (0..=2 * reach).map(|k| (-0.5 * ((k as f64 - reach as f64) / sigma).powi(2)).exp()).collect();
    let total: f64 = weights.iter().sum();
    (0..n)
        .map(|i| {
            let sum = weights
                .iter()
                .enumerate()
                .fold(Vec2::ZERO, |s, (k, w)| s + line[(i + k + n * reach - reach) % n].to_vec2() * *w);
            (sum / total).to_point()
        })
        .collect()
}

/// The cheapest closed way through rows of costs, one column a row, where the column may change by at most
/// `most` from row to row at a cost of `bend` x change² (A. A. Amini, T. E. Weymouth and R. C. Jain, "Using
/// dynamic programming for solving variational problems in vision", PAMI 1990, doi:10.1109/34.57681).
/// The ring is closed by walking once and a bit round and keeping the middle.
/// Rows marked `free` may start anywhere: a corner lies before them.
pub(super) fn cheapest(costs: &[&[f32]], free: &[bool], most: usize, bend: f32) -> Vec<usize> {
    let n = costs.len();
    let width = costs.first().map_or(0, |c| c.len());
    if n == 0 || width == 0 {
        return Vec::new();
    }
    let lap = (n / 3).clamp(1, 200).min(n);
    let rows = n + 2 * lap;
    let row = |k: usize| costs[(k + n * 2 - lap) % n];
    let mut total = row(0).to_vec();
    let mut from: Vec<u16> = Vec::with_capacity(rows * width);
    from.extend((0..width).map(|_| 0u16));
    #[expect(clippy::cast_precision_loss, reason = "a few columns")]
    let steps: Vec<f32> = (0..=most).map(|d| bend * (d * d) as f32).collect();
    for k in 1..rows {
        let here = row(k);
        let mut next = vec![f32::INFINITY; width];
        if free[(k + n * 2 - lap) % n] {
            let p = (0..width).min_by(|&a, &b| total[a].total_cmp(&total[b])).unwrap_or(0);
            for c in 0..width {
                next[c] = total[p] + here[c];
                from.push(u16::try_from(p).unwrap_or(u16::MAX));
            }
            total = next;
            continue;
        }
        for c in 0..width {
            let (mut best, mut best_from) = (f32::INFINITY, c);
            for p in c.saturating_sub(most)..(c + most + 1).min(width) {
                let cost = total[p] + steps[p.abs_diff(c)];
                if cost < best {
                    best = cost;
                    best_from = p;
                }
            }
            next[c] = best + here[c];
            from.push(u16::try_from(best_from).unwrap_or(u16::MAX));
        }
        total = next;
    }
    let mut c = (0..width).min_by(|&a, &b| total[a].total_cmp(&total[b])).unwrap_or(0);
    let mut way = vec![0usize; rows];
    for k in (0..rows).rev() {
        way[k] = c;
        c = usize::from(from[k * width + c]);
    }
    way[lap..lap + n].to_vec()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stations_on_a_circle_have_radial_normals() {
        let line: Vec<Point> =
            (0..360).map(|k| (Vec2::from_angle(f64::from(k).to_radians()) * 100.0).to_point()).collect();
        let s = stations(&line, 2.0, 4.0, &[]);
        assert!(s.len() >= 314);
        for s in s {
            assert!(s.normal.dot(s.at.to_vec2().normalize()) > 0.999, "outwards");
        }
    }

    #[test]
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "5 to 15")]
    fn the_cheapest_way_follows_the_valley_round() {
        let valley =
            |k: usize| (10.0 + 5.0 * (k as f64 / 100.0 * std::f64::consts::TAU).sin()).round() as usize;
        let costs: Vec<Vec<f32>> =
            (0..100).map(|k| (0..21).map(|c: usize| c.abs_diff(valley(k)) as f32).collect()).collect();
        let rows: Vec<&[f32]> = costs.iter().map(Vec::as_slice).collect();
        let way = cheapest(&rows, &[false; 100], 2, 0.01);
        assert_eq!(way.len(), 100);
        assert!((0..100).all(|k| way[k].abs_diff(valley(k)) <= 1));
    }
}
