//! Sheets of which only a sliver shows, with no whole square of a tag: known by the corners of the tags
//! that do show.
//!
//! Once the camera is known, checker corners that belong to no known sheet are laid out on the table, where
//! neighbours of one sheet stand exactly a square apart. Each group of them is tried as every part of every
//! sheet not yet seen; the print beside the corners decides. A corner that the first look missed, because something
//! lies close to it, is looked for again where its neighbour says that it should stand.

use crate::camera::{Camera, Place, Solution};
use crate::geometry::{Point, Vec2};
use crate::photo::Photo;
use crate::sheet::layout::{self, Ink};
use crate::sheet::{self, LooseCorner, Scale};
use std::f64::consts::{FRAC_PI_2, FRAC_PI_4, PI};
use std::sync::LazyLock;

/// A loose corner nearer than this to a corner of a known sheet is that corner, millimetres.
const SAME_MM: f64 = 3.0;
/// Neighbours of one sheet stand a square apart to within this, millimetres.
const SQUARE_OFF_MM: f64 = 0.9;
/// Turns from its neighbour's diagonal at which a corner is looked for, radians: perspective shears the diagonal.
const GROWN_TURNS: [f64; 3] = [0.0, -0.18, 0.18];
/// How far from there it may lie, in squares.
const GROWN_REACH: f64 = 0.12;
/// Looking for neighbours ends at this many times the corners found at first.
const GROWN_MOST: usize = 4;
/// A member stands this near to where its group's axes say, millimetres.
const STEP_OFF_MM: f64 = 2.0;
/// Fewest corners of a group.
const GROUP_LEAST: usize = 3;
/// Places read beside each corner, along both axes, millimetres from it: the middles of the modules of the
/// tag that may stand there.
const READ_AT: [f64; 4] = [3.0, 5.0, 7.0, 9.0];
/// A whole code is looked for within this of a corner, millimetres: the tags of the squares round it and the next.
const CODE_NEAR_MM: f64 = 36.0;
/// Modules of a code, of 64, that may be read wrong: the codes of two sheets differ in far more.
const CODE_WRONG_MOST: usize = 2;
/// At most one reading in this many may disagree with the sheet.
const WRONG_PART: u32 = 10;
/// By how many readings the best sheet must beat any other: each is a fair coin for a wrong sheet.
const WRONG_MARGIN: u32 = 8;
/// Fewest readings on the board.
const READINGS_LEAST: u32 = 64;

/// A sheet that a group may belong to: its first member is this node, its first axis the sheet's x axis turned by `turn`
/// right angles.
#[derive(Clone, Copy)]
struct Guess {
    wrong: u32,
    sheet: usize,
    at: (i32, i32),
    turn: usize,
}

/// Print beside a corner, a bit a place in the order of [`places_beside`].
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
struct Beside {
    /// Places with ink.
    ink: u64,
    /// Places that show, or lie on the board.
    known: u64,
}

/// Print read beside the members of a group: each with its steps from the first.
type Readings = Vec<((i32, i32), Beside)>;

/// Nodes along a sheet's board.
const NODES: [usize; 2] = [layout::COLUMNS as usize + 1, layout::ROWS as usize + 1];

/// What every sheet prints beside each of its nodes, sheet by sheet and row by row.
static PRINT: LazyLock<Vec<Beside>> = LazyLock::new(|| {
    let nodes =
        |sheet| (0..=layout::ROWS).flat_map(move |r| (0..=layout::COLUMNS).map(move |c| (sheet, c, r)));
    (0..layout::SHEETS)
        .flat_map(nodes)
        .map(|(sheet, column, row)| {
            let node = Point::new(f64::from(column) * layout::SQUARE_MM, f64::from(row) * layout::SQUARE_MM);
            // The bleed may be clipped: nothing is held against what lies beyond the board.
            let ink =
                |d: Vec2| layout::BOARD.contains(node + d).then(|| layout::ink_at(node + d, sheet)).flatten();
            Beside::of(ink)
        })
        .collect()
});

