//! The mirror axis of an outline, by robust reflection alignment.
//!
//! Enters points along a closed outline, millimetres. Leaves the axis, in the same frame, with its standard
//! deviations. Every direction is tried coarsely about the centroid. From the best few, partners are taken as
//! the nearest points on the reflected outline and the axis follows in closed form: with q the partner of p,
//! both about the weighted centroid, 2φ = atan2(b, a), a = Σ(px qx − py qy), b = Σ(px qy + py qx) (Mardia, Bookstein &
//! Moreton 2000, doi:10.1093/biomet/87.2.285; Klingenberg, Barluenga & Meyer 2002,
//! doi:10.1111/j.0014-3820.2002.tb00117.x). Then distances across the line alone count (Chen & Medioni 1992,
//! doi:10.1016/0262-8856(92)90066-C) with weights of Geman & McClure (1987), so that what is pulled out on a part
//! of one side does not draw the axis.
//!
//! Where most of the outline does not agree with its mirror image, one whole side is stretched, and no majority is
//! left to go by. Then the axis is looked for at which one side stands outside the other nearly everywhere and as
//! little as can be: cloth gives with wear, it does not shrink. The loss is steep where the stretched side would
//! stand inside and flat where it stands outside (asymmetric least absolute deviations, as in quantile regression:
//! Koenker & Bassett 1978, doi:10.2307/1913643), once with a bounded slope and once with a falling one; they err
//! to opposite sides, so a mean is taken and half their difference told as the deviation.

use super::near_line::NearLine;
use super::{Point, Vec2};
use std::f64::consts::PI;

/// Directions tried at first.
const DIRECTIONS: usize = 72;
/// Of them followed on a few points.
const FOLLOWED: usize = 5;
/// Of these followed to the end on all points, where nearly all the time goes. A piece with as many as three lines that
/// come near to being its axis (a square has four, but they are alike) needs more.
const FINISHED: usize = 2;
/// A candidate that costs more than this many times the best on the few points is not followed to the end. At the axis of a
/// garment with one side stretched the few points cost a third of what they do at a line that is none.
const HOPELESS: f64 = 3.0;
/// A coarse distance counts at most this part of the outline's size.
const COARSE_CAP: f64 = 0.05;
/// Candidates are compared by a loss of this scale, as part of the outline's size.
const COST_PART: f64 = 0.01;
/// Rounds of partners and closed form.
const CLOSED_ROUNDS: usize = 12;
/// Rounds of Gauss-Newton across the line while the weights narrow, on one point in this many ...
const ROUNDS: usize = 16;
const NARROWED_BY: usize = 4;
/// ... and then at most on all of them.
const SETTLED_ROUNDS: usize = 12;
/// An axis that moves by less than this at the outline's rim has settled, mm: far below what any line is good to.
const STILL_MM: f64 = 1e-5;
/// Least scale of the weights, mm: a fitted line is no truer than this.
const SCALE_FLOOR_MM: f64 = 0.15;
/// Most of the outline agrees with its mirror image if this part of it ...
const AGREED_PART: f64 = 0.6;
/// ... lies within this of it, mm, ...
const AGREED_MM: f64 = 0.2;
/// ... or within this many standard deviations of the fitted line.
const AGREED_SIGMAS: f64 = 5.0;
/// The first search for the axis of a stretched piece reaches this far either side, mm at the outline's rim, ...
const GRID_MM: f64 = 4.0;
/// ... in this many steps; each further search is over half of it, about the best.
const GRID_STEPS: i32 = 6;
const GRID_ROUNDS: usize = 9;
/// The two losses of a stretched side that stands out: slope at 0 (inside it is 1), and how soon it falls, mm.
const FALLING: (f64, f64) = (0.1, 0.3);
const STEADY: (f64, f64) = (0.15, 1.0);
/// Share of the second in the axis: the more of a side is stretched, the more it is drawn.
const STEADY_SHARE: f64 = 0.35;
/// Errors of a fitted line go together over about this length, mm.
const TOGETHER_MM: f64 = 15.0;
/// There is no axis if a quarter of the outline lies further than this part of its size (root mean square distance
/// from its middle) from its mirror image. Stretched garments of the test scenes reach 0.5 %, a sleeve 1.2 %.
const NO_AXIS_PART: f64 = 0.008;

/// A mirror axis.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Mirror {
    /// A point of it.
    pub(crate) point: Point,
    /// Its direction, of length 1, either way.
    pub(crate) direction: Vec2,
    /// Standard deviation across it at `point`, mm.
    pub(crate) across_mm: f64,
    /// Standard deviation of its direction, radians.
    pub(crate) turn_rad: f64,
    /// Whether most of the outline agrees with its mirror image.
    pub(crate) agreed: bool,
}

