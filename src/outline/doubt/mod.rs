//! Stretches of the line that nothing bears out: where cloth and print look alike, the way found there is as good as
//! any other. The line on both sides is trusted; between its arms a corner, roundings of several sizes and
//! the way found are weighed against each other by what the picture says of the area between them (which parts are
//! cloth for sure, which sheet) and of the edge along each, and where it says nothing the simplest is taken.

mod drawn;
mod hints;
mod stretch;
mod twin;
mod way;

use super::bridge::{self, Bend};
use super::kink::Kink;
use super::path::Station;
use super::smooth::turn_deg;
use crate::geometry::{Point, TracePoint};
pub(super) use drawn::Settled;
use drawn::{Drawn, spliced};
use hints::ABOUT_MM;
pub(super) use hints::Hints;
use stretch::{TURN_CHORD, TURN_WITHIN, stretches};
pub(super) use twin::by_the_other_side;
use way::{Way, across, rounding, setbacks, station, walk, weighed};

/// A place with a standard deviation above this is in doubt, millimetres: sharp edges stay under a third of it.
const DOUBT_MM: f64 = 0.3;
/// What of the arms is used, distances from the stretch's end, millimetres.
const ARM: (f64, f64) = (1.0, 24.0);
/// An arm that strays more than this tells no direction, millimetres.
const ARM_RMS_MOST_MM: f64 = 0.25;
/// Least turn between arms that meet in a corner or in its rounding, degrees.
const TURN_LEAST_DEG: f64 = 42.0;
/// Most by which an arm may be carried beyond the stretch's chord, as a part of it.
const CARRY: f64 = 1.5;
/// A rounding begins no more than so many times as far on one side as on the other: it is struck round a plate.
const LOPSIDED: f64 = 3.0;
/// What a rounding must have for itself against a corner, log likelihood times square millimetres.
const ROUNDING_COST: f64 = 25.0;
/// What a way must have for itself against the one found.
const GAIN: f64 = 15.0;
/// What must speak against the edge of a stretch with a corner before another is tried.
const MISFIT_LEAST: f64 = 20.0;
/// What speaks against an edge counts by this part: neighbouring places err together.
const MISFIT_PART: f64 = 0.5;
/// Most that may speak against it at one place, where a print's edge or a fold is not what was expected.
const MISFIT_MOST: f64 = 25.0;
/// Evidence for and against below which the picture says nothing: then a corner is taken.
const SILENT: f64 = 6.0;

/// What is asked of the picture.
pub(super) trait Picture {
    /// How much more likely a place is cloth than not, log likelihood.
    fn cloth(&self, at: Point) -> f32;
    /// What speaks against an edge at each of these stations, log likelihood.
    fn misfits(&self, stations: &[Station]) -> Vec<f64>;
    /// Whether a strap was cut off here.
    fn cut(&self, at: Point) -> bool;
}

/// Settles the doubtful stretches of a closed line, clockwise as seen; `None` where there are none to settle.
pub(super) fn settle(points: &[TracePoint], corners: &[usize], picture: &impl Picture) -> Option<Settled> {
    let n = points.len();
    // A line too short to have arms beside a turn.
    if n < 4 * TURN_WITHIN {
        return None;
    }
    let runs = stretches(points, corners);
    if runs.is_empty() {
        return None;
    }
    let usual = usual_misfit(points, picture);
    let mut drawn: Vec<Drawn> = Vec::new();
    for (from, count) in runs {
        // A stretch of which a part was settled is settled.
        if !drawn.iter().all(|d| d.apart(from, count, n))
            || (0..count).any(|k| picture.cut(points[(from + k) % n].at))
        {
            continue;
        }
        let own: Vec<Point> =
            corners.iter().filter(|&&c| (c + n - from) % n < count).map(|&c| points[c].at).collect();
        drawn.extend(redrawn(points, (from, count), &own, usual, picture));
    }
    if drawn.is_empty() {
        return None;
    }
    Some(spliced(points, corners, &drawn))
}

