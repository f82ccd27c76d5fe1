//! The normal equations of a least-squares problem in two residuals an observation.

use super::lens::LENS_PARAMETERS;
use super::relief::RELIEF_PARAMETERS;
use nalgebra::{DMatrix, DVector, SMatrix, Vector2};

/// Numbers of one observation's derivatives at most: lens, pose, place, relief.
const DERIVATIVES: usize = LENS_PARAMETERS + 9 + RELIEF_PARAMETERS;

/// The derivatives of one observation's pixel, and by which parameters.
pub(super) struct Row {
    index: [usize; DERIVATIVES],
    by: SMatrix<f64, 2, DERIVATIVES>,
    used: usize,
}

impl Default for Row {
    fn default() -> Self {
        Self { index: [0; DERIVATIVES], by: SMatrix::zeros(), used: 0 }
    }
}

impl Row {
    /// Adds the derivatives by parameters that follow each other from `at` on.
    pub(super) fn push<const N: usize>(&mut self, at: usize, by: &SMatrix<f64, 2, N>) {
        self.by.fixed_columns_mut::<N>(self.used).copy_from(by);
        for k in 0..N {
            self.index[self.used + k] = at + k;
        }
        self.used += N;
    }
}

/// Sums of the normal equations. The matrix is filled in whichever triangle an observation's order of parameters meets.
pub(super) struct Equations {
    matrix: DMatrix<f64>,
    right: DVector<f64>,
}

impl Equations {
    /// Nothing is known yet.
    pub(super) fn none(size: usize) -> Self {
        Self { matrix: DMatrix::zeros(size, size), right: DVector::zeros(size) }
    }

    /// Adds one observation: its derivatives, its residual and 1 / variance.
    pub(super) fn add(&mut self, row: &Row, residual: Vector2<f64>, weight: f64) {
        let Row { index, by, used } = row;
        for i in 0..*used {
            let (jx, jy) = (by[(0, i)] * weight, by[(1, i)] * weight);
            self.right[index[i]] += jx * residual.x + jy * residual.y;
            for j in 0..=i {
                self.matrix[(index[i], index[j])] += jx * by[(0, j)] + jy * by[(1, j)];
            }
        }
    }

    /// Adds what is believed of one parameter: by how much it is more than expected, and the standard deviation.
    pub(super) fn expect(&mut self, parameter: usize, more: f64, sigma: f64) {
        self.matrix[(parameter, parameter)] += 1.0 / (sigma * sigma);
        self.right[parameter] -= more / (sigma * sigma);
    }

    /// These and others together.
    pub(super) fn and(mut self, others: Self) -> Self {
        self.matrix += others.matrix;
        self.right += others.right;
        self
    }

    /// The symmetric matrix and the right side.
    pub(super) fn whole(mut self) -> (DMatrix<f64>, DVector<f64>) {
        for i in 0..self.right.len() {
            for j in 0..i {
                let v = self.matrix[(i, j)] + self.matrix[(j, i)];
                self.matrix[(i, j)] = v;
                self.matrix[(j, i)] = v;
            }
        }
        (self.matrix, self.right)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_plane_through_points_is_found_as_nalgebra_finds_it() {
        // Two residuals a point, of which only the first counts: z = p0 + p1 x + p2 y.
        let points: Vec<(f64, f64)> = (0..20).map(|k| (f64::from(k % 5), f64::from(k / 5))).collect();
        let z = |(x, y): (f64, f64)| 1.5 - 0.25 * x + 2.0 * y + 0.1 * (x * y).sin();
        let (mut first, mut second) = (Equations::none(3), Equations::none(3));
        for (k, &p) in points.iter().enumerate() {
            let mut row = Row::default();
            // The order of the parameters differs from row to row.
            let by = SMatrix::<f64, 2, 2>::new(p.0, p.1, 0.0, 0.0);
            let one = SMatrix::<f64, 2, 1>::new(1.0, 0.0);
            if k % 2 == 0 {
                row.push(1, &by);
                row.push(0, &one);
            } else {
                row.push(0, &one);
                row.push(1, &by);
            }
            let part = if k < 9 { &mut first } else { &mut second };
            part.add(&row, Vector2::new(z(p), 0.0), 1.0);
        }
        let (matrix, right) = first.and(second).whole();
        let found = matrix.cholesky().expect("three parameters").solve(&right);
        let a = DMatrix::from_fn(20, 3, |i, j| [1.0, points[i].0, points[i].1][j]);
        let b = DVector::from_iterator(20, points.iter().map(|p| z(*p)));
        let wanted = a.svd(true, true).solve(&b, 1e-12).expect("a solution");
        assert!((found - wanted).norm() < 1e-10);
    }
}
