//! Sheets of which only a sliver shows, with no whole square of a tag: known by the corners of the tags
//! that do show.
//!
//! Once the camera is known, checker corners that belong to no known sheet are laid out on the table, where
//! neighbours of one sheet stand exactly a square apart. Each group of them is tried as every part of every
//! sheet not yet seen; the print beside the corners decides.

use crate::camera::{Camera, Place, Solution};
use crate::geometry::{Point, Vec2};
use crate::photo::Photo;
use crate::sheet::layout::{self, Ink};
use crate::sheet::{LooseCorner, Scale};
use std::f64::consts::{FRAC_PI_2, PI};

/// A loose corner nearer than this to a corner of a known sheet is that corner, millimetres.
const SAME_MM: f64 = 3.0;
/// Neighbours of one sheet stand a square apart to within this, millimetres.
const SQUARE_OFF_MM: f64 = 0.9;
/// Fewest corners of a group.
const GROUP_LEAST: usize = 3;
/// Places read beside each corner, along both axes, millimetres from it: the middles of the modules of the
/// tag that may stand there.
const READ_AT: [f64; 4] = [3.0, 5.0, 7.0, 9.0];
/// At most one reading in this many may disagree with the sheet.
const WRONG_PART: usize = 10;
/// By how many readings the best sheet must beat any other: each is a fair coin for a wrong sheet.
const WRONG_MARGIN: usize = 8;
/// Fewest readings on the board.
const READINGS_LEAST: usize = 64;

/// The best sheet so far.
struct Guess {
    wrong: usize,
    sheet: usize,
    at: (i32, i32),
    turn: usize,
    /// No other sheet comes near.
    clear: bool,
}

struct Loose {
    table: Point,
    pixel: LooseCorner,
    /// Direction of the light diagonal on the table, radians.
    light: f64,
}

/// Sheets recognised by slivers in one photograph, with their places.
pub(super) fn slivers(
    photo: &Photo,
    corners: &[LooseCorner],
    solution: &Solution,
    index: usize,
    scale: Scale,
) -> Vec<(usize, Place)> {
    let camera = &solution.cameras[index];
    let loose = loose(corners, solution, camera, scale);
    let mut out: Vec<(usize, Place)> = Vec::new();
    for group in groups(&loose) {
        let known = |s: usize| solution.places[s].is_some() || out.iter().any(|o| o.0 == s);
        if let Some(found) = recognise(photo, camera, &loose, &group, scale, known) {
            out.push(found);
        }
    }
    out
}

/// Corners that no known sheet explains.
fn loose(corners: &[LooseCorner], solution: &Solution, camera: &Camera, scale: Scale) -> Vec<Loose> {
    corners
        .iter()
        .filter_map(|&pixel| {
            let table = camera.table_from_pixel(pixel.at, 0.0)?;
            let explained = solution.places.iter().flatten().any(|place| {
                let p = scale.nominal_from_true(place.board_from_table(table));
                let near = |v: f64| (v - (v / layout::SQUARE_MM).round() * layout::SQUARE_MM).abs() < SAME_MM;
                layout::PRINTED.contains(p) && near(p.x) && near(p.y)
            });
            if explained {
                return None;
            }
            let along = Vec2::from_angle(pixel.light_axis) * 5.0;
            let ahead = camera.table_from_pixel(pixel.at + along, 0.0)?;
            let light = (ahead - table).atan2();
            Some(Loose { table, pixel, light })
        })
        .collect()
}

/// A group: for each member its index and its steps along the group's own two axes; and the first axis.
struct Group {
    members: Vec<(usize, (i32, i32))>,
    axis: f64,
}

/// Corners joined to neighbours one square away whose light diagonal is turned by a right angle.
fn groups(loose: &[Loose]) -> Vec<Group> {
    let mut taken = vec![false; loose.len()];
    let mut out = Vec::new();
    for seed in 0..loose.len() {
        if taken[seed] {
            continue;
        }
        let Some(first) = (0..loose.len()).find(|&j| !taken[j] && neighbours(&loose[seed], &loose[j])) else {
            continue;
        };
        let axis = (loose[first].table - loose[seed].table).atan2();
        let steps = [0.0, 1.0, 2.0, 3.0].map(|k| Vec2::from_angle(axis + k * FRAC_PI_2) * layout::SQUARE_MM);
        let moves = [(1, 0), (0, 1), (-1, 0), (0, -1)];
        taken[seed] = true;
        let mut members = vec![(seed, (0, 0))];
        let mut next = 0;
        while next < members.len() {
            let (i, at) = members[next];
            next += 1;
            for (step, (dx, dy)) in steps.iter().zip(moves) {
                let wanted = loose[i].table + *step;
                let found = (0..loose.len()).find(|&j| {
                    !taken[j] && loose[j].table.distance(wanted) < 2.0 && neighbours(&loose[i], &loose[j])
                });
                if let Some(j) = found {
                    taken[j] = true;
                    members.push((j, (at.0 + dx, at.1 + dy)));
                }
            }
        }
        if members.len() >= GROUP_LEAST {
            out.push(Group { members, axis });
        }
    }
    out
}