/// A stretch, first place and number of places, drawn anew; `None` where the way found stands. `corners` are what it has of
/// them.
fn redrawn(
    points: &[TracePoint],
    (first, count): (usize, usize),
    corners: &[Point],
    usual: f64,
    picture: &impl Picture,
) -> Option<Drawn> {
    let n = points.len();
    let (before, after) = ((first + n - 1) % n, (first + count) % n);
    let clear = vec![false; n];
    let trusted = |end: usize, step: usize| {
        bridge::arm(points, &clear, end, step, ARM, Bend::Stiff).filter(|a| a.rms_mm < ARM_RMS_MOST_MM)
    };
    let (a, b) = (trusted(before, n - 1)?, trusted(after, 1)?);
    let (from, to) = (points[before].at, points[after].at);
    let found: Vec<Point> = {
        let count = (after + n - before) % n + 1;
        (0..count).map(|k| points[(before + k) % n].at).collect()
    };
    let (u, v) = bridge::meet(&a, &b, CARRY * from.distance(to) + 5.0)
        .filter(|&(u, v)| turn_deg(&a, u, &b, v) >= TURN_LEAST_DEG && u > 0.0 && v > 0.0)?;
    let misfit = |way: &Way| misfit(way, usual, picture);
    let mut ways: Vec<Way> = vec![Way { path: found, corner: None, cost: 0.0 }];
    let doubt = misfit(&ways[0]);
    // Two corners may be the ends of one that was cut off: they are always asked.
    if corners.len() == 1 && doubt < MISFIT_LEAST {
        return None;
    }
    let vertex = a.at(u);
    let mut path = walk(&a, 0.0, u);
    let corner = path.len();
    path.push(vertex);
    path.extend(walk(&b, 0.0, v).into_iter().rev());
    ways.push(Way { path, corner: Some(corner), cost: 0.0 });
    // Its roundings, by how far before and after the corner they begin.
    let (befores, afters) = (setbacks(u), setbacks(v));
    let mut at = vec![vec![None; afters.len()]; befores.len()];
    for (i, s) in befores.iter().enumerate() {
        for (j, t) in afters.iter().enumerate().filter(|(_, t)| s / *t < LOPSIDED && *t / s < LOPSIDED) {
            at[i][j] = Some(ways.len());
            ways.push(Way { path: rounding((&a, u, *s), (&b, v, *t)), corner: None, cost: ROUNDING_COST });
        }
    }
    let told = weighed(&ways, picture);
    // The edges along a way are looked at too; of the roundings, uphill from the one that the areas make the likeliest.
    let total = |k: usize| told[k].worth - ways[k].cost - misfit(&ways[k]);
    let (found, mut best) = (told[0].worth - doubt, (total(1), 1));
    let grid = (0..befores.len()).flat_map(|i| (0..afters.len()).map(move |j| (i, j)));
    let likeliest = grid
        .filter_map(|(i, j)| Some((told[at[i][j]?].worth, i, j)))
        .max_by(|p, q| p.0.total_cmp(&q.0).then((p.1, p.2).cmp(&(q.1, q.2))));
    if let Some((_, mut i, mut j)) = likeliest {
        let mut asked: Vec<Option<f64>> = vec![None; ways.len()];
        let mut ask = |k: usize| *asked[k].get_or_insert_with(|| total(k));
        loop {
            let beside = (i.saturating_sub(1)..(i + 2).min(befores.len()))
                .flat_map(|i| (j.saturating_sub(1)..(j + 2).min(afters.len())).map(move |j| (i, j)));
            let here = at[i][j].map_or(f64::NEG_INFINITY, &mut ask);
            let next = beside
                .filter_map(|(i, j)| Some((ask(at[i][j]?), i, j)))
                .max_by(|p, q| p.0.total_cmp(&q.0).then((p.1, p.2).cmp(&(q.1, q.2))));
            match next {
                Some((worth, to_i, to_j)) if worth > here => (i, j) = (to_i, to_j),
                _ => break,
            }
        }
        if let Some(k) = at[i][j] {
            let worth = ask(k);
            if worth > best.0 {
                best = (worth, k);
            }
        }
    }
    let (worth, best) = best;
    let silent = told[best].disputed < SILENT;
    let denied = || {
        let off = |k: &usize| points[*k % n].at.distance_squared(vertex);
        let nearest = (before..before + (after + n - before) % n).min_by(|p, q| off(p).total_cmp(&off(q)));
        nearest.and_then(|k| Kink::at(points, k % n)).is_some_and(|k| k.denied())
    };
    let a_corner = ways[best].corner.is_some();
    // A corner for a corner is no gain: that was placed by what lies nearer to it.
    let stood = corners.iter().any(|c| c.distance(vertex) < ABOUT_MM);
    // One corner is simpler than two, and where nothing is seen simpler than a line that is as good.
    let simpler = match corners.len() {
        0 => silent && a_corner && worth >= found && !denied(),
        1 => false,
        _ => a_corner && worth >= found,
    };
    if a_corner && stood || worth - found < GAIN && !simpler {
        return None;
    }
    let Way { path, corner, .. } = ways.swap_remove(best);
    let refused = corner.is_none().then_some(vertex);
    // Where the edges speak for it they are looked for along it.
    let near = silent && worth - found < GAIN;
    Some(Drawn { from: first, count, path, corners: corner.into_iter().collect(), refused, near })
}

