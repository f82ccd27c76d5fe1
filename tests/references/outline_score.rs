//! The tests' scorer of outlines against the Python program that stands beside the photographs.
//!
//! Program: `../shared/photos/score.py` with Python 3, numpy 2.4.6, SciPy and Shapely, 2026-11-25. Input made by
//!
//! ```text
//! from math import sin, cos, tau
//! T = [(300*cos(k*tau/2000) + 20*cos(3*k*tau/2000), 400*sin(k*tau/2000) + 50*cos(2*k*tau/2000)) for k in range(2000)]
//! Q = []
//! for x, y in T[::4]:
//!     u, v = x + 1.3*sin(y/40) + 0.002*x, y + 0.8*cos(x/25)
//!     Q.append((cos(0.65)*u - sin(0.65)*v + 500, sin(0.65)*u + cos(0.65)*v - 77))
//! json.dump({"photo": "", "garment": {"outline_polyline_garment": T, "corners_garment": []}}, open("t.json", "w"))
//! json.dump(Q, open("q.json", "w"))
//! ```
//!
//! and `python3 score.py t.json q.json`, which printed the values below.

use crate::support::score::score;
use onfold::geometry::Point;
use std::f64::consts::TAU;

const RMS_MM: f64 = 0.8889;
const P95_MM: f64 = 1.7493;
const WORST_MM: f64 = 1.9579;
const AREA_PERCENT: f64 = 0.1975;
const HEIGHT_MM: f64 = 0.0001;
const WIDTH_MM: f64 = 1.3104;
/// The two end their alignment differently; both print or keep about four decimals.
const SAME_MM: f64 = 0.002;

#[test]
fn the_scorer_measures_as_the_program_beside_the_photographs() {
    let truth: Vec<Point> = (0..2000)
        .map(|k| {
            let t = f64::from(k) * TAU / 2000.0;
            let x = 300.0 * t.cos() + 20.0 * (3.0 * t).cos();
            Point::new(x, 400.0 * t.sin() + 50.0 * (2.0 * t).cos())
        })
        .collect();
    let traced: Vec<Point> = truth
        .iter()
        .step_by(4)
        .map(|p| {
            let (u, v) = (p.x + 1.3 * (p.y / 40.0).sin() + 0.002 * p.x, p.y + 0.8 * (p.x / 25.0).cos());
            let (sin, cos) = 0.65_f64.sin_cos();
            Point::new(cos * u - sin * v + 500.0, sin * u + cos * v - 77.0)
        })
        .collect();
    let s = score(&truth, &traced);
    println!("{s:?}");
    for (name, ours, theirs) in [
        ("rms", s.rms_mm, RMS_MM),
        ("p95", s.p95_mm, P95_MM),
        ("worst", s.worst_mm, WORST_MM),
        ("height", s.height_error_mm, HEIGHT_MM),
        ("width", s.width_error_mm, WIDTH_MM),
        ("area", s.area_error_percent, AREA_PERCENT),
    ] {
        assert!((ours - theirs).abs() < SAME_MM, "{name}: {ours}, the program says {theirs}");
    }
}