/// The outline is not its own mirror image about any line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct NoAxis {
    /// At the best axis a quarter of the outline lies further than this from its mirror image, millimetres.
    pub(crate) residual_mm: f64,
    /// What would still be an axis, millimetres.
    pub(crate) limit_mm: f64,
}

impl Mirror {
    /// The mirror image of a point.
    pub(crate) fn reflect(&self, p: Point) -> Point {
        let m = Vec2::new(-self.direction.y, self.direction.x);
        p - m * (2.0 * (p - self.point).dot(m))
    }
}

/// The mirror axis of the clockwise outline through these evenly spaced points, `step_mm` apart, each good to `sigma_mm`.
pub(crate) fn find(points: &[Point], step_mm: f64, sigma_mm: f64) -> Result<Mirror, NoAxis> {
    let cells = NearLine::new(points);
    let centre = (points.iter().fold(Vec2::ZERO, |s, p| s + p.to_vec2()) / points.len() as f64).to_point();
    let size = (points.iter().map(|p| (*p - centre).hypot2()).sum::<f64>() / points.len() as f64).sqrt();
    let few: Vec<Point> = points.iter().copied().step_by((points.len() / 150).max(1)).collect();
    // Rough candidates are told apart on the few points; only what is followed to the end needs the true line.
    let few_cells = NearLine::new(&few);
    let angle = |k: usize| PI * k as f64 / DIRECTIONS as f64;
    let cap = COARSE_CAP * size;
    let coarse: Vec<f64> = (0..DIRECTIONS)
        .map(|k| {
            let mirror = Mirror {
                point: centre,
                direction: Vec2::from_angle(angle(k)),
                across_mm: 0.0,
                turn_rad: 0.0,
                agreed: false,
            };
            let images = few.iter().map(|p| mirror.reflect(*p));
            few_cells.nearest_to(images).map(|foot| foot.distance.min(cap).powi(2)).sum()
        })
        .collect();
    let mut starts: Vec<usize> = (0..DIRECTIONS)
        .filter(|&k| {
            coarse[k] <= coarse[(k + 1) % DIRECTIONS] && coarse[k] < coarse[(k + DIRECTIONS - 1) % DIRECTIONS]
        })
        .collect();
    starts.sort_by(|&a, &b| coarse[a].total_cmp(&coarse[b]));
    let mut rough: Vec<(f64, Mirror)> = starts
        .into_iter()
        .take(FOLLOWED)
        .map(|k| roughly(&few_cells, &few, centre, angle(k), size))
        .collect();
    rough.sort_by(|a, b| a.0.total_cmp(&b.0));
    let hopeless = HOPELESS * rough.first().map_or(0.0, |(cost, _)| *cost);
    let best = rough
        .into_iter()
        .take(FINISHED)
        .take_while(|(cost, _)| *cost <= hopeless)
        .map(|(_, mirror)| follow(&cells, points, mirror, size, AGREED_MM.max(AGREED_SIGMAS * sigma_mm)))
        .min_by(|a, b| a.cost.total_cmp(&b.cost))
        .ok_or(NoAxis { residual_mm: size, limit_mm: NO_AXIS_PART * size })?;
    let limit_mm = NO_AXIS_PART * size;
    if best.quartile > limit_mm {
        return Err(NoAxis { residual_mm: best.quartile, limit_mm });
    }
    let agreed = best.agreed;
    let mirror = best.finish(step_mm);
    Ok(if agreed { mirror } else { stretched(&cells, points, mirror, size) })
}

/// A candidate axis followed to the end.
struct Candidate {
    mirror: Mirror,
    cost: f64,
    quartile: f64,
    agreed: bool,
    scale: f64,
    information: [f64; 3],
}

impl Candidate {
    /// The axis with its covariance: inverse information times the scatter of what agrees.
    fn finish(self, step_mm: f64) -> Mirror {
        let [oo, of, ff] = self.information;
        let det = (oo * ff - of * of).max(1e-12);
        let shared = (TOGETHER_MM / step_mm).max(1.0);
        // Each pair is met twice, once from either side.
        let variance = self.scale.powi(2) * 2.0 * shared;
        Mirror {
            across_mm: (variance * ff / det).sqrt(),
            turn_rad: (variance * oo / det).sqrt(),
            agreed: self.agreed,
            ..self.mirror
        }
    }
}

