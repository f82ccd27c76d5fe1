//! From the bytes of a picture back to light.

use super::Photo;
use std::sync::LazyLock;

/// Linear light (0 to 1) of a grey byte, by the sRGB transfer curve (IEC 61966-2-1).
///
/// A blurred edge is a mixture of light, not of bytes: its half level lies half way between the two
/// sides only here.
#[must_use]
pub fn linear_from_srgb(byte: f64) -> f64 {
    let v = byte / 255.0;
    if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
}

/// sRGB byte (0 to 255) of linear light (0 to 1): the inverse.
#[must_use]
pub fn srgb_from_linear(light: f64) -> f64 {
    255.0 * if light <= 0.003_130_8 { 12.92 * light } else { 1.055 * light.powf(1.0 / 2.4) - 0.055 }
}

/// Linear light of every byte.
#[expect(clippy::cast_precision_loss, reason = "0 to 255")]
static LINEAR: LazyLock<[f64; 256]> =
    LazyLock::new(|| std::array::from_fn(|byte| linear_from_srgb(byte as f64)));

/// How much light a grey byte more is.
#[must_use]
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to a byte")]
pub fn light_of_one_byte(byte: f64) -> f64 {
    let below = byte.clamp(0.0, 254.0) as usize;
    LINEAR[below + 1] - LINEAR[below]
}

impl Photo {
    /// Linear light (0 to 1) at a place between pixels; `None` within a pixel of the border.
    ///
    /// By cubic convolution (R. Keys, "Cubic convolution interpolation for digital image processing", 1981, a = -1/2): unlike
    /// the straight line between neighbours it blurs an edge hardly more half way between pixels than on them. Light is
    /// interpolated, not bytes: the mean of two bytes is darker than the mean of their light.
    #[must_use]
    #[inline]
    pub fn light(&self, x: f64, y: f64) -> Option<f64> {
        let (i, j, u, v) = self.cell(x, y)?;
        if i == 0 || j == 0 || i + 2 >= self.width || j + 2 >= self.height {
            return None;
        }
        let (across, down) = (keys(u), keys(v));
        let mut sum = 0.0;
        for (row, weight) in down.into_iter().enumerate() {
            let from = (j - 1 + row) * self.width + i - 1;
            let p = &self.ycc[from..from + 4];
            let light = |k: usize| LINEAR[usize::from(p[k][0])];
            sum += weight
                * (across[0] * light(0) + across[1] * light(1) + across[2] * light(2) + across[3] * light(3));
        }
        Some(sum)
    }
}

/// Weights of the four samples about a place `t` beyond the second of them.
fn keys(t: f64) -> [f64; 4] {
    let (t2, t3) = (t * t, t * t * t);
    [
        0.5 * (2.0 * t2 - t3 - t),
        0.5 * (3.0 * t3 - 5.0 * t2 + 2.0),
        0.5 * (4.0 * t2 - 3.0 * t3 + t),
        0.5 * (t3 - t2),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_ramp_of_light_is_read_exactly_between_pixels() {
        // Keys's kernel gives parabolas back; bytes are chosen where the curve is a straight line (below 0.04045).
        let ycc = (0..64).map(|k| [u8::try_from(k % 8).unwrap_or(0), 128, 128]).collect();
        let photo = Photo { width: 8, height: 8, ycc, focal_35mm: None, taken_with: None };
        let at = |x: f64| photo.light(x, 3.3).map(|v| v * 255.0 * 12.92);
        for x in [1.0, 2.25, 3.5, 4.9] {
            assert!((at(x).expect("inside") - x).abs() < 1e-9, "{x}");
        }
        assert_eq!(photo.light(0.5, 3.0), None);
    }

    #[test]
    fn half_way_between_two_greys_is_half_their_light() {
        let ycc = (0..64).map(|k| [if k % 8 < 4 { 20 } else { 220 }, 128, 128]).collect();
        let photo = Photo { width: 8, height: 8, ycc, focal_35mm: None, taken_with: None };
        let half = 0.5 * (linear_from_srgb(20.0) + linear_from_srgb(220.0));
        assert!((photo.light(3.5, 4.0).expect("inside") - half).abs() < 1e-12);
    }
}