/// The places beside a corner at which print is read: the middles of modules in the four squares that meet there.
fn places_beside() -> impl Iterator<Item = Vec2> {
    let along = || READ_AT.into_iter().flat_map(|v| [-v, v]);
    along().flat_map(move |x| along().map(move |y| Vec2::new(x, y)))
}

impl Beside {
    fn of(ink: impl Fn(Vec2) -> Option<Ink>) -> Self {
        let mut out = Self::default();
        for (k, d) in places_beside().enumerate() {
            if let Some(ink) = ink(d) {
                out.known |= 1 << k;
                out.ink |= u64::from(ink == Ink::Black) << k;
            }
        }
        out
    }

    /// As it is when the first axis is the sheet's x axis turned by `turn` right angles.
    fn turned(self, turn: usize) -> Self {
        let way = |d: Vec2| match turn {
            0 => d,
            1 => Vec2::new(d.y, -d.x),
            2 => -d,
            _ => Vec2::new(-d.y, d.x),
        };
        let places: Vec<Vec2> = places_beside().collect();
        let bit = |d: Vec2| places.iter().position(|p| (*p - way(d)).hypot2() < 1e-6);
        let has = |bits: u64, k: usize| bits >> k & 1 == 1;
        Self::of(|d| {
            let k = bit(d).filter(|&k| has(self.known, k))?;
            Some(if has(self.ink, k) { Ink::Black } else { Ink::White })
        })
    }
}

#[derive(Clone, Copy)]
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
    let seen = loose(corners, solution, camera, scale);
    let grown = grown(photo, camera, seen.clone());
    let mut out: Vec<(usize, Place)> = Vec::new();
    // What was seen at the first look decides first; what is looked for beside it may be no corner at all.
    for loose in [seen, grown] {
        for group in groups(&loose) {
            let known = |s: usize| solution.places[s].is_some() || out.iter().any(|o| o.0 == s);
            if let Some(found) = recognise(photo, camera, &loose, &group, scale, known) {
                out.push(found);
            }
        }
    }
    out
}

/// Corners that no known sheet explains.
fn loose(corners: &[LooseCorner], solution: &Solution, camera: &Camera, scale: Scale) -> Vec<Loose> {
    corners
        .iter()
        .filter_map(|&pixel| {
            let corner = on_table(pixel, camera)?;
            let explained = solution.places.iter().flatten().any(|place| {
                let p = scale.nominal_from_true(place.board_from_table(corner.table));
                let near = |v: f64| (v - (v / layout::SQUARE_MM).round() * layout::SQUARE_MM).abs() < SAME_MM;
                layout::PRINTED.contains(p) && near(p.x) && near(p.y)
            });
            (!explained).then_some(corner)
        })
        .collect()
}

/// The loose corners and those that stand a square from one of them.
fn grown(photo: &Photo, camera: &Camera, mut loose: Vec<Loose>) -> Vec<Loose> {
    let mut next = 0;
    let most = GROWN_MOST * loose.len();
    while next < loose.len() && loose.len() < most {
        let Loose { table, light, pixel } = loose[next];
        next += 1;
        // The lattice runs half way between the light and the dark diagonal.
        let ways = [1.0, 3.0, 5.0, 7.0].into_iter().flat_map(|q| GROWN_TURNS.map(|t| q * FRAC_PI_4 + t));
        for way in ways {
            let wanted = table + Vec2::from_angle(light + way) * layout::SQUARE_MM;
            if loose.iter().any(|l| l.table.distance(wanted) < SAME_MM) {
                continue;
            }
            let found = camera.pixel_from_table(wanted, 0.0).and_then(|start| {
                let width = camera.pixel_from_table(table, 0.0)?.distance(start);
                sheet::refine_corner(photo, start, sheet::window_px(width), GROWN_REACH * width)
            });
            let Some(found) = found else { continue };
            let corner = LooseCorner { at: found.at, light_axis: found.light_axis, middle: pixel.middle };
            let Some(new) = on_table(corner, camera) else { continue };
            if neighbours(&loose[next - 1], &new) {
                loose.push(new);
            }
        }
    }
    loose
}

