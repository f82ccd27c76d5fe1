//! Circles through places of which some are strays.
//!
//! Sampled triples vote (M. A. Fischler and R. C. Bolles, "Random sample consensus", Commun. ACM 24, 1981,
//! doi:10.1145/358669.358692); the places that agree are fitted by least squares of their distances from the circle
//! (W. Gander, G. H. Golub and R. Strebel, "Least-squares fitting of circles and ellipses", BIT 34, 1994,
//! doi:10.1007/BF01934268).

use crate::geometry::{Point, Vec2};
use nalgebra::{Matrix3, Vector3};

/// A circle with what is known of it, millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Circle {
    pub centre: Point,
    pub radius: f64,
    /// Root mean square of the agreeing places' distances.
    pub rms: f64,
    /// Standard deviation of the centre, the larger axis.
    pub sigma: f64,
    /// Part of all places that agree.
    pub agree: f64,
}

/// Triples tried.
const TRIPLES: usize = 300;
/// Rounds of the least squares; it settles in three or four.
const ROUNDS: usize = 8;

/// The circle that most places agree with to `near` millimetres, if its radius lies in the range.
pub(super) fn fit(places: &[Point], near: f64, radii: (f64, f64)) -> Option<Circle> {
    let n = places.len();
    if n < 8 {
        return None;
    }
    let agreeing = |c: Point, r: f64, near: f64| {
        places.iter().copied().filter(move |p| (p.distance(c) - r).abs() < near)
    };
    let mut best: Option<(usize, Point, f64)> = None;
    for k in 0..TRIPLES {
        // Triples spread over the arc: a third of it or more apart, begun at every place in turn.
        let (a, step) = (k % n, n / 4 + (k / n * 7) % (n / 6 + 1));
        let [p, q, s] = [a, (a + step) % n, (a + 2 * step) % n].map(|i| places[i]);
        let Some((centre, radius)) = through(p, q, s) else { continue };
        if radius < radii.0 || radius > radii.1 {
            continue;
        }
        let count = agreeing(centre, radius, near).count();
        if best.is_none_or(|b| count > b.0) {
            best = Some((count, centre, radius));
        }
    }
    let (_, mut centre, mut radius) = best?;
    let mut normal = Matrix3::zeros();
    for _ in 0..ROUNDS {
        normal = Matrix3::zeros();
        let mut right = Vector3::zeros();
        for p in agreeing(centre, radius, near) {
            let out = p - centre;
            let d = out.hypot().max(1e-9);
            let row = Vector3::new(out.x / d, out.y / d, 1.0);
            normal += row * row.transpose();
            right += row * (d - radius);
        }
        let step = normal.cholesky()?.solve(&right);
        centre += Vec2::new(step.x, step.y);
        radius += step.z;
    }
    if radius < radii.0 || radius > radii.1 {
        return None;
    }
    let off: Vec<f64> = agreeing(centre, radius, near).map(|p| p.distance(centre) - radius).collect();
    #[expect(clippy::cast_precision_loss, reason = "a few hundred places")]
    let (count, all) = (off.len() as f64, n as f64);
    let rms = (off.iter().map(|d| d * d).sum::<f64>() / count.max(1.0)).sqrt();
    let spread = normal.cholesky()?.inverse();
    let sigma = rms * spread[(0, 0)].max(spread[(1, 1)]).sqrt();
    Some(Circle { centre, radius, rms, sigma, agree: count / all })
}

/// Centre and radius of the circle through three places.
fn through(a: Point, b: Point, c: Point) -> Option<(Point, f64)> {
    let (u, v) = (b - a, c - a);
    let twice = 2.0 * u.cross(v);
    if twice.abs() < 1e-6 {
        return None;
    }
    let to = Vec2::new(v.y * u.hypot2() - u.y * v.hypot2(), u.x * v.hypot2() - v.x * u.hypot2()) / twice;
    Some((a + to, to.hypot()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn half_a_circle_with_strays_gives_centre_and_radius() {
        let places: Vec<Point> = (0..60)
            .map(|k| {
                let stray = if k % 5 == 0 { 1.3 } else { 0.0 };
                let turn = f64::from(k) / 59.0 * std::f64::consts::PI;
                Point::new(3.0, -7.0) + Vec2::from_angle(turn) * (8.5 + stray)
            })
            .collect();
        let circle = fit(&places, 0.3, (2.0, 15.0)).expect("a circle");
        assert!(circle.centre.distance(Point::new(3.0, -7.0)) < 1e-6);
        assert!((circle.radius - 8.5).abs() < 1e-6);
        assert!((circle.agree - 0.8).abs() < 1e-9);
    }
}
