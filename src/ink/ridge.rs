//! Dark ridges of the contrast and their skeleton.
//!
//! A line is where the second derivative across it is large: the greater eigenvalue of the Hessian of the picture
//! smoothed by a Gaussian (C. Steger, "An unbiased detector of curvilinear structures", IEEE Trans. PAMI 20(2), 1998,
//! doi:10.1109/34.659930), followed by two thresholds (J. Canny, "A computational approach to edge detection", IEEE
//! Trans. PAMI 8(6), 1986, doi:10.1109/TPAMI.1986.4767851) and thinned (T. Y. Zhang and C. Y. Suen, "A fast parallel
//! algorithm for thinning digital patterns", Comm. ACM 27(3), 1984, doi:10.1145/357994.358023), which unlike
//! non-maximum suppression keeps junctions whole. Places found here are good to a lattice step; they are refined in
//! the photograph.

use super::face::Face;
use rayon::prelude::*;

/// Smoothing, millimetres, and the least in lattice steps. A pen's half line is 0.25 to 0.5 mm; raising it joins lines
/// that run side by side.
const SMOOTH_MM: f64 = 0.45;
const SMOOTH_STEPS: f64 = 1.1;
/// A line's strongest places stand out of the paper's own grain by this many of its deviations.
const SURE_SIGMAS: f64 = 9.0;
/// ... and the rest of it by this many.
const FAINT_SIGMAS: f64 = 5.0;
/// A line's strongest places are at least this part as dark as ink usually is on this paper, and the rest of it this:
/// creases and the rims of stains are fainter.
const SURE_PART: f32 = 0.38;
const FAINT_PART: f32 = 0.20;
/// Response below which nothing is ink however quiet the paper: a line 2 in 100 darker than the paper.
const LEAST_RESPONSE: f32 = 0.008;

/// The skeleton of the ink, lattice places; and how dark ink usually is (response).
pub(super) struct Skeleton {
    pub(super) on: Vec<bool>,
    pub(super) any: bool,
}

pub(super) fn skeleton(face: &Face) -> Skeleton {
    let sigma = (SMOOTH_MM / face.pitch_mm).max(SMOOTH_STEPS);
    let response = response(face, sigma);
    let mut sample: Vec<f32> =
        (0..response.len()).step_by(7).filter(|k| face.inside[*k]).map(|k| response[k]).collect();
    if sample.len() < 100 {
        return Skeleton { on: vec![false; response.len()], any: false };
    }
    sample.sort_by(f32::total_cmp);
    // The greater eigenvalue of noise has a positive mean: its quartiles tell level and spread.
    let (low, middle) = (sample[sample.len() / 4], sample[sample.len() / 2]);
    #[expect(clippy::cast_possible_truncation, reason = "small factors")]
    let at = |sigmas: f64| middle + (sigmas / 0.674) as f32 * (middle - low);
    let sure = at(SURE_SIGMAS).max(LEAST_RESPONSE);
    let mut ink: Vec<f32> = response
        .iter()
        .zip(&face.inside)
        .filter(|(r, inside)| **inside && **r > sure)
        .map(|(r, _)| *r)
        .collect();
    if ink.is_empty() {
        return Skeleton { on: vec![false; response.len()], any: false };
    }
    let rank = ink.len() * 3 / 4;
    let usual = *ink.select_nth_unstable_by(rank, f32::total_cmp).1;
    let sure = sure.max(SURE_PART * usual);
    let faint = at(FAINT_SIGMAS).max(LEAST_RESPONSE * 0.6).max(FAINT_PART * usual);
    let mut on = hysteresis(face, &response, faint, sure);
    thin(&mut on, face.width, face.height);
    Skeleton { on, any: true }
}

/// sigma² times the greater eigenvalue of the Hessian.
fn response(face: &Face, sigma: f64) -> Vec<f32> {
    let (width, height) = (face.width, face.height);
    let smooth = smoothed(&face.contrast, width, height, sigma);
    let mut out = vec![0.0_f32; width * height];
    #[expect(clippy::cast_possible_truncation, reason = "a small number")]
    let scale = (sigma * sigma) as f32;
    out.par_chunks_mut(width).enumerate().for_each(|(y, row)| {
        if y == 0 || y + 1 == height {
            return;
        }
        for x in 1..width - 1 {
            let k = y * width + x;
            let v = |dx: isize, dy: isize| smooth[k.wrapping_add_signed(dy * width as isize + dx)];
            let xx = v(1, 0) - 2.0 * v(0, 0) + v(-1, 0);
            let yy = v(0, 1) - 2.0 * v(0, 0) + v(0, -1);
            let xy = (v(1, 1) - v(1, -1) - v(-1, 1) + v(-1, -1)) / 4.0;
            let half = (xx + yy) / 2.0;
            row[x] = scale * (half + ((xx - yy) / 2.0).hypot(xy));
        }
    });
    out
}

