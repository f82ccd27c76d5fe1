//! Turning a stored picture upright (EXIF orientation 1 to 8).

use rayon::prelude::*;

/// The upright picture from the stored one: orientation as in EXIF 2.32, tag 0x0112.
/// Gives width, height and pixels of the upright picture.
pub(super) fn upright(
    width: usize,
    height: usize,
    stored: Vec<[u8; 3]>,
    orientation: u32,
) -> (usize, usize, Vec<[u8; 3]>) {
    if !(2..=8).contains(&orientation) || width == 0 || height == 0 {
        return (width, height, stored);
    }
    let turned = orientation >= 5;
    let (w, h) = if turned { (height, width) } else { (width, height) };
    let mut out = vec![[0u8; 3]; w * h];
    // Bands of rows, so that a column of the stored picture is read while its lines are still in cache.
    const BAND: usize = 32;
    out.par_chunks_mut(w * BAND).enumerate().for_each(|(band, rows)| {
        let count = rows.len() / w;
        let stored_place = |x: usize, y: usize| match orientation {
            2 => (width - 1 - x, y),
            3 => (width - 1 - x, height - 1 - y),
            4 => (x, height - 1 - y),
            5 => (y, x),
            6 => (y, height - 1 - x),
            7 => (width - 1 - y, height - 1 - x),
            _ => (width - 1 - y, x),
        };
        for x0 in (0..w).step_by(BAND) {
            for j in 0..count {
                for x in x0..(x0 + BAND).min(w) {
                    let (sx, sy) = stored_place(x, band * BAND + j);
                    rows[j * w + x] = stored[sy * width + sx];
                }
            }
        }
    });
    (w, h, out)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Exif 2.32, 4.6.4 A: where row 0 and column 0 of the stored picture lie in the upright one.
    #[test]
    fn row_and_column_zero_lie_where_the_standard_says() {
        let (w, h) = (3usize, 2usize);
        let stored: Vec<[u8; 3]> = (0..6u8).map(|i| [i, 0, 0]).collect();
        let expected: [(u32, [u8; 6], usize); 8] = [
            (1, [0, 1, 2, 3, 4, 5], 3),
            (2, [2, 1, 0, 5, 4, 3], 3),
            (3, [5, 4, 3, 2, 1, 0], 3),
            (4, [3, 4, 5, 0, 1, 2], 3),
            (5, [0, 3, 1, 4, 2, 5], 2),
            (6, [3, 0, 4, 1, 5, 2], 2),
            (7, [5, 2, 4, 1, 3, 0], 2),
            (8, [2, 5, 1, 4, 0, 3], 2),
        ];
        for (orientation, values, width) in expected {
            let (uw, uh, out) = upright(w, h, stored.clone(), orientation);
            assert_eq!((uw, uw * uh), (width, 6), "orientation {orientation}");
            assert_eq!(out.iter().map(|p| p[0]).collect::<Vec<_>>(), values, "orientation {orientation}");
        }
    }
}
