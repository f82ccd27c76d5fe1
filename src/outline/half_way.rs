//! Where a step between two colours is half done.

use super::colour::Colour;
use crate::photo::linear_from_srgb;
use nalgebra::{Vector2, Vector3};
use std::ops::Range;

/// Where along a row of colours a step that is felt at `k` is half done, in places: half of the light, not of the
/// bytes. `off` are the colours' distances from the cloth's; the step is over within `step` places.
#[expect(clippy::cast_precision_loss, reason = "a few hundred places")]
pub(super) fn half_way(seen: &[Colour], off: &[f32], k: usize, step: usize) -> Option<f64> {
    // What follows begins where the distance first stands still.
    let still = |i: usize| off[i + 1..(i + 4).min(off.len())].iter().all(|o| *o <= off[i]);
    if k + 4 > off.len() {
        return None;
    }
    let after = (k..(k + step).min(off.len() - 3)).find(|&i| still(i)).unwrap_or(k);
    let (cloth, other) = (light(seen, k.checked_sub(step + 2)?..k - step / 2), light(seen, after..after + 3));
    let way = other - cloth;
    let part = |i: usize| (linear(seen[i]) - cloth).dot(&way) / way.norm_squared();
    let i = (k - step / 2..=after).rev().find(|&i| part(i) < 0.5)?;
    let (a, b) = (part(i), part(i + 1));
    Some(i as f64 + if b > a { ((0.5 - a) / (b - a)).clamp(0.0, 1.0) } else { 0.0 })
}

/// What is darker than this part of the cloth is a hole's ground in the shade, of one light; lighter, a ring whose light changes.
const SHADED: f64 = 0.6;
/// Least light of another hue than the cloth's that a step is told by, as a part of white's.
const OTHER_LEAST: f64 = 0.06;
/// Least difference of two hues that a step is told by, chroma over luma.
const HUE_LEAST: f64 = 0.1;
/// What follows a step is looked at beyond it, from and to, as parts of the step's length: shade and blur are over there.
const BEYOND: (f64, f64) = (0.5, 1.2);
/// Darker than this a grey level has no hue.
const DARK: f64 = 16.0;
/// How often the lightness on both sides of the step is read anew.
const ROUNDS: usize = 3;

/// Where along a row of colours a step to another hue that is felt at `k` is half done, in places; `None` where what follows has the
/// cloth's hue, or next to no light. What stands on the cloth darkens the cloth beside it, and half of the light then
/// lies in that dark seam, not at the edge: each place is the cloth's colour in some shade, and a part of what follows.
pub(super) fn half_hue(seen: &[Colour], k: usize, step: usize) -> Option<f64> {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few places")]
    let beyond = |part: f64| k + (part * step as f64) as usize;
    let (cloth, other) = (k.checked_sub(step + 2)?..k - step / 2, beyond(BEYOND.0)..beyond(BEYOND.1));
    if other.end >= seen.len() {
        return None;
    }
    let luma =
        |range: &Range<usize>| range.clone().map(|i| f64::from(seen[i][0])).sum::<f64>() / range.len() as f64;
    if luma(&other) < SHADED * luma(&cloth) {
        half_of_one_light(seen, cloth, other)
    } else {
        half_of_a_hue(seen, cloth, other, step)
    }
}

/// Half done where half of what follows is reached, taken to be of one light.
fn half_of_one_light(seen: &[Colour], cloth: Range<usize>, other: Range<usize>) -> Option<f64> {
    let looked = cloth.end..other.end;
    let (cloth, other) = (light(seen, cloth), light(seen, other));
    // What of it no shade of the cloth can show.
    let own = other - cloth * (other.dot(&cloth) / cloth.norm_squared().max(1e-9));
    if own.norm() < OTHER_LEAST {
        return None;
    }
    crossing(looked, |i| linear(seen[i]).dot(&own) / own.norm_squared(), 0.5).map(|c| c.1)
}

/// Half done by hue, chroma over luma, which neither shade nor a ring's gloss changes. Of a place that lies half on either side
/// the lighter one gives the more light, so the hue there is the nearer to its.
fn half_of_a_hue(seen: &[Colour], cloth: Range<usize>, other: Range<usize>, step: usize) -> Option<f64> {
    let luma = |i: usize| f64::from(seen[i][0]).max(DARK);
    let hue = |i: usize| Vector2::new(seen[i][1] - 128.0, seen[i][2] - 128.0).map(f64::from) / luma(i);
    let mean = |range: Range<usize>| {
        let n = range.len() as f64;
        range.map(hue).sum::<Vector2<f64>>() / n
    };
    let looked = cloth.end..other.end;
    let cloth = mean(cloth);
    let way = mean(other) - cloth;
    if way.norm() < HUE_LEAST {
        return None;
    }
    let part = |i: usize| (hue(i) - cloth).dot(&way) / way.norm_squared();
    // So far to either side the blur is over.
    let beside = step / 3;
    let (mut at, mut half) = (None, 0.5);
    for _ in 0..ROUNDS {
        let (i, place) = crossing(looked.clone(), part, half)?;
        at = Some(place);
        let (outer, inner) = (luma(i.checked_sub(beside)?), luma((i + 1 + beside).min(seen.len() - 1)));
        half = inner / (inner + outer);
    }
    at
}

