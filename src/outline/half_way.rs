//! Where a step between two colours is half done.

use super::colour::Colour;
use crate::photo::linear_from_srgb;
use nalgebra::Vector3;

/// Where along a row of colours a step that is felt at `k` is half done, in places: half of the light, not of the
/// bytes. `off` are the colours' distances from the cloth's; the step is over within `step` places.
#[expect(clippy::cast_precision_loss, reason = "a few hundred places")]
pub(super) fn half_way(seen: &[Colour], off: &[f32], k: usize, step: usize) -> Option<f64> {
    let light = |range: std::ops::Range<usize>| {
        let n = range.len() as f64;
        range.map(|i| linear(seen[i])).fold(Vector3::zeros(), |s, c| s + c) / n
    };
    // What follows begins where the distance first stands still.
    let still = |i: usize| off[i + 1..(i + 4).min(off.len())].iter().all(|o| *o <= off[i]);
    if k + 4 > off.len() {
        return None;
    }
    let after = (k..(k + step).min(off.len() - 3)).find(|&i| still(i)).unwrap_or(k);
    let (cloth, other) = (light(k.checked_sub(step + 2)?..k - step / 2), light(after..after + 3));
    let way = other - cloth;
    let part = |i: usize| (linear(seen[i]) - cloth).dot(&way) / way.norm_squared();
    let i = (k - step / 2..=after).rev().find(|&i| part(i) < 0.5)?;
    let (a, b) = (part(i), part(i + 1));
    Some(i as f64 + if b > a { ((0.5 - a) / (b - a)).clamp(0.0, 1.0) } else { 0.0 })
}

/// Linear red, green and blue of a colour (JFIF: ITU-R BT.601 weights, full range).
fn linear(c: Colour) -> Vector3<f64> {
    let [y, cb, cr] = c.map(f64::from);
    let (cb, cr) = (cb - 128.0, cr - 128.0);
    Vector3::new(y + 1.402 * cr, y - 0.344_136 * cb - 0.714_136 * cr, y + 1.772 * cb)
        .map(|v| linear_from_srgb(v.clamp(0.0, 255.0)))
}
