//! The curve fit and the fold against outlines with exact truth.

#![allow(
    clippy::unwrap_used,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::semicolon_if_nothing_returned,
    clippy::float_cmp,
    clippy::print_stdout,
    reason = "test code on known data; its figures are told"
)]

use kurbo::{Line, ParamCurve, ParamCurveArclen, ParamCurveDeriv, ParamCurveNearest};
use onfold::curve::{self, Tolerance};
use onfold::geometry::{CubicBez, PathSeg, Point, Trace, TracePoint, Vec2};
use std::path::{Path, PathBuf};

/// Seeded noise: SplitMix64 (Steele, Lea & Flood 2014, doi:10.1145/2714064.2660195).
struct Noise(u64);

impl Noise {
    fn uniform(&mut self) -> f64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        ((z ^ (z >> 31)) >> 11) as f64 / (1_u64 << 53) as f64
    }
    fn normal(&mut self) -> f64 {
        (-2.0 * (1.0 - self.uniform()).ln()).sqrt() * (std::f64::consts::TAU * self.uniform()).cos()
    }
}

/// An outline of exact segments with its true corners.
struct Truth {
    name: String,
    segments: Vec<PathSeg>,
    corners: Vec<Point>,
}

fn shared(name: &str) -> Option<PathBuf> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared/photos").join(name);
    path.exists().then_some(path)
}

fn point(v: &serde_json::Value) -> Point {
    Point::new(v[0].as_f64().unwrap(), v[1].as_f64().unwrap())
}

fn truth(name: &str, part: &str) -> Option<Truth> {
    let json: serde_json::Value =
        serde_json::from_slice(&std::fs::read(shared(&format!("{name}.truth.json"))?).unwrap()).unwrap();
    let g = &json[part];
    let segments = g["outline_segments_garment"]
        .as_array()
        .unwrap()
        .iter()
        .map(|s| {
            let p: Vec<Point> = s["points"].as_array().unwrap().iter().map(point).collect();
            if p.len() == 2 {
                PathSeg::Line(Line::new(p[0], p[1]))
            } else {
                PathSeg::Cubic(CubicBez::new(p[0], p[1], p[2], p[3]))
            }
        })
        .collect();
    let corners = g["corners_garment"].as_array().unwrap().iter().map(|c| point(&c["p"])).collect();
    Some(Truth { name: format!("{name}/{part}"), segments, corners })
}

const NAMES: [&str; 11] = [
    "dev1_canvas_apron",
    "dev2_leather_apron",
    "dev3_linen_apron",
    "dev4_kraft_pattern",
    "dev5_butcher_apron_a",
    "dev7_black_tabard",
    "dev8_gingham_roll",
    "dev9_jacket_sleeve",
    "dev10_leather_eyelets",
    "dev11_wool_vest",
    "dev12_pencil_pattern",
];

/// Points one millimetre apart with noise across the line, white and correlated over `reach_mm`.
fn trace(truth: &Truth, sigma: f64, reach_mm: f64, stated: f64, seed: u64) -> Trace {
    let mut noise = Noise(seed);
    let mut points = Vec::new();
    let mut slow = 0.0;
    let keep = if reach_mm > 0.0 { (-1.0 / reach_mm).exp() } else { 0.0 };
    for s in &truth.segments {
        let length = s.arclen(1e-6);
        let n = length.round().max(1.0) as usize;
        for i in 0..n {
            let t = s.inv_arclen(length * i as f64 / n as f64, 1e-6);
            let d = match s {
                PathSeg::Line(l) => l.p1 - l.p0,
                PathSeg::Cubic(c) => c.deriv().eval(t).to_vec2(),
                PathSeg::Quad(_) => unreachable!("not made here"),
            };
            let normal = Vec2::new(-d.y, d.x) / d.hypot();
            slow = keep * slow + (1.0_f64 - keep * keep).sqrt() * noise.normal();
            points.push(TracePoint {
                at: s.eval(t) + normal * (sigma * slow),
                sigma_mm: stated,
                bridged: false,
            });
        }
    }
    Trace { points, corners: Vec::new() }
}

