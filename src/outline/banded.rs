//! Symmetric banded equations, as least squares with a penalty on third differences leave them.

use std::ops::{Div, Mul, SubAssign};

/// Width of the band: third differences reach three places.
pub(super) const BAND: usize = 4;
/// Weights of a third difference.
const DIFFERENCE: [f64; 4] = [-1.0, 3.0, -3.0, 1.0];

/// A positive definite matrix: entry `[i][j]` is that of row i and column i - j.
pub(super) struct Banded(pub Vec<[f64; BAND]>);

impl Banded {
    pub(super) fn zero(n: usize) -> Self {
        Self(vec![[0.0; BAND]; n])
    }

    /// Adds the square of the third difference of the four unknowns from `i` on.
    pub(super) fn add_third_difference(&mut self, i: usize, weight: f64) {
        for r in 0..4 {
            for c in 0..=r {
                self.0[i + r][r - c] += weight * DIFFERENCE[r] * DIFFERENCE[c];
            }
        }
    }

    /// The unknowns, by Cholesky's factors within the band.
    pub(super) fn solve<T>(self, mut b: Vec<T>) -> Vec<T>
    where
        T: Copy + SubAssign + Mul<f64, Output = T> + Div<f64, Output = T>,
    {
        let mut a = self.0;
        let n = a.len();
        for i in 0..n {
            for j in (0..BAND.min(i + 1)).rev() {
                let k = i - j;
                let mut sum = a[i][j];
                for m in 1..BAND - j {
                    if k >= m {
                        sum -= a[i][j + m] * a[k][m];
                    }
                }
                a[i][j] = if j == 0 { sum.max(1e-12).sqrt() } else { sum / a[k][0] };
            }
        }
        for i in 0..n {
            let mut v = b[i];
            for j in 1..BAND.min(i + 1) {
                v -= b[i - j] * a[i][j];
            }
            b[i] = v / a[i][0];
        }
        for i in (0..n).rev() {
            let mut v = b[i];
            for j in 1..BAND {
                if i + j < n {
                    v -= b[i + j] * a[i + j][j];
                }
            }
            b[i] = v / a[i][0];
        }
        b
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use nalgebra::{DMatrix, DVector};

    #[test]
    fn the_unknowns_are_those_of_a_full_solve() {
        let n = 12;
        let mut banded = Banded::zero(n);
        for i in 0..n {
            banded.0[i][0] = 0.2 + 0.1 * (i % 3) as f64;
        }
        for i in 0..n - 3 {
            banded.add_third_difference(i, 0.7 + 0.05 * i as f64);
        }
        let full = DMatrix::from_fn(n, n, |r, c| {
            let (low, high) = (r.min(c), r.max(c));
            banded.0[high].get(high - low).copied().unwrap_or(0.0)
        });
        let right: Vec<f64> = (0..n).map(|i| (i as f64).sin()).collect();
        let wanted = full.lu().solve(&DVector::from_vec(right.clone())).expect("a regular matrix");
        let found = banded.solve(right);
        assert!(found.iter().zip(wanted.iter()).all(|(a, b)| (a - b).abs() < 1e-9));
    }
}
