//! Checker corners found in a reduced grey picture.
//!
//! Method: the ring response of S. Bennett and J. Lasenby, "ChESS: Quick and robust detection of
//! chess-board features", Computer Vision and Image Understanding 118 (2014),
//! doi:10.1016/j.cviu.2013.10.008, on a ring of 16 samples of radius 3, small enough to stay clear of
//! the tag that stands 2 mm from each corner; then a check that both dark quadrants go on for longer
//! than a tag's module does.

use crate::photo::Grey;
use rayon::prelude::*;

/// A corner where two dark and two light squares meet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Corner {
    /// Place in the reduced picture, pixels.
    pub x: f64,
    /// Place in the reduced picture, pixels.
    pub y: f64,
    /// Direction of the light squares' diagonal, radians, 0 to π.
    pub light_axis: f64,
    /// Grey half way between the dark and the light squares.
    pub middle: f64,
}

/// The ring of radius 3 in order of angle, 22.5 degrees apart (Bresenham's circle).
const RING: [(isize, isize); 16] = [
    (3, 0),
    (3, 1),
    (2, 2),
    (1, 3),
    (0, 3),
    (-1, 3),
    (-2, 2),
    (-3, 1),
    (-3, 0),
    (-3, -1),
    (-2, -2),
    (-1, -3),
    (0, -3),
    (1, -3),
    (2, -2),
    (3, -1),
];

/// Pixels round a corner that the ring and the local maximum need.
const MARGIN: usize = 5;

/// Least response: about four ring samples' worth of 12 grey levels' difference. Raising it loses
/// corners in deep shadow, lowering it lets floor texture in.
const RESPONSE_LEAST: i16 = 140;

/// How far along a dark diagonal it must stay dark, in reduced pixels: longer than one tag module's
/// diagonal (2.8 mm) at the scales the detector works at, shorter than a square's (28 mm).
const DARK_RUN: [f64; 4] = [4.0, 6.0, 8.0, 10.0];

/// All checker corners of the picture.
pub(super) fn corners(grey: &Grey) -> Vec<Corner> {
    let (w, h) = (grey.width, grey.height);
    if w <= 2 * MARGIN || h <= 2 * MARGIN {
        return Vec::new();
    }
    let mut response = vec![0i16; w * h];
    response.par_chunks_mut(w).enumerate().for_each(|(y, row)| {
        if y >= MARGIN && y + MARGIN < h {
            respond(grey, y, row);
        }
    });
    let rows: Vec<Vec<Corner>> = (MARGIN..h - MARGIN)
        .into_par_iter()
        .map(|y| {
            let row = &response[y * w..][..w];
            (MARGIN..w - MARGIN)
                .filter(|&x| row[x] >= RESPONSE_LEAST && is_peak(&response, w, x, y))
                .filter_map(|x| describe(grey, &response, x, y))
                .collect()
        })
        .collect();
    rows.into_iter().flatten().collect()
}

/// One row of the ring response: opposite samples agree and differ from those a quarter turn on
/// (sum), less what an edge (difference) or a blob (mean against centre) would give.
fn respond(grey: &Grey, y: usize, out: &mut [i16]) {
    let w = grey.width;
    let row = |dy: isize| &grey.luma[y.strict_add_signed(dy) * w..][..w];
    let n = w - 2 * MARGIN;
    let ring: [&[u8]; 16] = std::array::from_fn(|k| {
        let (dx, dy) = RING[k];
        &row(dy)[MARGIN.strict_add_signed(dx)..][..n]
    });
    let centre: [&[u8]; 5] = [(0isize, 0isize), (1, 0), (-1, 0), (0, 1), (0, -1)]
        .map(|(dx, dy)| &row(dy)[MARGIN.strict_add_signed(dx)..][..n]);
    let out = &mut out[MARGIN..][..n];
    for i in 0..n {
        let v = |k: usize| i16::from(ring[k][i]);
        let (mut sum, mut difference, mut all) = (0i16, 0i16, 0i16);
        for k in 0..4 {
            let (a, b, c, d) = (v(k), v(k + 4), v(k + 8), v(k + 12));
            sum += ((a + c) - (b + d)).abs();
            difference += (a - c).abs() + (b - d).abs();
            all += a + b + c + d;
        }
        let middle = centre.iter().map(|r| i16::from(r[i])).sum::<i16>();
        // 16 x |mean of ring - mean of centre|, the centre's five samples brought to sixteen.
        let blob = (all - (middle * 3 + middle / 5)).abs();
        out[i] = sum - difference - blob;
    }
}

/// The largest within two pixels (ties go to the first in reading order).
fn is_peak(response: &[i16], w: usize, x: usize, y: usize) -> bool {
    let here = response[y * w + x];
    for j in y - 2..=y + 2 {
        for i in x - 2..=x + 2 {
            let there = response[j * w + i];
            if there > here || (there == here && (j, i) < (y, x)) {
                return false;
            }
        }
    }
    true
}

#[expect(clippy::cast_precision_loss, reason = "picture sizes are far below 2^52")]
fn describe(grey: &Grey, response: &[i16], x: usize, y: usize) -> Option<Corner> {
    let w = grey.width;
    let (mut a, mut b, mut mean) = (0.0, 0.0, 0.0);
    for (k, &(dx, dy)) in RING.iter().enumerate() {
        let v = f64::from(grey.luma[y.strict_add_signed(dy) * w + x.strict_add_signed(dx)]);
        let angle = k as f64 * std::f64::consts::FRAC_PI_8;
        a += v * (2.0 * angle).cos();
        b += v * (2.0 * angle).sin();
        mean += v / 16.0;
    }
    let light_axis = (0.5 * b.atan2(a)).rem_euclid(std::f64::consts::PI);
    let (sin, cos) = (light_axis + std::f64::consts::FRAC_PI_2).sin_cos();
    for side in [-1.0, 1.0] {
        for run in DARK_RUN {
            let v = grey.sample(x as f64 + side * run * cos, y as f64 + side * run * sin)?;
            if v > mean {
                return None;
            }
        }
    }
    let r = |i: usize, j: usize| f64::from(response[j * w + i]);
    let peak = |before: f64, here: f64, after: f64| {
        let bend = before - 2.0 * here + after;
        if bend < 0.0 { (0.5 * (before - after) / bend).clamp(-0.5, 0.5) } else { 0.0 }
    };
    Some(Corner {
        x: x as f64 + peak(r(x - 1, y), r(x, y), r(x + 1, y)),
        y: y as f64 + peak(r(x, y - 1), r(x, y), r(x, y + 1)),
        light_axis,
        middle: mean,
    })
}