fn smoothed(v: &[f32], width: usize, height: usize, sigma: f64) -> Vec<f32> {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few steps")]
    let reach = (3.5 * sigma).ceil() as usize;
    #[expect(clippy::cast_possible_truncation, reason = "weights")]
    let weights: Vec<f32> = (0..=reach).map(|k| (-0.5 * (k as f64 / sigma).powi(2)).exp() as f32).collect();
    let sum = weights[0] + 2.0 * weights[1..].iter().sum::<f32>();
    let mut across = vec![0.0_f32; v.len()];
    across.par_chunks_mut(width).enumerate().for_each(|(y, row)| {
        let line = &v[y * width..][..width];
        for (x, out) in row.iter_mut().enumerate() {
            let mut s = weights[0] * line[x];
            for (k, w) in weights.iter().enumerate().skip(1) {
                s += w * (line[x.saturating_sub(k)] + line[(x + k).min(width - 1)]);
            }
            *out = s / sum;
        }
    });
    let mut out = vec![0.0_f32; v.len()];
    out.par_chunks_mut(width).enumerate().for_each(|(y, row)| {
        for (k, w) in weights.iter().enumerate() {
            let (up, down) = (y.saturating_sub(k) * width, (y + k).min(height - 1) * width);
            let w = if k == 0 { w / 2.0 } else { *w } / sum;
            for (x, out) in row.iter_mut().enumerate() {
                *out += w * (across[up + x] + across[down + x]);
            }
        }
    });
    out
}

/// Places above `faint` that hang together with one above `sure`.
fn hysteresis(face: &Face, response: &[f32], faint: f32, sure: f32) -> Vec<bool> {
    let width = face.width;
    let mut on = vec![false; response.len()];
    let mut stack: Vec<usize> =
        (0..response.len()).filter(|k| face.inside[*k] && response[*k] > sure).collect();
    while let Some(k) = stack.pop() {
        if on[k] {
            continue;
        }
        on[k] = true;
        for step in around(width) {
            let j = k.wrapping_add_signed(step);
            if j < on.len() && !on[j] && face.inside[j] && response[j] > faint {
                stack.push(j);
            }
        }
    }
    on
}

/// Steps to the eight neighbours, clockwise from the one above.
pub(super) fn around(width: usize) -> [isize; 8] {
    let w = width.cast_signed();
    [-w, -w + 1, 1, w + 1, w, w - 1, -1, -w - 1]
}

/// Zhang and Suen's thinning, to lines one place wide.
fn thin(on: &mut [bool], width: usize, height: usize) {
    let steps = around(width);
    let inner = |k: usize| {
        let (x, y) = (k % width, k / width);
        x > 0 && y > 0 && x + 1 < width && y + 1 < height
    };
    for k in 0..on.len() {
        if on[k] && !inner(k) {
            on[k] = false;
        }
    }
    let mut live: Vec<usize> = (0..on.len()).filter(|k| on[*k]).collect();
    loop {
        let mut changed = false;
        for half in 0..2 {
            let gone: Vec<usize> = live
                .par_iter()
                .copied()
                .filter(|&k| {
                    let n = steps.map(|s| on[k.wrapping_add_signed(s)]);
                    let count = n.iter().filter(|v| **v).count();
                    let turns = (0..8).filter(|&i| !n[i] && n[(i + 1) % 8]).count();
                    let (up, right, down, left) = (n[0], n[2], n[4], n[6]);
                    let sides = if half == 0 {
                        !(right && down && (up || left))
                    } else {
                        !(up && left && (right || down))
                    };
                    (2..=6).contains(&count) && turns == 1 && sides
                })
                .collect();
            changed |= !gone.is_empty();
            for k in gone {
                on[k] = false;
            }
            live.retain(|k| on[*k]);
        }
        if !changed {
            break;
        }
    }
    // Zhang and Suen's rule leaves slanting lines two places wide here and there. A place is one too many when its neighbours
    // hang together without it.
    for k in live {
        let n = steps.map(|s| on[k.wrapping_add_signed(s)]);
        let count = n.iter().filter(|v| **v).count();
        // Parts of the neighbours, by sides and corners (S. Yokoi, J. Toriwaki, T. Fukumura, "An analysis of topological
        // properties of digitized binary pictures", Computer Graphics and Image Processing 4, 1975,
        // doi:10.1016/0146-664X(75)90022-X).
        let parts = [0, 2, 4, 6].iter().filter(|&&i| !n[i] && (n[i + 1] || n[(i + 2) % 8])).count();
        if count >= 2 && parts == 1 {
            on[k] = false;
        }
    }
}