/// A loose corner on the table.
fn on_table(pixel: LooseCorner, camera: &Camera) -> Option<Loose> {
    let table = camera.table_from_pixel(pixel.at, 0.0)?;
    let along = Vec2::from_angle(pixel.light_axis) * 5.0;
    let ahead = camera.table_from_pixel(pixel.at + along, 0.0)?;
    Some(Loose { table, pixel, light: (ahead - table).atan2() })
}

/// A group: for each member its index and its steps along the group's own two axes; and the first axis.
struct Group {
    members: Vec<(usize, (i32, i32))>,
    axis: f64,
}

/// Corners joined to neighbours one square away whose light diagonal is turned by a right angle; none is in two groups.
fn groups(loose: &[Loose]) -> Vec<Group> {
    let mut taken = vec![false; loose.len()];
    let mut out = Vec::new();
    for seed in 0..loose.len() {
        if taken[seed] {
            continue;
        }
        let firsts = (0..loose.len()).filter(|&j| !taken[j] && neighbours(&loose[seed], &loose[j]));
        let largest =
            firsts.map(|first| group(loose, &taken, seed, first)).rev().max_by_key(|g| g.members.len());
        if let Some(group) = largest.filter(|g| g.members.len() >= GROUP_LEAST) {
            for (i, _) in &group.members {
                taken[*i] = true;
            }
            out.push(group);
        }
    }
    out
}

/// The group that grows from a corner when its axis runs to `first`, among those not taken.
fn group(loose: &[Loose], taken: &[bool], seed: usize, first: usize) -> Group {
    let axis = (loose[first].table - loose[seed].table).atan2();
    let steps = [0.0, 1.0, 2.0, 3.0].map(|k| Vec2::from_angle(axis + k * FRAC_PI_2) * layout::SQUARE_MM);
    let moves = [(1, 0), (0, 1), (-1, 0), (0, -1)];
    let mut taken = taken.to_vec();
    taken[seed] = true;
    let mut members = vec![(seed, (0, 0))];
    let mut next = 0;
    while next < members.len() {
        let (i, at) = members[next];
        next += 1;
        for (step, (dx, dy)) in steps.iter().zip(moves) {
            let wanted = loose[i].table + *step;
            let found = (0..loose.len()).find(|&j| {
                !taken[j] && loose[j].table.distance(wanted) < STEP_OFF_MM && neighbours(&loose[i], &loose[j])
            });
            if let Some(j) = found {
                taken[j] = true;
                members.push((j, (at.0 + dx, at.1 + dy)));
            }
        }
    }
    Group { members, axis }
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
    let near = readings(photo, camera, loose, group);
    let total: u32 = near.iter().map(|r| r.1.known.count_ones()).sum();
    let mut guesses: Vec<Guess> = Vec::new();
    for turn in 0..4 {
        let near: Readings =
            near.iter().map(|(own, beside)| (turned(*own, turn), beside.turned(turn))).collect();
        for sheet in (0..layout::SHEETS).filter(|&s| !known(s)) {
            for row in 0..=layout::ROWS {
                for column in 0..=layout::COLUMNS {
                    let at = (column, row);
                    let wrong = disagreement(&near, sheet, at, total / WRONG_PART);
                    guesses.extend(wrong.map(|wrong| Guess { wrong, sheet, at, turn }));
                }
            }
        }
    }
    let place = |g: &Guess| {
        let pairs: Vec<(Point, Point)> = group
            .members
            .iter()
            .map(|&(i, own)| {
                let (dx, dy) = turned(own, g.turn);
                let node = Point::new(
                    f64::from(g.at.0 + dx) * layout::SQUARE_MM,
                    f64::from(g.at.1 + dy) * layout::SQUARE_MM,
                );
                (scale.true_from_nominal(node), loose[i].table)
            })
            .collect();
        Place::fit(&pairs)
    };
    if let Some(best) = clearest(&guesses) {
        return Some((best.sheet, place(&best)?));
    }
    // Where the codes beside the corners are covered, a whole one farther off decides.
    let least = guesses.iter().map(|g| g.wrong).min()?;
    guesses.into_iter().filter(|g| g.wrong < least + WRONG_MARGIN).find_map(|g| {
        let place = place(&g)?;
        let near = |at: Point| group.members.iter().any(|m| loose[m.0].table.distance(at) < CODE_NEAR_MM);
        let middle = loose[group.members[0].0].pixel.middle;
        let read = (0..layout::TAGS_PER_SHEET).any(|tag| {
            let (column, row) = layout::tag_cell(tag);
            let node = Point::new(f64::from(column) * layout::SQUARE_MM, f64::from(row) * layout::SQUARE_MM);
            let table = |d: Vec2| place.table_from_board(scale.true_from_nominal(node + d));
            near(table(Vec2::new(10.0, 10.0)))
                && code_wrong(photo, camera, table, (node, g.sheet), middle) <= CODE_WRONG_MOST
        });
        read.then_some((g.sheet, place))
    })
}

