//! Projective maps of the plane.

use super::Point;
use nalgebra::{Matrix3, SMatrix, SVector, Vector3};

/// A projective map: target homogeneous = matrix · source homogeneous.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Homography {
    /// The matrix, last entry not necessarily 1.
    pub matrix: Matrix3<f64>,
}

impl Homography {
    /// The map that takes four source points to four target points exactly.
    /// `None` when three of either four lie on one line.
    #[must_use]
    pub fn of_quads(source: [Point; 4], target: [Point; 4]) -> Option<Self> {
        let mut a = SMatrix::<f64, 8, 8>::zeros();
        let mut b = SVector::<f64, 8>::zeros();
        for (i, (s, t)) in source.iter().zip(&target).enumerate() {
            let rows = [
                [s.x, s.y, 1.0, 0.0, 0.0, 0.0, -t.x * s.x, -t.x * s.y],
                [0.0, 0.0, 0.0, s.x, s.y, 1.0, -t.y * s.x, -t.y * s.y],
            ];
            for (k, row) in rows.iter().enumerate() {
                for (j, v) in row.iter().enumerate() {
                    a[(2 * i + k, j)] = *v;
                }
                b[2 * i + k] = [t.x, t.y][k];
            }
        }
        let h = a.lu().solve(&b)?;
        Some(Self { matrix: Matrix3::new(h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7], 1.0) })
    }

    /// The least-squares map of four or more pairs (normalised direct linear transform: R. Hartley, "In
    /// defense of the eight-point algorithm", PAMI 1997, doi:10.1109/34.601246). `None` for fewer than four
    /// pairs or pairs on one line.
    #[must_use]
    pub fn fit(pairs: &[(Point, Point)]) -> Option<Self> {
        if pairs.len() < 4 {
            return None;
        }
        let source = normalising(pairs.iter().map(|p| p.0))?;
        let target = normalising(pairs.iter().map(|p| p.1))?;
        let mut ata = SMatrix::<f64, 9, 9>::zeros();
        for &(s, t) in pairs {
            let (s, t) = (source.apply(s), target.apply(t));
            let rows = [
                SVector::<f64, 9>::from([s.x, s.y, 1.0, 0.0, 0.0, 0.0, -t.x * s.x, -t.x * s.y, -t.x]),
                SVector::<f64, 9>::from([0.0, 0.0, 0.0, s.x, s.y, 1.0, -t.y * s.x, -t.y * s.y, -t.y]),
            ];
            for r in rows {
                ata += r * r.transpose();
            }
        }
        let eigen = ata.symmetric_eigen();
        let h = eigen.eigenvectors.column(eigen.eigenvalues.imin()).into_owned();
        let h = Matrix3::new(h[0], h[1], h[2], h[3], h[4], h[5], h[6], h[7], h[8]);
        let matrix = target.matrix.try_inverse()? * h * source.matrix;
        matrix.iter().all(|v| v.is_finite()).then_some(Self { matrix })
    }

    /// The target point of a source point.
    #[must_use]
    #[inline]
    pub fn apply(&self, p: Point) -> Point {
        let v = self.matrix * Vector3::new(p.x, p.y, 1.0);
        Point::new(v.x / v.z, v.y / v.z)
    }

    /// The map back; `None` when it flattens the plane.
    #[must_use]
    pub fn inverse(&self) -> Option<Self> {
        Some(Self { matrix: self.matrix.try_inverse()? })
    }
}

/// Moves points to mean 0 and mean distance √2.
#[expect(clippy::cast_precision_loss, reason = "counts are small")]
fn normalising(points: impl Iterator<Item = Point> + Clone) -> Option<Homography> {
    let n = points.clone().count() as f64;
    let mean = points.clone().fold(kurbo::Vec2::ZERO, |m, p| m + p.to_vec2()) / n;
    let spread = points.map(|p| (p.to_vec2() - mean).hypot()).sum::<f64>() / n;
    if spread <= 0.0 {
        return None;
    }
    let k = std::f64::consts::SQRT_2 / spread;
    Some(Homography { matrix: Matrix3::new(k, 0.0, -k * mean.x, 0.0, k, -k * mean.y, 0.0, 0.0, 1.0) })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_ways_of_finding_it_agree_with_the_map_that_made_the_points() {
        let made = Homography { matrix: Matrix3::new(2.0, 0.3, 5.0, -0.2, 1.5, 7.0, 1e-3, -2e-3, 1.0) };
        let source = [(0.0, 0.0), (100.0, 0.0), (100.0, 80.0), (0.0, 80.0)].map(Point::from);
        let exact = Homography::of_quads(source, source.map(|p| made.apply(p))).unwrap();
        let grid: Vec<_> =
            (0..40).map(|i| Point::new(f64::from(i % 8) * 13.0, f64::from(i / 8) * 17.0)).collect();
        let pairs: Vec<_> = grid.iter().map(|&p| (p, made.apply(p))).collect();
        let fitted = Homography::fit(&pairs).unwrap();
        for p in grid {
            assert!(exact.apply(p).distance(made.apply(p)) < 1e-9);
            assert!(fitted.apply(p).distance(made.apply(p)) < 1e-6);
            assert!(made.inverse().unwrap().apply(made.apply(p)).distance(p) < 1e-9);
        }
    }
}
