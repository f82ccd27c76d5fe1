//! Smaller grey pictures for the first, coarse looks.

use super::Photo;
use rayon::prelude::*;

/// A grey picture made of boxes of a photograph's pixels.
#[derive(Clone, PartialEq, Eq)]
pub struct Grey {
    /// Width, boxes.
    pub width: usize,
    /// Height, boxes.
    pub height: usize,
    /// Photograph pixels along one side of a box.
    pub factor: usize,
    /// Row by row.
    pub luma: Vec<u8>,
}

impl std::fmt::Debug for Grey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "Grey({} x {}, 1/{})", self.width, self.height, self.factor)
    }
}

impl Grey {
    /// Box means of `factor` x `factor` pixels; a last incomplete row or column of boxes is left out.
    #[must_use]
    pub fn of(photo: &Photo, factor: usize) -> Self {
        let (width, height) = (photo.width / factor, photo.height / factor);
        let mut luma = vec![0u8; width * height];
        let area = u32::try_from(factor * factor).unwrap_or(u32::MAX);
        luma.par_chunks_mut(width.max(1)).enumerate().for_each(|(y, row)| match factor {
            1 => {
                let source = &photo.ycc[y * photo.width..][..width];
                row.iter_mut().zip(source).for_each(|(out, p)| *out = p[0]);
            }
            2 => {
                let upper = photo.ycc[2 * y * photo.width..][..2 * width].as_chunks::<2>().0;
                let lower = photo.ycc[(2 * y + 1) * photo.width..][..2 * width].as_chunks::<2>().0;
                for ((out, u), l) in row.iter_mut().zip(upper).zip(lower) {
                    let sum = [u[0][0], u[1][0], l[0][0], l[1][0]].map(u32::from).iter().sum::<u32>();
                    *out = byte((sum + 2) / 4);
                }
            }
            _ => {
                let mut sums = vec![0u32; width];
                for j in 0..factor {
                    let source = &photo.ycc[(factor * y + j) * photo.width..][..factor * width];
                    for (sum, run) in sums.iter_mut().zip(source.chunks_exact(factor)) {
                        *sum += run.iter().map(|p| u32::from(p[0])).sum::<u32>();
                    }
                }
                row.iter_mut().zip(&sums).for_each(|(out, s)| *out = byte((s + area / 2) / area));
            }
        });
        Self { width, height, factor, luma }
    }

    /// Photograph pixel coordinate of a coordinate in this picture (either axis).
    #[must_use]
    #[expect(clippy::cast_precision_loss, reason = "small factors")]
    pub fn photo_from_grey(&self, v: f64) -> f64 {
        let f = self.factor as f64;
        v * f + (f - 1.0) / 2.0
    }

    /// Luma between boxes, bilinear; `None` outside.
    #[must_use]
    #[inline]
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "checked to lie inside")]
    #[expect(clippy::cast_precision_loss, reason = "picture sizes are far below 2^52")]
    pub fn sample(&self, x: f64, y: f64) -> Option<f64> {
        if !(x >= 0.0 && y >= 0.0 && x < (self.width - 1) as f64 && y < (self.height - 1) as f64) {
            return None;
        }
        let (i, j) = (x as usize, y as usize);
        let (u, v) = (x - i as f64, y - j as f64);
        let k = j * self.width + i;
        let w = self.width;
        let [a, b, c, d] = [k, k + 1, k + w, k + w + 1].map(|k| f64::from(self.luma[k]));
        Some((a + (b - a) * u) * (1.0 - v) + (c + (d - c) * u) * v)
    }
}

#[expect(clippy::cast_possible_truncation, reason = "means of bytes are bytes")]
fn byte(v: u32) -> u8 {
    v as u8
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_factor_gives_the_box_means_and_their_places() {
        let (width, height) = (12, 8);
        let ycc = (0..width * height).map(|i| [u8::try_from(i * 2).unwrap(), 128, 128]).collect();
        let photo = Photo { width, height, ycc, focal_35mm: None, taken_with: None };
        for factor in [1usize, 2, 3, 4] {
            let grey = Grey::of(&photo, factor);
            assert_eq!((grey.width, grey.height), (width / factor, height / factor));
            for y in 0..grey.height {
                for x in 0..grey.width {
                    let place = |v: usize| grey.photo_from_grey(v as f64);
                    // The picture is a plane, so a box's mean is the plane's value at the box's centre.
                    let expected = 2.0 * (place(x) + width as f64 * place(y));
                    let got = f64::from(grey.luma[y * grey.width + x]);
                    assert!(
                        (got - expected).abs() <= 0.5,
                        "factor {factor} at {x}, {y}: {got} not {expected}"
                    );
                }
            }
        }
    }
}
