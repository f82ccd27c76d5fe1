//! From the bytes of a picture back to light.

/// Linear light (0 to 1) of a grey byte, by the sRGB transfer curve (IEC 61966-2-1).
///
/// A blurred edge is a mixture of light, not of bytes: its half level lies half way between the two
/// sides only here.
#[must_use]
pub fn linear_from_srgb(byte: f64) -> f64 {
    let v = byte / 255.0;
    if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
}
