//! A small least-squares solver with derivatives by differences, for the tests' own fits.
//!
//! Levenberg-Marquardt (K. Levenberg 1944, D. W. Marquardt 1963, doi:10.1137/0111030) with the soft-L1 loss of SciPy's
//! `least_squares`: ρ(z) = 2 (√(1 + z) - 1) of the squared residual, taken in by reweighting.

use nalgebra::{DMatrix, DVector};

const ROUNDS: usize = 200;
/// A step that lowers the cost by a smaller share than this is the last.
const DONE: f64 = 1e-13;
/// Step of the differences, in units of the parameter's own scale.
const DIFFERENCE: f64 = 1e-6;

/// The parameters that minimise Σ ρ(r²) from `start`; `scale` is the size of a usual change of each parameter.
pub(crate) fn soft_l1(start: &[f64], scale: &[f64], residuals: impl Fn(&[f64]) -> Vec<f64>) -> Vec<f64> {
    let mut at = start.to_vec();
    let mut now = residuals(&at);
    let mut damping = 1e-3;
    for _ in 0..ROUNDS {
        let (rows, columns) = (now.len(), at.len());
        let mut slopes = DMatrix::<f64>::zeros(rows, columns);
        for c in 0..columns {
            let h = DIFFERENCE * scale[c];
            let (mut up, mut down) = (at.clone(), at.clone());
            up[c] += h;
            down[c] -= h;
            let (up, down) = (residuals(&up), residuals(&down));
            for r in 0..rows {
                slopes[(r, c)] = (up[r] - down[r]) / (2.0 * h) * scale[c] * weight(now[r]);
            }
        }
        let weighted = DVector::from_iterator(rows, now.iter().map(|r| r * weight(*r)));
        let normal = slopes.transpose() * &slopes;
        let gradient = slopes.transpose() * weighted;
        let before = cost(&now);
        let mut lowered = 0.0;
        while damping < 1e12 {
            let mut damped = normal.clone();
            for c in 0..columns {
                damped[(c, c)] += damping * normal[(c, c)].max(1e-12);
            }
            let Some(cholesky) = damped.cholesky() else {
                damping *= 10.0;
                continue;
            };
            let step = cholesky.solve(&gradient);
            let trial: Vec<f64> = (0..columns).map(|c| at[c] - step[c] * scale[c]).collect();
            let then = residuals(&trial);
            if cost(&then) < before {
                lowered = (before - cost(&then)) / before;
                (at, now) = (trial, then);
                damping = (damping / 5.0).max(1e-12);
                break;
            }
            damping *= 4.0;
        }
        if lowered < DONE {
            break;
        }
    }
    at
}

/// √ρ'(r²).
fn weight(r: f64) -> f64 {
    (1.0 + r * r).powf(-0.25)
}

fn cost(residuals: &[f64]) -> f64 {
    residuals.iter().map(|r| 2.0 * ((1.0 + r * r).sqrt() - 1.0)).sum()
}