/// Largest distance from the fitted ring to the truth and back, and RMS.
fn departure(fitted: &[PathSeg], truth: &[PathSeg]) -> (f64, f64, Point) {
    let one_way = |from: &[PathSeg], to: &[PathSeg]| {
        let mut all = Vec::new();
        for s in from {
            let n = s.arclen(1e-3).ceil().max(4.0) as usize;
            for i in 0..n {
                let p = s.eval((i as f64 + 0.5) / n as f64);
                let d2 = to.iter().map(|q| q.nearest(p, 1e-6).distance_sq).fold(f64::INFINITY, f64::min);
                all.push((d2.sqrt(), p));
            }
        }
        all
    };
    let mut all = one_way(fitted, truth);
    all.extend(one_way(truth, fitted));
    let rms = (all.iter().map(|v| v.0 * v.0).sum::<f64>() / all.len() as f64).sqrt();
    let worst = all.into_iter().max_by(|a, b| a.0.total_cmp(&b.0)).unwrap();
    (worst.0, rms, worst.1)
}

#[test]
#[ignore = "a table for people"]
fn table() {
    for name in NAMES {
        let Some(truth) = truth(name, "garment") else {
            eprintln!("../shared is not here: not tested");
            return;
        };
        for (sigma, reach, stated) in [
            (0.0, 0.0, 0.05),
            (0.1, 0.0, 0.1),
            (0.1, 4.0, 0.1),
            (0.03, 3.0, 0.1),
            (0.3, 3.0, 0.3),
            (1.0, 3.0, 1.0),
        ] {
            let trace = trace(&truth, sigma, reach, stated, 7);
            let start = std::time::Instant::now();
            let f = curve::fit(&trace, &Tolerance::default()).unwrap();
            let ms = start.elapsed().as_secs_f64() * 1e3;
            let (worst, rms, at) = departure(f.ring.segments(), &truth.segments);
            let lines = f.ring.segments().iter().filter(|s| matches!(s, PathSeg::Line(_))).count();
            let found: Vec<Point> = f.corners.iter().map(|&k| f.ring.segments()[k].start()).collect();
            let corner = truth
                .corners
                .iter()
                .map(|c| found.iter().map(|p| p.distance(*c)).fold(f64::INFINITY, f64::min))
                .fold(0.0, f64::max);
            println!(
                "{:28} n {:4} noise {sigma:4} reach {reach}: {:2} pieces ({lines} lines; truth {:2}), corners {} of {} worst {corner:.3}, departs {worst:.3} rms {rms:.4} at {:.0},{:.0}; residual {:.3} stated {:.4} strays {} {ms:.1} ms",
                truth.name,
                trace.points.len(),
                f.ring.segments().len(),
                truth.segments.len(),
                found.len(),
                truth.corners.len(),
                at.x,
                at.y,
                f.rms_mm,
                f.sigma_mm,
                f.strays
            );
        }
    }
}

fn as_fitted(truth: &Truth) -> curve::Fitted {
    let corners = (0..truth.segments.len())
        .filter(|&k| truth.corners.iter().any(|c| c.distance(truth.segments[k].start()) < 0.01))
        .collect();
    curve::Fitted {
        ring: onfold::geometry::Ring::new(truth.segments.clone()).unwrap(),
        corners,
        worst_mm: 0.0,
        rms_mm: 0.0,
        sigma_mm: 0.01,
        strays: 0,
    }
}

/// The whole piece of a half: the half without its fold, and its mirror image.
fn whole(half: &onfold::geometry::Ring) -> Vec<PathSeg> {
    let n = half.segments().len() - 1;
    let flip = onfold::geometry::Affine::scale_non_uniform(-1.0, 1.0);
    let mut out = half.segments()[..n].to_vec();
    out.extend(half.segments()[..n].iter().rev().map(|s| flip * s.reverse()));
    out
}