/// One pair across the line: distance, and its change with the axis' offset and turn.
struct Pair {
    r: f64,
    offset: f64,
    turn: f64,
}

fn pairs(cells: &NearLine, points: &[Point], mirror: &Mirror) -> Vec<Pair> {
    let u = mirror.direction;
    let m = Vec2::new(-u.y, u.x);
    let feet = cells.nearest_to(points.iter().map(|p| mirror.reflect(*p)));
    points
        .iter()
        .zip(feet)
        .map(|(p, foot)| {
            let d = *p - mirror.point;
            let turn = 2.0 * (d.dot(u) * m + d.dot(m) * u);
            Pair {
                r: foot.normal.dot(mirror.reflect(*p) - foot.at),
                offset: foot.normal.dot(2.0 * m),
                turn: foot.normal.dot(turn),
            }
        })
        .collect()
}

/// Geman and McClure's loss.
fn loss(r: f64, scale: f64) -> f64 {
    let q = (r / scale).powi(2);
    q / (1.0 + q)
}

/// The axis of a piece with one side stretched; see the module.
fn stretched(cells: &NearLine, points: &[Point], from: Mirror, size: f64) -> Mirror {
    let sides = [1.0, -1.0].map(|side| search(cells, points, &from, side, FALLING, size));
    let (side, falling) = if sides[0].0 <= sides[1].0 { (1.0, sides[0].1) } else { (-1.0, sides[1].1) };
    let (_, steady) = search(cells, points, &falling, side, STEADY, size);
    let turn = falling.direction.cross(steady.direction).asin();
    let mut mirror = falling;
    mirror.direction = Vec2::from_angle(falling.direction.atan2() + STEADY_SHARE * turn);
    mirror.point = falling.point.lerp(steady.point, STEADY_SHARE);
    let m = Vec2::new(-mirror.direction.y, mirror.direction.x);
    let apart = (steady.point - falling.point).dot(m);
    Mirror {
        across_mm: from.across_mm.hypot(0.5 * apart),
        turn_rad: from.turn_rad.hypot(0.5 * turn),
        ..mirror
    }
}

/// The axis about which `side` stands outside the other, least loss first found by ever finer grids.
fn search(
    cells: &NearLine,
    points: &[Point],
    from: &Mirror,
    side: f64,
    slope: (f64, f64),
    size: f64,
) -> (f64, Mirror) {
    let mut mirror = *from;
    let mut reach = GRID_MM;
    let mut least = f64::INFINITY;
    for _ in 0..GRID_ROUNDS {
        let m = Vec2::new(-mirror.direction.y, mirror.direction.x);
        let other: Vec<Point> =
            points.iter().copied().filter(|p| side * (*p - mirror.point).dot(m) < 0.0).collect();
        // The normals point inwards: a mirrored point inside the outline lies at a positive distance.
        let pairs = pairs(cells, &other, &mirror);
        let sum = |o: f64, f: f64| {
            pairs
                .iter()
                .map(|p| {
                    let out = p.r + p.offset * o + p.turn * f;
                    if out > 0.0 { slope.0 * slope.1 * (out / slope.1).ln_1p() } else { -out }
                })
                .sum::<f64>()
                / pairs.len().max(1) as f64
        };
        let (mut best, mut at) = (f64::INFINITY, (0.0, 0.0));
        for i in -GRID_STEPS..=GRID_STEPS {
            for j in -GRID_STEPS..=GRID_STEPS {
                let part = reach / f64::from(GRID_STEPS);
                let (o, f) = (part * f64::from(i), part * f64::from(j) / size);
                let s = sum(o, f);
                if s < best {
                    (best, at) = (s, (o, f));
                }
            }
        }
        least = best;
        shift(&mut mirror, at.0, at.1);
        reach *= 0.5;
    }
    (least, mirror)
}

fn quantile(mut v: Vec<f64>, part: f64) -> f64 {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "an index below the length")]
    let at = (v.len() as f64 * part) as usize;
    *v.select_nth_unstable_by(at, f64::total_cmp).1
}

fn median(v: Vec<f64>) -> f64 {
    quantile(v, 0.5)
}

/// A candidate axis followed on a few points by the closed form, and what it costs there.
fn roughly(cells: &NearLine, few: &[Point], centre: Point, angle: f64, size: f64) -> (f64, Mirror) {
    let mut mirror = Mirror {
        point: centre,
        direction: Vec2::from_angle(angle),
        across_mm: 0.0,
        turn_rad: 0.0,
        agreed: false,
    };
    for _ in 0..CLOSED_ROUNDS {
        closed_form(cells, few, &mut mirror);
    }
    (pairs(cells, few, &mirror).iter().map(|p| loss(p.r, COST_PART * size)).sum(), mirror)
}

