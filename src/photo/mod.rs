//! A photograph: bytes enter, an upright picture leaves.
//!
//! The picture is kept as it came from the JPEG, one luma and two chroma bytes a pixel
//! (JFIF YCbCr, ITU-R BT.601 weights, full range), because the work needs grey most and colour little.
//! Pixel frame: x right, y down, the centre of the first pixel at (0, 0).

mod decode;
mod heic;
mod light;
mod notes;
mod orient;
mod reduce;
mod sharpness;

pub use decode::{Limits, PhotoError, decode};
pub use light::{light_of_one_byte, linear_from_srgb, srgb_from_linear};
pub use notes::taken_at;
pub use reduce::Grey;
pub use sharpness::edge_width_px;

/// An upright picture in YCbCr, 8 bits a channel.
#[derive(Clone, PartialEq, Eq)]
pub struct Photo {
    /// Width, pixels.
    pub width: usize,
    /// Height, pixels.
    pub height: usize,
    /// Row by row, Y Cb Cr for each pixel.
    pub ycc: Vec<[u8; 3]>,
    /// The lens's focal length as if on 36 x 24 mm film, from EXIF, millimetres; a hint, not a fact.
    pub focal_35mm: Option<u16>,
    /// Camera, lens and focal length in one line, from EXIF: photographs of one size with the same words were
    /// taken through the same lens.
    pub taken_with: Option<String>,
}

impl std::fmt::Debug for Photo {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Photo({} x {})", self.width, self.height)
    }
}

impl Photo {
    /// The pixel at column `x`, row `y`.
    ///
    /// # Panics
    /// Outside the picture.
    #[must_use]
    #[inline]
    pub fn at(&self, x: usize, y: usize) -> [u8; 3] {
        self.ycc[y * self.width + x]
    }

    /// Luma at a place between pixels, bilinear, 0 to 255; `None` outside the pixel centres.
    #[must_use]
    #[inline]
    pub fn luma(&self, x: f64, y: f64) -> Option<f64> {
        let (i, j, u, v) = self.cell(x, y)?;
        let w = self.width;
        let k = j * w + i;
        let [a, b, c, d] = [k, k + 1, k + w, k + w + 1].map(|k| f64::from(self.ycc[k][0]));
        Some((a + (b - a) * u) * (1.0 - v) + (c + (d - c) * u) * v)
    }

    /// Colour (Y, Cb, Cr) at a place between pixels, bilinear; `None` outside the pixel centres.
    #[must_use]
    #[inline]
    pub fn colour(&self, x: f64, y: f64) -> Option<[f64; 3]> {
        let (i, j, u, v) = self.cell(x, y)?;
        let w = self.width;
        let k = j * w + i;
        let [p, q, r, s] = [self.ycc[k], self.ycc[k + 1], self.ycc[k + w], self.ycc[k + w + 1]];
        Some(std::array::from_fn(|n| {
            let [a, b, c, d] = [p[n], q[n], r[n], s[n]].map(f64::from);
            (a + (b - a) * u) * (1.0 - v) + (c + (d - c) * u) * v
        }))
    }

    /// The pixel whose centre is up-left of a place, and the fractions on from it.
    #[inline]
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked to lie inside")]
    #[expect(clippy::cast_precision_loss, reason = "picture sizes are far below 2^52")]
    fn cell(&self, x: f64, y: f64) -> Option<(usize, usize, f64, f64)> {
        let inside = x >= 0.0 && y >= 0.0 && x < (self.width - 1) as f64 && y < (self.height - 1) as f64;
        if !inside {
            return None;
        }
        let (i, j) = (x as usize, y as usize);
        Some((i, j, x - i as f64, y - j as f64))
    }
}
