//! What the garment's other side says. Where a line and its mirror image part over a short stretch, one of the two was
//! missed far more often than the garment is lopsided there: cloth that is worn gives way smoothly, over a hand's breadth
//! and more. Three ways are weighed by what the picture says on both sides: each side as it was found, or the one or the
//! other on both.

use super::drawn::{Drawn, Settled, spliced};
use super::way::{Way, weighed};
use super::{Picture, SILENT, misfit, usual_misfit};
use crate::geometry::mirror;
use crate::geometry::near_line::NearLine;
use crate::geometry::{Point, TracePoint};
use std::ops::Range;

/// Every so many places one is asked for the axis.
const AXIS_EVERY: usize = 4;
/// A place good to so much tells the axis, millimetres.
const AXIS_SIGMA_MM: f64 = 0.1;
/// The sides part where the line stands off its mirror image by this much more than it usually does there, millimetres.
const APART_MM: f64 = 0.8;
/// They have met again where it is less than this, millimetres.
const MET_MM: f64 = 0.4;
/// What is usual where one whole side is worn is told by so many places on either side: cloth gives way over more than these.
const USUAL: usize = 80;
/// Within so many places, about a millimetre apart, before and after.
const MET_WITHIN: usize = 30;
/// ... and where no corner lies within so many places, here or there: it belongs to the stretch.
const CORNER_CLEAR: usize = 6;
/// Places between two stretches that make them one.
const GAP: usize = 12;
/// Fewest and most places of a stretch.
const PLACES: Range<usize> = 5..160;
/// A stretch and its counterpart are alike in length to this part.
const ALIKE: Range<f64> = 0.6..1.7;
/// What a lopsided stretch must have for itself, log likelihood times square millimetres.
const LOPSIDED_COST: f64 = 15.0;
/// By how much the one side must be the better for both.
const BETTER: f64 = 10.0;

/// What the other side says of a line.
#[derive(Default)]
pub(in crate::outline) struct Sides {
    /// The line with the stretches drawn as the other side has them that the picture likes as well or better so.
    pub settled: Option<Settled>,
    /// Places of both sides where they part and the picture tells neither, with how far either may be off, millimetres.
    doubted: Vec<(Point, f64)>,
}

/// A place this near to a doubted one is doubted, millimetres.
const DOUBTED_NEAR_MM: f64 = 1.5;

impl Sides {
    /// How far a place may be off for what the other side says, millimetres.
    pub(in crate::outline) fn doubt_mm(&self, at: Point) -> f64 {
        let near = self.doubted.iter().filter(|d| d.0.distance(at) < DOUBTED_NEAR_MM);
        near.map(|d| d.1).fold(0.0, f64::max)
    }
}

/// Asks the other side of a line, clockwise as seen, wherever the two part; one without a mirror axis is left as it is.
pub(in crate::outline) fn by_the_other_side(
    points: &[TracePoint],
    corners: &[usize],
    picture: &impl Picture,
) -> Sides {
    asked(points, corners, picture).unwrap_or_default()
}

fn asked(points: &[TracePoint], corners: &[usize], picture: &impl Picture) -> Option<Sides> {
    let n = points.len();
    if n < 4 * PLACES.end {
        return None;
    }
    let some: Vec<Point> = points.iter().step_by(AXIS_EVERY).map(|p| p.at).collect();
    #[expect(clippy::cast_precision_loss, reason = "a few places")]
    let axis = mirror::find(&some, AXIS_EVERY as f64, AXIS_SIGMA_MM).ok()?;
    let all: Vec<Point> = points.iter().map(|p| p.at).collect();
    let line = NearLine::new(&all);
    // For every place, where on the line its image comes to lie and how far across it.
    let images: Vec<Point> = all.iter().map(|p| axis.reflect(*p)).collect();
    let (feet, across): (Vec<usize>, Vec<f64>) = line
        .nearest_to(images.iter().copied())
        .zip(&images)
        .map(|(foot, image)| (foot.number, (*image - foot.at).dot(foot.normal)))
        .unzip();
    let usual = |k: usize| if axis.agreed { 0.0 } else { usual_about(&across, k) };
    let off: Vec<f64> = (0..n).map(|k| (across[k] - usual(k)).abs()).collect();
    let clear: Vec<bool> = (0..n)
        .map(|k| corners.iter().all(|&c| (k + n - c) % n > CORNER_CLEAR && (c + n - k) % n > CORNER_CLEAR))
        .collect();
    let met: Vec<bool> = (0..n).map(|k| off[k] < MET_MM && clear[k] && clear[feet[k]]).collect();
    let pairs = pairs(&off, &met, &feet);
    if pairs.is_empty() {
        return None;
    }
    let usual = usual_misfit(points, picture);
    let (mut drawn, mut doubted): (Vec<Drawn>, Vec<(Point, f64)>) = (Vec::new(), Vec::new());
    for pair in pairs {
        let places = |(from, count): (usize, usize)| (0..count).map(move |k| (from + k) % n);
        if pair.iter().any(|s| places(*s).any(|k| picture.cut(all[k]))) {
            continue;
        }
        let own = pair.map(|s| places(s).map(|k| all[k]).collect::<Vec<Point>>());
        // Each as the other side has it, from the same first place to the same last.
        let image = |to: &[Point], of: &[Point]| {
            let reflected: Vec<Point> = of.iter().rev().map(|p| axis.reflect(*p)).collect();
            brought(reflected, to[0], to[to.len() - 1])
        };
        let taken = [image(&own[0], &own[1]), image(&own[1], &own[0])];
        let gain = |k: usize| {
            let way = |path: &[Point]| Way { path: path.to_vec(), corner: None, cost: 0.0 };
            let ways = [way(&own[k]), way(&taken[k])];
            let told = weighed(&ways, picture);
            let against = [0, 1].map(|w| misfit(&ways[w], usual, picture));
            (told[1].worth - against[1] - (told[0].worth - against[0]), told[1].disputed)
        };
        let gains = [gain(0), gain(1)];
        let better = usize::from(gains[1].0 > gains[0].0);
        let worse = 1 - better;
        if gains[better].0 + LOPSIDED_COST < 0.0 {
            continue;
        }
        if gains[better].0 - gains[worse].0 < BETTER {
            doubted.extend(pair.into_iter().flat_map(places).map(|k| (all[k], 0.5 * off[k])));
            continue;
        }
        let ((from, count), (twin, twins)) = (pair[better], pair[worse]);
        if !drawn.iter().all(|d| d.apart(from, count, n)) {
            continue;
        }
        // The counterpart's corners, counted from its other end.
        let theirs = corners.iter().map(|&c| (c + n - twin) % n).filter(|&c| c < twins);
        let path = taken[better].clone();
        drawn.push(Drawn {
            from,
            count,
            path,
            corners: theirs.map(|c| twins - 1 - c).collect(),
            refused: None,
            near: gains[better].1 < SILENT,
        });
    }
    let settled = (!drawn.is_empty()).then(|| spliced(points, corners, &drawn));
    Some(Sides { settled, doubted })
}