/// What speaks against the edge along a way beyond what usually does.
fn misfit(way: &Way, usual: f64, picture: &impl Picture) -> f64 {
    let over = picture.misfits(&across(way)).into_iter().map(|m| (m - usual).clamp(0.0, MISFIT_MOST));
    MISFIT_PART * over.sum::<f64>()
}

/// What usually speaks against the edge of this line.
fn usual_misfit(points: &[TracePoint], picture: &impl Picture) -> f64 {
    const ASKED: usize = 200;
    let n = points.len();
    let good: Vec<usize> = (TURN_CHORD..n.saturating_sub(TURN_CHORD))
        .filter(|&i| (i - TURN_CHORD..i + TURN_CHORD).all(|k| points[k].sigma_mm < DOUBT_MM))
        .collect();
    let stations: Vec<Station> = good
        .iter()
        .step_by(good.len().div_ceil(ASKED).max(1))
        .map(|&i| station(points[i - 2].at, points[i].at, points[i + 2].at))
        .collect();
    let mut misfits = picture.misfits(&stations);
    misfits.sort_by(f64::total_cmp);
    misfits.get(misfits.len() / 2).copied().unwrap_or(0.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Cloth with a corner at (100, 0), under it to the left; what the picture tells of it.
    struct Told {
        evidence: f32,
        misfit: f64,
    }

    impl Picture for Told {
        fn cloth(&self, at: Point) -> f32 {
            if at.x < 100.0 && at.y > 0.0 { self.evidence } else { -self.evidence }
        }

        fn misfits(&self, stations: &[Station]) -> Vec<f64> {
            let off = |p: Point| (p.y.abs()).min((p.x - 100.0).abs());
            stations.iter().map(|s| if off(s.at) > 0.7 { self.misfit } else { 0.0 }).collect()
        }

        fn cut(&self, _: Point) -> bool {
            false
        }
    }

    /// A square whose corner at (100, 0) is cut off over 9 mm, with doubt.
    fn chamfered() -> Vec<TracePoint> {
        let place =
            |x: f64, y: f64, sigma_mm: f64| TracePoint { at: Point::new(x, y), sigma_mm, bridged: false };
        let mut points: Vec<TracePoint> = (0..=91).map(|k| place(f64::from(k), 0.0, 0.1)).collect();
        points.extend((1..9).map(|k| place(91.0 + f64::from(k), f64::from(k), 0.6)));
        points.extend((9..=100).map(|k| place(100.0, f64::from(k), 0.1)));
        points.extend((1..=100).map(|k| place(100.0 - f64::from(k), 100.0, 0.1)));
        points.extend((1..100).map(|k| place(0.0, 100.0 - f64::from(k), 0.1)));
        points
    }

    #[test]
    fn where_nothing_is_seen_the_arms_make_a_corner() {
        let settled =
            settle(&chamfered(), &[], &Told { evidence: 0.0, misfit: 0.0 }).expect("a stretch in doubt");
        let corner = settled.corners.iter().map(|&c| settled.line[c]).find(|p| p.y < 50.0 && p.x > 50.0);
        assert!(corner.is_some_and(|c| c.distance(Point::new(100.0, 0.0)) < 0.3), "{corner:?}");
    }

    #[test]
    fn an_edge_seen_along_the_corner_makes_it() {
        let settled =
            settle(&chamfered(), &[], &Told { evidence: 0.0, misfit: 20.0 }).expect("a stretch in doubt");
        assert!(settled.hints.corner(Point::new(100.0, 0.0)));
    }

    #[test]
    fn what_is_seen_to_be_no_cloth_makes_no_corner() {
        // Sheet shows where the corner would be.
        let denied = Told { evidence: -4.0, misfit: 0.0 };
        let settled = settle(&chamfered(), &[], &denied);
        assert!(settled.is_none_or(|s| !s.hints.corner(Point::new(100.0, 0.0))));
    }
}
