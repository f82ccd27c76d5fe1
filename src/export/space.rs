//! Where words fit: the free space inside a piece, kept clear of its lines and of words already set.
//!
//! Frame and unit are the piece's, millimetres. Boxes are upright.

use super::plan::Pages;
use super::tiling::crosses;
use crate::geometry::{Point, Rect, Ring, Vec2};
use std::cmp::Reverse;
use std::collections::BinaryHeap;

/// Steps of the search, millimetres: a label need not stand more exactly.
const STEP_MM: f64 = 5.0;
/// Chords of the outline for this purpose only, millimetres.
const CHORD_MM: f64 = 0.2;
/// What one crossing of a page seam counts against a place, in millimetres of distance: a label on one page is
/// worth this much wandering.
pub(super) const SEAM_COST_MM: f64 = 400.0;

/// What covering words counts against a place, in half rounds of their box.
pub(super) const WORDS_COST: f64 = 6.0;
/// What the line of the piece counts against a place, as a multiple of its length: the knife follows it, and nothing
/// else should be drawn across it. More drives words and squares further from where they are looked for.
const EDGE_COST: f64 = 5.0;
/// What any other line counts, as a multiple of its length.
const THIN_COST: f64 = 1.0;
/// Steps in which places on a page are tried, millimetres: finer finds little more room.
const TRIED_MM: f64 = 6.0;

/// Page borders that a label had better not cross.
#[derive(Debug, Clone, Default)]
pub(super) struct Seams {
    /// Upright borders: their x.
    pub(super) upright: Vec<f64>,
    /// Level borders: their y.
    pub(super) level: Vec<f64>,
}

/// A line that words keep clear of, and what a millimetre of it counts where they cannot.
#[derive(Debug, Clone, Copy)]
struct Wall {
    ends: (Point, Point),
    cost: f64,
}

/// The space of one piece.
#[derive(Debug, Clone)]
pub(super) struct Space {
    outer: Vec<Point>,
    walls: Vec<Wall>,
    taken: Vec<Rect>,
}

impl Space {
    /// The space inside a ring and outside its holes.
    pub(super) fn new(outer: &Ring, holes: &[Ring]) -> Self {
        let mut space = Self { outer: outer.flatten(CHORD_MM), walls: Vec::new(), taken: Vec::new() };
        for ring in std::iter::once(outer).chain(holes) {
            space.edge(ring);
        }
        space
    }

    /// What of it meets a box: for a search that stays in the box, which then has less to look at.
    pub(super) fn part(&self, r: Rect) -> Self {
        let walls = self.walls.iter().filter(|wall| within(r, wall.ends) > 0.0).copied().collect();
        let taken = self.taken.iter().filter(|t| t.overlaps(r)).copied().collect();
        Self { outer: self.outer.clone(), walls, taken }
    }

    /// Marks a box as used.
    pub(super) fn take(&mut self, used: Rect) {
        self.taken.push(used);
    }

    /// Marks a thin line as one that words keep clear of.
    pub(super) fn wall(&mut self, a: Point, b: Point) {
        self.walls.push(Wall { ends: (a, b), cost: THIN_COST });
    }

    /// Marks a closed line of the piece as one that nothing should be drawn across.
    pub(super) fn edge(&mut self, ring: &Ring) {
        let ends = closed(&ring.flatten(CHORD_MM));
        self.walls.extend(ends.into_iter().map(|ends| Wall { ends, cost: EDGE_COST }));
    }

    /// The box round the piece's outline.
    pub(super) fn bounds(&self) -> Rect {
        let first = self.outer[0];
        self.outer.iter().fold(Rect::from_points(first, first), |r, p| r.union_pt(*p))
    }

    /// True when anything of the piece or of its words lies in the box.
    pub(super) fn touches(&self, r: Rect) -> bool {
        self.inside(r.center()) || !self.is_clear(r)
    }

    /// True when the point lies in the outer line.
    pub(super) fn inside(&self, p: Point) -> bool {
        let mut within = false;
        let n = self.outer.len();
        for (a, b) in (0..n).map(|i| (self.outer[i], self.outer[(i + 1) % n])) {
            if (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x) {
                within = !within;
            }
        }
        within
    }

    /// True when words lie in the box.
    pub(super) fn meets_words(&self, r: Rect) -> bool {
        self.taken.iter().any(|t| t.overlaps(r))
    }

    /// True when no line and no words lie in the box.
    pub(super) fn is_clear(&self, r: Rect) -> bool {
        !self.meets_words(r) && !self.walls.iter().any(|wall| within(r, wall.ends) > 0.0)
    }

    /// True when a line of the piece or words lie in the box; thin lines may.
    pub(super) fn is_cut_or_written(&self, r: Rect) -> bool {
        let cut = |wall: &Wall| wall.cost > THIN_COST && within(r, wall.ends) > 0.0;
        self.meets_words(r) || self.walls.iter().any(cut)
    }