/// Largest and root mean square difference between the reported and the true departure of the sides, the truth's
/// sides compared across the line about its own axis.
fn true_wear(
    worn: &Truth,
    f: &onfold::pattern::Folded,
    traced_from_garment: &onfold::geometry::Affine,
) -> (f64, f64) {
    let garment_from_half = traced_from_garment.inverse() * f.half_from_traced.inverse();
    let flip = onfold::geometry::Affine::scale_non_uniform(-1.0, 1.0);
    let mirrored: Vec<PathSeg> = worn.segments.iter().map(|s| flip * *s).collect();
    let across = |segments: &[PathSeg], p: Point, n: Vec2| {
        // Nearest point of the curve to p, measured along n.
        segments
            .iter()
            .map(|s| (s.nearest(p, 1e-6), s))
            .min_by(|a, b| a.0.distance_sq.total_cmp(&b.0.distance_sq))
            .map(|(q, s)| (s.eval(q.t) - p).dot(n))
            .unwrap()
    };
    let mut all = Vec::new();
    for s in &f.wear.samples {
        let p = garment_from_half * s.at;
        let n = garment_from_half * (s.at + s.outward) - p;
        let truth = across(&worn.segments, p, n) - across(&mirrored, p, n);
        all.push((truth - s.right_out_mm).abs());
    }
    all.sort_by(f64::total_cmp);
    (all[all.len() * 95 / 100], (all.iter().map(|v| v * v).sum::<f64>() / all.len() as f64).sqrt())
}

#[test]
#[ignore = "a table for people"]
fn folds() {
    for name in NAMES {
        let (Some(worn), Some(design)) = (truth(name, "garment"), truth(name, "design")) else {
            eprintln!("../shared is not here: not tested");
            return;
        };
        for (truth, noisy) in [(&worn, true), (&worn, false), (&design, true)] {
            let turn =
                onfold::geometry::Affine::translate((37.0, -12.0)) * onfold::geometry::Affine::rotate(0.3);
            let moved = Truth {
                name: truth.name.clone(),
                segments: truth.segments.iter().map(|s| turn * *s).collect(),
                corners: truth.corners.iter().map(|c| turn * *c).collect(),
            };
            let fitted = if noisy {
                curve::fit(&trace(&moved, 0.1, 3.0, 0.1, 3), &Tolerance::default()).unwrap()
            } else {
                as_fitted(&moved)
            };
            let start = std::time::Instant::now();
            let folded = onfold::pattern::fold(&fitted, &[], &onfold::pattern::FoldOptions::default());
            let ms = start.elapsed().as_secs_f64() * 1e3;
            match folded {
                Err(e) => println!("{:28} noisy {noisy}: {e}", truth.name),
                Ok(f) => {
                    let point = turn.inverse() * f.axis.point;
                    let direction = turn.inverse() * (f.axis.point + f.axis.direction) - point;
                    let whole = whole(&f.half);
                    let shift = onfold::geometry::Affine::translate((0.0, point.y));
                    let whole: Vec<PathSeg> = whole.iter().map(|s| shift * *s).collect();
                    let (worst, rms, at) = departure(&whole, &design.segments);
                    // The same report at the true axis: what the truth's own sides depart.
                    let true_gap = true_wear(&worn, &f, &turn);
                    let first = f.half.segments()[0];
                    println!(
                        "{:28} noisy {noisy}: axis off {:.3} mm, {:.1e} rad (stated {:.3}, {:.1e}); {} segs, {} corners; against design {worst:.3} rms {rms:.4} at {:.0},{:.0}; wear error max {:.2} rms {:.2}; wear rms {:.2} worst {:.2} at {:.0},{:.0}; lone {} start {:?} {ms:.1} ms",
                        truth.name,
                        point.x,
                        direction.x,
                        f.axis_sigma.across_mm,
                        f.axis_sigma.turn_rad,
                        f.half.segments().len(),
                        f.corners.len(),
                        at.x,
                        at.y,
                        true_gap.0,
                        true_gap.1,
                        f.wear.rms_mm,
                        f.wear.worst.right_out_mm,
                        f.wear.worst.at.x,
                        f.wear.worst.at.y,
                        f.lone_corners.len(),
                        first.start()
                    );
                }
            }
        }
    }
}
