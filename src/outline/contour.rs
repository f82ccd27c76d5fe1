//! Boundaries of regions on a grid.

use super::region::label;
use super::strap::deep;

/// The region with its holes filled.
pub(super) fn filled(mask: &[bool], across: usize) -> Vec<bool> {
    filled_to(mask, across, f64::INFINITY)
}

/// The region with those of its holes filled that are narrower than `width` cells: a wider one may be what a neck loop
/// goes round.
pub(super) fn filled_to(mask: &[bool], across: usize, width: f64) -> Vec<bool> {
    let outside: Vec<bool> = mask.iter().map(|m| !m).collect();
    let labels = label(&outside, across);
    let down = mask.len() / across;
    let mut open = vec![false; labels.iter().copied().max().unwrap_or(0) as usize + 1];
    for k in 0..mask.len() {
        let (x, y) = (k % across, k / across);
        if x == 0 || y == 0 || x + 1 == across || y + 1 == down {
            open[labels[k] as usize] = true;
        }
    }
    if width.is_finite() {
        let depth = deep(&outside, across);
        for (l, d) in labels.iter().zip(&depth) {
            open[*l as usize] |= 2.0 * d > width;
        }
    }
    open[0] = false;
    labels.iter().map(|&l| !open[l as usize]).collect()
}

/// The longest closed line where the field crosses 0.5, clockwise as seen round what is above, in grid
/// coordinates (marching squares, linear between cells).
#[expect(clippy::cast_precision_loss, reason = "a few hundred cells")]
pub(super) fn longest(field: &[f32], across: usize, down: usize) -> Vec<(f64, f64)> {
    let value = |x: usize, y: usize| {
        if x == 0 || y == 0 || x + 1 == across || y + 1 == down {
            0.0
        } else {
            f64::from(field[y * across + x])
        }
    };
    let above = |x: usize, y: usize| value(x, y) > 0.5;
    // Crossing on the side from a cell to its right (0) or lower (1) neighbour.
    let crossing = |x: usize, y: usize, side: usize| {
        let (a, b) = (value(x, y), if side == 0 { value(x + 1, y) } else { value(x, y + 1) });
        let t = (0.5 - a) / (b - a);
        if side == 0 { (x as f64 + t, y as f64) } else { (x as f64, y as f64 + t) }
    };
    let mut visited = vec![false; across * down];
    let mut best: Vec<(f64, f64)> = Vec::new();
    for y in 1..down - 1 {
        for x in 1..across - 1 {
            // Begin on a side whose left cell is below and whose right cell is above; go up.
            if above(x, y) || !above(x + 1, y) || visited[y * across + x] {
                continue;
            }
            let mut line = Vec::new();
            // Cell (i, j) of the dual grid is the square with corners (i, j) .. (i + 1, j + 1);
            // `from` is the side of it we come in by: 0 top, 1 right, 2 bottom, 3 left.
            let (mut i, mut j, mut from) = (x, y - 1, 2);
            loop {
                let (sx, sy, side) = match from {
                    0 => (i, j, 0),
                    1 => (i + 1, j, 1),
                    2 => (i, j + 1, 0),
                    _ => (i, j, 1),
                };
                if from == 2 {
                    visited[sy * across + sx] = true;
                }
                line.push(crossing(sx, sy, side));
                let corners = [above(i, j), above(i + 1, j), above(i + 1, j + 1), above(i, j + 1)];
                // Keep what is above on the right hand: turn towards the left first at a saddle.
                let to = (1..4)
                    .map(|k| (from + k) % 4)
                    .find(|&side| {
                        let (a, b) = (corners[side], corners[(side + 1) % 4]);
                        // Leaving by this side, the corner on the left is below and that on the right above.
                        !a && b
                    })
                    .unwrap_or((from + 2) % 4);
                match to {
                    0 => j -= 1,
                    1 => i += 1,
                    2 => j += 1,
                    _ => i -= 1,
                }
                from = (to + 2) % 4;
                if (i, j, from) == (x, y - 1, 2) || line.len() > 4 * across * down {
                    break;
                }
            }
            if line.len() > best.len() {
                best = line;
            }
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    #[expect(clippy::cast_possible_truncation, reason = "0 to 1")]
    fn the_line_round_a_disc_is_its_circle_clockwise() {
        let (n, r) = (60usize, 20.3);
        let field: Vec<f32> = (0..n * n)
            .map(|k| {
                let d = ((k % n) as f64 - 30.0).hypot((k / n) as f64 - 29.5) - r;
                (0.5 - d / 4.0).clamp(0.0, 1.0) as f32
            })
            .collect();
        let line = longest(&field, n, n);
        assert!(line.len() > 100);
        for (x, y) in &line {
            assert!(((x - 30.0).hypot(y - 29.5) - r).abs() < 0.05);
        }
        let area: f64 = (0..line.len())
            .map(|i| {
                let (a, b) = (line[i], line[(i + 1) % line.len()]);
                (a.0 * b.1 - b.0 * a.1) / 2.0
            })
            .sum();
        assert!((area - std::f64::consts::PI * r * r).abs() < 10.0, "positive: clockwise with y down");
    }

    #[test]
    fn holes_are_filled() {
        let n = 20;
        let ring: Vec<bool> = (0..n * n)
            .map(|k| {
                let d = ((k % n) as f64 - 10.0).hypot((k / n) as f64 - 10.0);
                d < 8.0 && d > 4.0
            })
            .collect();
        let disc = filled(&ring, n);
        assert!(disc[10 * n + 10] && !disc[0]);
    }
}