    /// Length of the lines in the box, those of the piece several times, and for every used box that it meets several
    /// times its round, millimetres: a line crossed is seen, a word crossed is not read.
    pub(super) fn crowding_mm(&self, r: Rect) -> f64 {
        let length = |wall: &Wall| within(r, wall.ends) * wall.ends.0.distance(wall.ends.1);
        let lines: f64 = self.walls.iter().map(|wall| wall.cost * length(wall)).sum();
        let used: f64 = self.taken.iter().filter(|t| t.overlaps(r)).map(|t| t.width() + t.height()).sum();
        lines + WORDS_COST * used
    }

    /// Where a box of this size inside the piece meets no words and least of the thin lines, near `wish` of such places; with
    /// it what speaks against it.
    pub(super) fn place_across(&self, size: Vec2, wish: Point, seams: &Seams) -> Option<(f64, Rect)> {
        /// What a millimetre from the wish counts in millimetres of lines that are crossed.
        const DISTANCE_COST: f64 = 0.01;
        let bounds = self.bounds();
        let boxes = tried(bounds, size, STEP_MM / 2.0).filter(|r| {
            let corners = [(r.x0, r.y0), (r.x1, r.y0), (r.x0, r.y1), (r.x1, r.y1)];
            corners.into_iter().all(|at| self.inside(at.into())) && !self.meets_words(*r)
        });
        let costs = boxes.map(|r| {
            let far = r.center().distance(wish);
            (self.crowding_mm(r) + DISTANCE_COST * far + seams.cost_mm(r), r)
        });
        costs.min_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// The place for a box of this size in one of the tiles, `clear_mm` away from everything, that is nearest to the piece's
    /// middle and crosses no seam.
    pub(super) fn place_on(&self, pages: &Pages, size: Vec2, clear_mm: f64) -> Option<Rect> {
        let middle = self.bounds().center();
        let mut best: Option<(f64, Rect)> = None;
        for r in on_tiles(&pages.tiles, size, clear_mm, STEP_MM) {
            let far = r.center().distance(middle);
            let better = best.is_none_or(|(least, _)| far < least) && pages.seams.crossed(r) == 0;
            if better && self.is_clear(r.inflate(clear_mm, clear_mm)) {
                best = Some((far, r));
            }
        }
        best.map(|(_, r)| r)
    }

    /// The place for a box of this size in one of the tiles where it meets least, with what it meets.
    pub(super) fn least_crowded_on(&self, tiles: &[Rect], size: Vec2, clear_mm: f64) -> Option<(f64, Rect)> {
        let boxes = on_tiles(tiles, size, clear_mm, 2.0 * STEP_MM);
        let costs = boxes.map(|r| (self.crowding_mm(r.inflate(clear_mm, clear_mm)), r));
        costs.min_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// The best free place for a box of this size inside the piece, `clear_mm` away from everything: near `wish`,
    /// and on one page where that is possible. With it what speaks against it, the less the better; less than `under`.
    pub(super) fn place(
        &self,
        size: Vec2,
        clear_mm: f64,
        wish: Point,
        seams: &Seams,
        under: f64,
    ) -> Option<(f64, Rect)> {
        let costs: Vec<(f64, Rect)> = tried(self.bounds().inset(-clear_mm), size, STEP_MM)
            .map(|r| (r.center().distance(wish) + seams.cost_mm(r), r))
            .filter(|(cost, _)| *cost < under)
            .collect();
        // The best first, as few as are looked at: costs are not negative, so that their bits are in their order. Of two alike
        // the one further up, as in a search row by row.
        let mut best: BinaryHeap<_> =
            costs.iter().enumerate().map(|(k, (cost, _))| Reverse((cost.to_bits(), k))).collect();
        let free = |r: Rect| self.inside(r.center()) && self.is_clear(r.inflate(clear_mm, clear_mm));
        std::iter::from_fn(|| best.pop()).map(|Reverse((_, k))| costs[k]).find(|(_, r)| free(*r))
    }
}

impl Seams {
    /// What the seams through a box count against it.
    #[expect(clippy::cast_precision_loss, reason = "a few seams")]
    fn cost_mm(&self, r: Rect) -> f64 {
        SEAM_COST_MM * self.crossed(r) as f64
    }

    /// How many seams pass through a box.
    pub(super) fn crossed(&self, r: Rect) -> usize {
        let across = self.upright.iter().filter(|x| r.x0 < **x && **x < r.x1).count();
        let down = self.level.iter().filter(|y| r.y0 < **y && **y < r.y1).count();
        across + down
    }
}

/// 0, then a step to either side, and so on up to `most`.
pub(super) fn offsets(most: f64) -> impl Iterator<Item = f64> {
    let steps = (1..).map(|i| f64::from(i) * TRIED_MM).take_while(move |d| *d <= most);
    std::iter::once(0.0).chain(steps.flat_map(|d| [d, -d]))
}

/// The first of the places at which `cost`, never negative, is least.
pub(super) fn least(places: impl Iterator<Item = Point>, cost: impl Fn(Point) -> f64) -> Option<Point> {
    let mut best: Option<(f64, Point)> = None;
    for at in places {
        let here = cost(at);
        if best.is_none_or(|(least, _)| here < least) {
            best = Some((here, at));
        }
        if here <= 0.0 {
            break;
        }
    }
    best.map(|(_, at)| at)
}

/// Boxes of a size within another, in steps.
fn tried(within: Rect, size: Vec2, step: f64) -> impl Iterator<Item = Rect> {
    let starts = move |from: f64, to: f64| {
        (0..).map(move |k| from + step * f64::from(k)).take_while(move |v| *v <= to)
    };
    starts(within.y0, within.y1 - size.y).flat_map(move |y| {
        starts(within.x0, within.x1 - size.x).map(move |x| Rect::from_origin_size((x, y), size.to_size()))
    })
}

/// Boxes of a size in tiles, off their crosses.
fn on_tiles(tiles: &[Rect], size: Vec2, clear_mm: f64, step: f64) -> impl Iterator<Item = Rect> {
    tiles.iter().flat_map(move |tile| {
        let crosses = crosses(*tile);
        tried(tile.inset(-clear_mm), size, step).filter(move |r| crosses.iter().all(|c| !c.overlaps(*r)))
    })
}

fn closed(polygon: &[Point]) -> Vec<(Point, Point)> {
    (0..polygon.len()).map(|i| (polygon[i], polygon[(i + 1) % polygon.len()])).collect()
}

/// How much of the line from `a` to `b` lies in the box, 0 to 1. A line along the border lies in the box.
fn within(r: Rect, ends: (Point, Point)) -> f64 {
    let (a, b) = ends;
    if a.x.max(b.x) < r.x0 || a.x.min(b.x) > r.x1 || a.y.max(b.y) < r.y0 || a.y.min(b.y) > r.y1 {
        return 0.0;
    }
    part_within(r, ends).map_or(0.0, |(from, to)| to - from)
}

/// Where the line from `a` to `b` enters the box and where it leaves it, each 0 to 1 of its length (clipping after Liang
/// and Barsky, doi:10.1145/357332.357333).
pub(super) fn part_within(r: Rect, (a, b): (Point, Point)) -> Option<(f64, f64)> {
    let d = b - a;
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for (p, q) in [(-d.x, a.x - r.x0), (d.x, r.x1 - a.x), (-d.y, a.y - r.y0), (d.y, r.y1 - a.y)] {
        if p.abs() < f64::EPSILON {
            if q < 0.0 {
                return None;
            }
        } else if p < 0.0 {
            from = from.max(q / p);
        } else {
            to = to.min(q / p);
        }
    }
    (from < to).then_some((from, to))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::PathSeg;
    use kurbo::Line;

    /// An L: 100 x 100 with the upper right quarter away.
    fn corner_piece() -> Space {
        let p = [(0.0, 0.0), (50.0, 0.0), (50.0, 50.0), (100.0, 50.0), (100.0, 100.0), (0.0, 100.0)]
            .map(Point::from);
        let segments = (0..6).map(|i| PathSeg::Line(Line::new(p[i], p[(i + 1) % 6]))).collect();
        Space::new(&Ring::new(segments).unwrap(), &[])
    }

    #[test]
    fn words_stay_inside_and_off_each_other() {
        let mut space = corner_piece();
        let wish = Point::new(90.0, 10.0);
        let (_, first) =
            space.place(Vec2::new(40.0, 20.0), 3.0, wish, &Seams::default(), f64::INFINITY).unwrap();
        assert!(first.y0 >= 53.0 || first.x1 <= 47.0, "{first}");
        space.take(first);
        let (_, second) =
            space.place(Vec2::new(40.0, 20.0), 3.0, wish, &Seams::default(), f64::INFINITY).unwrap();
        assert!(!second.overlaps(first));
        assert_eq!(space.place(Vec2::new(60.0, 60.0), 3.0, wish, &Seams::default(), f64::INFINITY), None);
    }

    #[test]
    fn a_place_on_one_page_is_sought() {
        let seams = Seams { upright: vec![70.0], level: vec![] };
        let (_, found) = corner_piece()
            .place(Vec2::new(25.0, 20.0), 2.0, Point::new(70.0, 75.0), &seams, f64::INFINITY)
            .unwrap();
        assert!(found.x1 <= 70.0 || found.x0 >= 70.0, "{found}");
    }

    #[test]
    fn lines_in_a_box_are_measured() {
        let space = corner_piece();
        let crowding = space.crowding_mm(Rect::new(40.0, -5.0, 60.0, 40.0));
        assert!((crowding - EDGE_COST * 50.0).abs() < 1e-9, "10 of the top, 40 of the side: {crowding}");
        assert!(space.touches(Rect::new(10.0, 10.0, 20.0, 20.0)), "inside counts");
        assert!(!space.touches(Rect::new(60.0, 10.0, 70.0, 20.0)));
    }
}