/// Stretches over which the line and its mirror image part, each with its counterpart: first place and number of places.
/// `feet` are the places beside which the images lie, `off` is how far from the line, and `met` where a stretch may end.
fn pairs(off: &[f64], met: &[bool], feet: &[usize]) -> Vec<[(usize, usize); 2]> {
    let n = off.len();
    let Some(start) = met.iter().position(|met| *met) else { return Vec::new() };
    let apart: Vec<usize> = (0..n).filter(|k| off[(start + k) % n] > APART_MM).collect();
    let mut out: Vec<[(usize, usize); 2]> = Vec::new();
    for run in apart.chunk_by(|a, b| b - a <= GAP) {
        // A lap on, so that there is always a place before.
        let (first, last) = (n + start + run[0], n + start + run[run.len() - 1]);
        let before = (1..MET_WITHIN.min(n)).map(|k| first - k).find(|k| met[k % n]);
        let after = (1..MET_WITHIN).map(|k| last + k).find(|k| met[k % n]);
        let (Some(before), Some(after)) = (before, after) else { continue };
        let own = (before % n, after - before + 1);
        // Mirrored, the last place is the first.
        let (from, to) = (feet[after % n], feet[before % n]);
        let twin = (from, (to + n - from) % n + 1);
        #[expect(clippy::cast_precision_loss, reason = "a few places")]
        let alike = ALIKE.contains(&(twin.1 as f64 / own.1 as f64));
        let among = |s: (usize, usize), k: usize| (k + n - s.0) % n < s.1;
        let overlap = |a: (usize, usize), b: (usize, usize)| among(a, b.0) || among(b, a.0);
        let new = out.iter().flatten().all(|s| !overlap(*s, own) && !overlap(*s, twin));
        if PLACES.contains(&own.1) && PLACES.contains(&twin.1) && alike && !overlap(own, twin) && new {
            out.push([own, twin]);
        }
    }
    out
}

/// The middle one of the values about place `k` of a ring.
fn usual_about(values: &[f64], k: usize) -> f64 {
    let n = values.len();
    let mut about: Vec<f64> = (0..=2 * USUAL).map(|j| values[(k + n + j - USUAL) % n]).collect();
    *about.select_nth_unstable_by(USUAL, f64::total_cmp).1
}

