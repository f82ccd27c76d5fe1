//! Boards printed side by side on one roll are one rigid sheet.
//!
//! Sheet s of a mat m boards wide stands at column s mod m, row s div m, a board's width and height apart. Pages laid by
//! hand stand farther apart than that, for their margins.

use crate::camera::{Observation, Place};
use crate::geometry::{Point, Rect, Vec2};
use crate::sheet::{Scale, layout};

/// Boards of one mat stand where it says to within this, millimetres and radians; a free solve places neighbours to a
/// tenth of that.
const SAME_MM: f64 = 0.5;
const SAME_TURN: f64 = 0.0025;
/// A sheet's part of the table when no other is printed beside it: farther than any page reaches, millimetres.
const FREE: Rect = Rect::new(-1000.0, -1000.0, 1000.0, 1000.0);

/// Where a sheet stands on its mat; every sheet by itself when there is none.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Member {
    /// The sheet that stands for the mat: its lowest number.
    mat: usize,
    /// Steps of boards from that one.
    steps: (i32, i32),
}

/// The mats among the sheets of a table.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Mats {
    members: Vec<Option<Member>>,
    scale: Scale,
}

impl Mats {
    /// Reads the mats off the sheets' places.
    pub(super) fn of(places: &[Option<Place>], scale: Scale) -> Self {
        let joined = |columns: usize| joined(places, columns, scale);
        // The narrowest of those that explain most neighbours: more columns than boards in a row explain no more.
        let best =
            (1..=places.len()).map(|m| (m, joined(m))).max_by_key(|(m, pairs)| (pairs.len(), usize::MAX - m));
        let mut members: Vec<Option<Member>> = vec![None; places.len()];
        let Some((columns, pairs)) = best.filter(|b| !b.1.is_empty()) else { return Self { members, scale } };
        let mut mat: Vec<usize> = (0..places.len()).collect();
        for _ in 0..places.len() {
            for &(a, b) in &pairs {
                let first = mat[a].min(mat[b]);
                (mat[a], mat[b]) = (first, first);
            }
        }
        for first in 0..places.len() {
            let own: Vec<usize> =
                (0..places.len()).filter(|&s| places[s].is_some() && mat[s] == first).collect();
            if own.len() < 2 {
                continue;
            }
            let cells: Vec<(i32, i32)> = own.iter().map(|&s| cell(s, columns)).collect();
            let home = cell(first, columns);
            let within = |(c, r): (i32, i32)| {
                let spans = |v: i32, of: &dyn Fn(&(i32, i32)) -> i32| {
                    cells.iter().any(|k| of(k) <= v) && cells.iter().any(|k| of(k) >= v)
                };
                spans(c, &|k| k.0) && spans(r, &|k| k.1)
            };
            for (s, member) in members.iter_mut().enumerate() {
                let at = cell(s, columns);
                // Boards of which nothing is seen lie there all the same when they lie between those that are.
                if own.contains(&s) || (places[s].is_none() && within(at)) {
                    *member = Some(Member { mat: first, steps: (at.0 - home.0, at.1 - home.1) });
                }
            }
        }
        Self { members, scale }
    }

    /// Whether there is any.
    pub(super) fn is_empty(&self) -> bool {
        self.members.iter().all(Option::is_none)
    }

    /// Whether a sheet belongs to one.
    pub(super) fn holds(&self, sheet: usize) -> bool {
        self.members[sheet].is_some()
    }

    /// An observation as one of its mat.
    pub(super) fn joined(&self, o: &Observation) -> Observation {
        let Some(member) = self.members[o.board] else { return *o };
        Observation { board: member.mat, on_board: o.on_board + self.offset(member), ..*o }
    }

    /// Every sheet's place from those of the mats, and of sheets that belong to none.
    pub(super) fn parted(&self, places: &[Option<Place>]) -> Vec<Option<Place>> {
        let of = |s: usize| -> Option<Place> {
            let Some(member) = self.members[s] else { return places[s] };
            let mat = places[member.mat]?;
            Some(Place { origin: mat.table_from_board(self.offset(member).to_point()), turn: mat.turn })
        };
        (0..places.len()).map(of).collect()
    }