/// Modules of a tag that do not show what the sheet has there: `node` is its square's corner, `table` places on the table
/// from there.
fn code_wrong(
    photo: &Photo,
    camera: &Camera,
    table: impl Fn(Vec2) -> Point,
    (node, sheet): (Point, usize),
    middle: f64,
) -> usize {
    let middles = || (0..8).map(|k| 3.0 + 2.0 * f64::from(k));
    let wrong = |d: Vec2| {
        let luma = camera.pixel_from_table(table(d), 0.0).and_then(|p| photo.luma(p.x, p.y));
        luma.is_none_or(|v| {
            layout::ink_at(node + d, sheet) != Some(if v > middle { Ink::White } else { Ink::Black })
        })
    };
    middles().flat_map(|x| middles().map(move |y| Vec2::new(x, y))).filter(|d| wrong(*d)).count()
}

/// The guess with the fewest wrong readings, if no other sheet comes near.
fn clearest(guesses: &[Guess]) -> Option<Guess> {
    let best = *guesses.iter().min_by_key(|g| g.wrong)?;
    let clear = |g: &Guess| g.sheet == best.sheet || g.wrong >= best.wrong + WRONG_MARGIN;
    guesses.iter().all(clear).then_some(best)
}

/// The print beside each member, in the group's own axes.
fn readings(photo: &Photo, camera: &Camera, loose: &[Loose], group: &Group) -> Readings {
    let turned = Vec2::from_angle(group.axis);
    let read = |i: usize, own: Vec2| {
        let d = turned * own.x + turned.turn_90() * own.y;
        let pixel = camera.pixel_from_table(loose[i].table + d, 0.0)?;
        let luma = photo.luma(pixel.x, pixel.y)?;
        Some(if luma > loose[i].pixel.middle { Ink::White } else { Ink::Black })
    };
    group.members.iter().map(|&(i, at)| (at, Beside::of(|own| read(i, own)))).collect()
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

/// Readings that disagree when the group's first member is this node of this sheet, both in the sheet's axes; `None` when a
/// member would lie off the board, too little is read, or more than `bound` disagree.
fn disagreement(readings: &Readings, sheet: usize, (column, row): (i32, i32), bound: u32) -> Option<u32> {
    let (mut wrong, mut all) = (0, 0);
    for ((dx, dy), beside) in readings {
        let (c, r) = (usize::try_from(column + dx).ok()?, usize::try_from(row + dy).ok()?);
        if c >= NODES[0] || r >= NODES[1] {
            return None;
        }
        let print = PRINT[(sheet * NODES[1] + r) * NODES[0] + c];
        let both = beside.known & print.known;
        all += both.count_ones();
        wrong += (both & (beside.ink ^ print.ink)).count_ones();
        if wrong > bound {
            return None;
        }
    }
    (all >= READINGS_LEAST).then_some(wrong)
}