/// A path moved so that it begins and ends at the places given, what lies between by its share of the way.
#[expect(clippy::cast_precision_loss, reason = "a few places")]
fn brought(path: Vec<Point>, first: Point, last: Point) -> Vec<Point> {
    let most = path.len().saturating_sub(1).max(1) as f64;
    let (begin, end) = (first - path[0], last - path[path.len() - 1]);
    path.into_iter()
        .enumerate()
        .map(|(k, p)| {
            let share = k as f64 / most;
            p + begin * (1.0 - share) + end * share
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::super::path::Station;
    use super::*;

    /// An apron's outline, clockwise as seen and a millimetre a place, its left side bulging by `bulge_mm` at y = 300, and the
    /// indices of its corners.
    fn apron(bulge_mm: f64) -> (Vec<TracePoint>, Vec<usize>) {
        let right = [(0.0, 0.0), (120.0, 0.0), (250.0, 180.0), (280.0, 700.0), (0.0, 700.0)];
        let left = right[1..4].iter().rev().map(|&(x, y)| (-x, y));
        let ring: Vec<Point> = right.into_iter().chain(left).map(Point::from).collect();
        let (mut points, mut corners) = (Vec::new(), Vec::new());
        for (i, a) in ring.iter().enumerate() {
            let b = ring[(i + 1) % ring.len()];
            // The middles of the hems are none.
            if a.x != 0.0 {
                corners.push(points.len());
            }
            let count = a.distance(b).round();
            for t in (0..).map(f64::from).take_while(|t| *t < count) {
                let mut at = a.lerp(b, t / count);
                if at.x < -200.0 && (at.y - 300.0).abs() < 20.0 {
                    at.x -= bulge_mm * (0.5 + 0.5 * ((at.y - 300.0) * std::f64::consts::PI / 20.0).cos());
                }
                points.push(TracePoint { at, sigma_mm: 0.1, bridged: false });
            }
        }
        (points, corners)
    }

    /// How far out the apron's sides lie.
    fn side(y: f64) -> f64 {
        if y < 180.0 { 120.0 + 130.0 * y / 180.0 } else { 250.0 + 30.0 * (y - 180.0) / 520.0 }
    }

    /// A picture that shows this much for cloth between the sides, and as much against it outside; the left side lies `out_mm`
    /// farther out than it should.
    struct Shown {
        out_mm: f64,
        evidence: f32,
    }

    impl Picture for Shown {
        fn cloth(&self, at: Point) -> f32 {
            let within = at.x < side(at.y) && at.x > -side(at.y) - self.out_mm;
            if within { self.evidence } else { -self.evidence }
        }

        fn misfits(&self, stations: &[Station]) -> Vec<f64> {
            vec![0.0; stations.len()]
        }

        fn cut(&self, _: Point) -> bool {
            false
        }
    }

    fn bulge(settled: &Settled) -> f64 {
        let left = settled.line.iter().filter(|p| p.x < -200.0 && (p.y - 300.0).abs() < 5.0);
        left.map(|p| -side(p.y) - p.x).fold(0.0, f64::max)
    }

    #[test]
    fn sides_alike_stand() {
        let (points, corners) = apron(0.0);
        let sides = by_the_other_side(&points, &corners, &Shown { out_mm: 0.0, evidence: 0.0 });
        assert!(sides.settled.is_none() && sides.doubted.is_empty());
    }

    #[test]
    fn where_the_picture_tells_neither_both_are_doubted() {
        let (points, corners) = apron(4.0);
        let sides = by_the_other_side(&points, &corners, &Shown { out_mm: 0.0, evidence: 0.0 });
        assert!(sides.settled.is_none());
        let top = Point::new(-side(300.0) - 4.0, 300.0);
        let other = Point::new(side(300.0), 300.0);
        assert!([top, other].iter().all(|p| (1.8..2.1).contains(&sides.doubt_mm(*p))));
        assert!(sides.doubt_mm(Point::new(side(500.0), 500.0)) <= 0.0);
    }

    #[test]
    fn a_bulge_that_the_picture_denies_goes_and_the_corners_stand() {
        let (points, corners) = apron(4.0);
        let told = by_the_other_side(&points, &corners, &Shown { out_mm: 0.0, evidence: 5.0 })
            .settled
            .expect("a bulge");
        assert!(bulge(&told) < MET_MM, "{}", bulge(&told));
        assert_eq!(told.corners.len(), corners.len());
    }

    #[test]
    fn a_bulge_that_the_picture_shows_stands() {
        let (points, corners) = apron(4.0);
        // The left side lies farther out in the picture.
        let sides = by_the_other_side(&points, &corners, &Shown { out_mm: 5.0, evidence: 5.0 });
        assert!(sides.settled.is_none() && sides.doubted.is_empty());
    }

    #[test]
    fn a_corner_seen_on_one_side_is_put_on_the_other() {
        let (mut points, corners) = apron(0.0);
        // The left shoulder cut off over 12 mm.
        let vertex = Point::new(-250.0, 180.0);
        let near = |p: &TracePoint| p.at.distance(vertex) < 12.0;
        let (first, last) = (points.iter().position(near), points.iter().rposition(near));
        let (first, last) = (first.expect("it is there"), last.expect("it is there"));
        let ends = [points[first].at, points[last].at];
        for k in first..=last {
            let t = f64::from(u32::try_from(k - first).expect("few"))
                / f64::from(u32::try_from(last - first).expect("few"));
            points[k].at = ends[0].lerp(ends[1], t);
        }
        let corners: Vec<usize> = corners.into_iter().filter(|c| !(first..=last).contains(c)).collect();
        let cloth_to_the_corner = Shown { out_mm: 0.0, evidence: 5.0 };
        let told = by_the_other_side(&points, &corners, &cloth_to_the_corner).settled.expect("a corner");
        assert!(told.hints.corner(vertex));
        assert_eq!(told.corners.len(), corners.len() + 1);
    }
}