fn neighbours(a: &Loose, b: &Loose) -> bool {
    let distance = a.table.distance(b.table);
    let turn = (a.light - b.light).rem_euclid(PI);
    (distance - layout::SQUARE_MM).abs() < SQUARE_OFF_MM && (turn - FRAC_PI_2).abs() < 0.5
}

/// Which sheet a group belongs to, and where that sheet lies.
fn recognise(
    photo: &Photo,
    camera: &Camera,
    loose: &[Loose],
    group: &Group,
    scale: Scale,
    known: impl Fn(usize) -> bool,
) -> Option<(usize, Place)> {
    // Readings: for each member, in the group's own axes, the print at each place beside it.
    let readings: Vec<((i32, i32), Vec<(Vec2, Ink)>)> = group
        .members
        .iter()
        .map(|&(i, at)| {
            let mut beside = Vec::new();
            for (sx, sy) in [(-1.0, -1.0), (1.0, -1.0), (-1.0, 1.0), (1.0, 1.0)] {
                for x in READ_AT {
                    for y in READ_AT {
                        let own = Vec2::new(sx * x, sy * y);
                        let turned = Vec2::from_angle(group.axis);
                        let d = turned * own.x + Vec2::new(-turned.y, turned.x) * own.y;
                        let luma = camera
                            .pixel_from_table(loose[i].table + d, 0.0)
                            .and_then(|p| photo.luma(p.x, p.y));
                        if let Some(luma) = luma {
                            let ink = if luma > loose[i].pixel.middle { Ink::White } else { Ink::Black };
                            beside.push((own, ink));
                        }
                    }
                }
            }
            (at, beside)
        })
        .collect();
    let total: usize = readings.iter().map(|r| r.1.len()).sum();
    let allowed = total / WRONG_PART;
    let mut best: Option<Guess> = None;
    for turn in 0..4usize {
        for sheet in (0..layout::SHEETS).filter(|&s| !known(s)) {
            for row in 0..=layout::ROWS {
                for column in 0..=layout::COLUMNS {
                    let bound = best.as_ref().map_or(allowed, |b| b.wrong + WRONG_MARGIN).min(allowed);
                    let Some(wrong) = disagreement(&readings, turn, sheet, (column, row), bound) else {
                        continue;
                    };
                    let rival = best.as_ref().filter(|b| b.sheet != sheet).map(|b| b.wrong);
                    let new = Guess { wrong, sheet, at: (column, row), turn, clear: true };
                    match &mut best {
                        Some(b) if wrong >= b.wrong => {
                            b.clear &= rival.is_none() || wrong >= b.wrong + WRONG_MARGIN;
                        }
                        _ => {
                            let clear = rival.is_none_or(|r| r >= wrong + WRONG_MARGIN);
                            best = Some(Guess { clear, ..new });
                        }
                    }
                }
            }
        }
    }
    let Guess { sheet, at, turn, .. } = best.filter(|b| b.clear)?;
    let pairs: Vec<(Point, Point)> = group
        .members
        .iter()
        .map(|&(i, own)| {
            let (dx, dy) = turned(own, turn);
            let node = Point::new(
                f64::from(at.0 + dx) * layout::SQUARE_MM,
                f64::from(at.1 + dy) * layout::SQUARE_MM,
            );
            (scale.true_from_nominal(node), loose[i].table)
        })
        .collect();
    Some((sheet, Place::fit(&pairs)?))
}

/// A step in the group's axes as a step on the sheet, when the group's first axis is the sheet's x axis
/// turned by `turn` right angles.
fn turned((x, y): (i32, i32), turn: usize) -> (i32, i32) {
    match turn {
        0 => (x, y),
        1 => (-y, x),
        2 => (-x, -y),
        _ => (y, -x),
    }
}

/// Readings that disagree when the group's first member is this node of this sheet; `None` when a member
/// would lie off the board, too little is read, or more than `bound` disagree.
fn disagreement(
    readings: &[((i32, i32), Vec<(Vec2, Ink)>)],
    turn: usize,
    sheet: usize,
    (column, row): (i32, i32),
    bound: usize,
) -> Option<usize> {
    let (mut wrong, mut all) = (0usize, 0usize);
    for (own, beside) in readings {
        let (dx, dy) = turned(*own, turn);
        let (c, r) = (column + dx, row + dy);
        if !(0..=layout::COLUMNS).contains(&c) || !(0..=layout::ROWS).contains(&r) {
            return None;
        }
        let node = Point::new(f64::from(c) * layout::SQUARE_MM, f64::from(r) * layout::SQUARE_MM);
        for (d, ink) in beside {
            let d = match turn {
                0 => *d,
                1 => Vec2::new(-d.y, d.x),
                2 => -*d,
                _ => Vec2::new(d.y, -d.x),
            };
            // The bleed may be clipped: nothing is held against what lies beyond the board.
            if layout::BOARD.contains(node + d) {
                all += 1;
                wrong += usize::from(layout::ink_at(node + d, sheet) != Some(*ink));
                if wrong > bound {
                    return None;
                }
            }
        }
    }
    (all >= READINGS_LEAST).then_some(wrong)
}