/// Where what is told for places first rises to a level: the place before it, and the place itself.
fn crossing(looked: Range<usize>, told: impl Fn(usize) -> f64, level: f64) -> Option<(usize, f64)> {
    let i = looked.into_iter().find(|&i| told(i) < level && told(i + 1) >= level)?;
    let (a, b) = (told(i), told(i + 1));
    Some((i, i as f64 + (level - a) / (b - a)))
}

/// Mean light of some places.
#[expect(clippy::cast_precision_loss, reason = "a few places")]
fn light(seen: &[Colour], range: Range<usize>) -> Vector3<f64> {
    let n = range.len() as f64;
    range.map(|i| linear(seen[i])).sum::<Vector3<f64>>() / n
}

/// Linear red, green and blue of a colour (JFIF: ITU-R BT.601 weights, full range).
fn linear(c: Colour) -> Vector3<f64> {
    let [y, cb, cr] = c.map(f64::from);
    let (cb, cr) = (cb - 128.0, cr - 128.0);
    Vector3::new(y + 1.402 * cr, y - 0.344_136 * cb - 0.714_136 * cr, y + 1.772 * cb)
        .map(|v| linear_from_srgb(v.clamp(0.0, 255.0)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::photo::srgb_from_linear;

    /// Places of a row, and the one before which the edge lies.
    const COUNT: i32 = 80;
    const EDGE: i32 = 40;
    /// Places over which a step is over.
    const STEP: usize = 12;
    /// Blur of the row, standard deviation in places.
    const BLUR: f64 = 3.0;
    /// Linear light of leather.
    const LEATHER: [f64; 3] = [0.36, 0.17, 0.055];

    /// A row of colours: leather, darker by up to a third towards the edge if `seam`, then `other` of a place's distance from the edge.
    fn row(seam: bool, other: impl Fn(f64) -> f64) -> Vec<Colour> {
        let lit = |i: i32| {
            let beyond = f64::from(i - EDGE);
            let shade = if seam { 1.0 - 0.35 * (beyond / 6.0).exp() } else { 1.0 };
            if i < EDGE { LEATHER.map(|l| l * shade) } else { [other(beyond); 3] }
        };
        (0..COUNT)
            .map(|i| {
                let weights = (-12..=12).map(|d| (d, (-0.5 * (f64::from(d) / BLUR).powi(2)).exp()));
                let (mut sum, mut all) = ([0.0; 3], 0.0);
                for (d, w) in weights {
                    let light = lit(i + d);
                    (0..3).for_each(|c| sum[c] += w * light[c]);
                    all += w;
                }
                let [r, g, b] = sum.map(|s| srgb_from_linear(s / all));
                let luma = 0.299 * r + 0.587 * g + 0.114 * b;
                #[expect(clippy::cast_possible_truncation, reason = "single precision is enough")]
                let colour = [luma, 128.0 + (b - luma) / 1.772, 128.0 + (r - luma) / 1.402].map(|v| v as f32);
                colour
            })
            .collect()
    }

    /// Where the edge is by hue, and by half of the light.
    fn found(row: &[Colour]) -> (Option<f64>, Option<f64>) {
        let off: Vec<f32> = row.iter().map(|c| super::super::colour::distance2(*c, row[0]).sqrt()).collect();
        let most = off[..60].iter().copied().fold(0.0, f32::max);
        let k = off.iter().position(|o| *o >= 0.5 * most).expect("a step");
        (half_hue(row, k, STEP), half_way(row, &off, k, STEP))
    }

    #[test]
    fn a_dark_seam_beside_a_ring_is_cloth() {
        let edge = f64::from(EDGE) - 0.5;
        let (by_hue, by_light) = found(&row(true, |_| 0.24));
        assert!((by_hue.expect("a hue") - edge).abs() < 1.0);
        assert!(by_light.is_some_and(|at| at < edge - 2.0), "half of the light lies in the seam");
        let (glossy, _) = found(&row(true, |beyond| 0.24 + 0.05 * beyond.min(12.0)));
        assert!((glossy.expect("a hue") - edge).abs() < 1.0);
    }

    #[test]
    fn a_hole_over_shaded_paper_ends_where_half_of_the_paper_is_reached() {
        let (by_hue, _) = found(&row(false, |_| 0.07));
        assert!((by_hue.expect("a hue") - f64::from(EDGE) + 0.5).abs() < 1.0);
    }

    #[test]
    fn black_has_no_hue() {
        assert_eq!(found(&row(false, |_| 0.01)).0, None);
    }
}