    /// The sheet that stands for a sheet's mat, or itself.
    pub(super) fn stands_for(&self, sheet: usize) -> usize {
        self.members[sheet].map_or(sheet, |m| m.mat)
    }

    /// The part of a sheet's frame, nominal millimetres, that no other board of its mat covers.
    pub(super) fn own(&self, sheet: usize) -> Rect {
        let mut own = FREE;
        let Some(me) = self.members[sheet] else { return own };
        for other in self.members.iter().flatten().filter(|o| o.mat == me.mat) {
            match (other.steps.0 - me.steps.0, other.steps.1 - me.steps.1) {
                (-1, 0) => own.x0 = 0.0,
                (1, 0) => own.x1 = layout::BOARD_WIDTH_MM,
                (0, -1) => own.y0 = 0.0,
                (0, 1) => own.y1 = layout::BOARD_HEIGHT_MM,
                _ => {}
            }
        }
        own
    }

    fn offset(&self, member: Member) -> Vec2 {
        offset(member.steps, self.scale)
    }
}

#[expect(clippy::cast_possible_truncation, clippy::cast_possible_wrap, reason = "a few sheets")]
fn cell(sheet: usize, columns: usize) -> (i32, i32) {
    ((sheet % columns) as i32, (sheet / columns) as i32)
}

fn offset((columns, rows): (i32, i32), scale: Scale) -> Vec2 {
    let nominal =
        Point::new(f64::from(columns) * layout::BOARD_WIDTH_MM, f64::from(rows) * layout::BOARD_HEIGHT_MM);
    scale.true_from_nominal(nominal).to_vec2()
}

/// Pairs of sheets that lie as neighbours on a mat of so many columns do.
fn joined(places: &[Option<Place>], columns: usize, scale: Scale) -> Vec<(usize, usize)> {
    let mut out = Vec::new();
    for a in 0..places.len() {
        for b in a + 1..places.len() {
            let (Some(one), Some(other)) = (places[a], places[b]) else { continue };
            let (from, to) = (cell(a, columns), cell(b, columns));
            let steps = (to.0 - from.0, to.1 - from.1);
            if steps.0.abs() > 1 || steps.1.abs() > 1 {
                continue;
            }
            let wanted = one.table_from_board(offset(steps, scale).to_point());
            let turn = (other.turn - one.turn).sin().abs();
            if wanted.distance(other.origin) < SAME_MM && turn < SAME_TURN {
                out.push((a, b));
            }
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mat(columns: usize, seen: &[usize]) -> Vec<Option<Place>> {
        let home = Place { origin: Point::new(30.0, -12.0), turn: 0.4 };
        let mut places = vec![None; 24];
        for &s in seen {
            let at = home.table_from_board(offset(cell(s, columns), Scale::TRUE).to_point());
            places[s] = Some(Place { origin: at, turn: home.turn });
        }
        places
    }

    #[test]
    fn boards_of_a_roll_are_one_and_tell_where_the_hidden_ones_lie() {
        let places = mat(4, &[0, 1, 2, 3, 4, 7, 8, 9, 10, 11]);
        let mats = Mats::of(&places, Scale::TRUE);
        for (s, place) in mats.parted(&places).into_iter().enumerate() {
            assert_eq!(place.is_some(), s < 12, "sheet {s}");
            if s < 12 {
                let wanted = mat(4, &[s])[s].unwrap();
                assert!(place.unwrap().origin.distance(wanted.origin) < 1e-9);
            }
        }
        assert_eq!(mats.own(5), Rect::new(0.0, 0.0, 180.0, 240.0));
        assert_eq!(mats.own(0), Rect::new(-1000.0, -1000.0, 180.0, 240.0));
    }

    #[test]
    fn pages_laid_edge_to_edge_are_no_mat() {
        let mut places = vec![None; 24];
        for s in 0..6 {
            let (c, r) = cell(s, 3);
            let origin = Point::new(f64::from(c) * 210.0, f64::from(r) * 297.0);
            places[s] = Some(Place { origin, turn: 0.0 });
        }
        let mats = Mats::of(&places, Scale::TRUE);
        assert!(mats.is_empty());
        assert_eq!(mats.parted(&places), places);
    }
}