fn follow(cells: &NearLine, points: &[Point], mut mirror: Mirror, size: f64, agreed_mm: f64) -> Candidate {
    let mut scale = 0.02 * size;
    // The weights narrow on a part of the points; all of them settle the axis.
    let part: Vec<Point> = points.iter().copied().step_by(NARROWED_BY).collect();
    for round in 0..ROUNDS + SETTLED_ROUNDS {
        let pairs = pairs(cells, if round < ROUNDS { &part } else { points }, &mirror);
        let moved_mm = step(&pairs, scale, size, &mut mirror);
        let seen = 1.4826 * median(pairs.iter().map(|p| p.r.abs()).collect());
        let before = scale;
        scale = (0.7 * scale).max(seen.max(SCALE_FLOOR_MM));
        if round > ROUNDS && moved_mm < STILL_MM && (before - scale).abs() < STILL_MM {
            break;
        }
    }
    let pairs = pairs(cells, points, &mirror);
    let mut information = [0.0; 3];
    let (mut inside, mut weights) = (0.0, 0.0);
    for p in &pairs {
        let w = (1.0 + (p.r / scale).powi(2)).powi(-2);
        information[0] += w * p.offset * p.offset;
        information[1] += w * p.offset * p.turn;
        information[2] += w * p.turn * p.turn;
        inside += w * p.r * p.r;
        weights += w;
    }
    Candidate {
        cost: pairs.iter().map(|p| loss(p.r, COST_PART * size)).sum(),
        quartile: quantile(pairs.iter().map(|p| p.r.abs()).collect(), 0.75),
        agreed: pairs.iter().filter(|p| p.r.abs() < agreed_mm).count() as f64
            > AGREED_PART * pairs.len() as f64,
        scale: (inside / weights.max(1e-12)).sqrt(),
        information,
        mirror,
    }
}

/// One round of nearest partners and the closed form, the worse half of the pairs left out.
fn closed_form(cells: &NearLine, points: &[Point], mirror: &mut Mirror) {
    let feet = cells.nearest_to(points.iter().map(|p| mirror.reflect(*p)));
    let partners: Vec<(Point, Point, f64)> =
        points.iter().zip(feet).map(|(p, foot)| (*p, foot.at, foot.distance)).collect();
    let limit = median(partners.iter().map(|p| p.2).collect());
    let kept: Vec<_> = partners.into_iter().filter(|p| p.2 <= limit).collect();
    let count = kept.len() as f64;
    let mean = kept.iter().fold(Vec2::ZERO, |s, p| s + p.0.to_vec2() + p.1.to_vec2()) / (2.0 * count);
    let (mut a, mut b) = (0.0, 0.0);
    for (p, q, _) in &kept {
        let (p, q) = (p.to_vec2() - mean, q.to_vec2() - mean);
        a += p.x * q.x - p.y * q.y;
        b += p.x * q.y + p.y * q.x;
    }
    mirror.point = mean.to_point();
    mirror.direction = Vec2::from_angle(0.5 * b.atan2(a));
}

/// One Gauss-Newton step with Geman and McClure's weights; how far it moves the axis at the rim, mm.
fn step(pairs: &[Pair], scale: f64, size: f64, mirror: &mut Mirror) -> f64 {
    let (mut oo, mut of, mut ff, mut go, mut gf) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for p in pairs {
        let w = (1.0 + (p.r / scale).powi(2)).powi(-2);
        oo += w * p.offset * p.offset;
        of += w * p.offset * p.turn;
        ff += w * p.turn * p.turn;
        go -= w * p.offset * p.r;
        gf -= w * p.turn * p.r;
    }
    let det = oo * ff - of * of;
    if det <= 1e-9 * oo * ff {
        return 0.0;
    }
    let (offset, turn) = ((go * ff - gf * of) / det, (gf * oo - go * of) / det);
    shift(mirror, offset, turn);
    offset.abs() + size * turn.abs()
}

/// Moves the axis by an offset across it and a turn about its point.
fn shift(mirror: &mut Mirror, offset: f64, turn: f64) {
    let m = Vec2::new(-mirror.direction.y, mirror.direction.x);
    mirror.point += m * offset;
    let angle = mirror.direction.atan2() + turn;
    mirror.direction = Vec2::from_angle(angle);
}
