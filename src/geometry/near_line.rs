//! Points along a closed outline in a grid of cells, to find the nearest place of it quickly.
//!
//! Points enter, millimetres; the nearest place on their chords leaves, with the direction across there.

use super::{Point, Vec2};

/// Points of the outline for each cell along the diagonal of the grid in which near points are looked for: a cell that
/// the outline passes then holds about eight. Fewer make cells that are mostly empty and cost their visit, more make
/// cells of points that are not near.
const POINTS_A_CELL: f64 = 24.0;
/// Cells along the diagonal, at least and at most.
const CELLS: std::ops::RangeInclusive<f64> = 4.0..=64.0;
/// A place on the outline: the nearest point and the direction across there.
pub(crate) struct Foot {
    /// Number of the outline's point that is nearest.
    pub(crate) number: usize,
    pub(crate) at: Point,
    pub(crate) normal: Vec2,
    pub(crate) distance: f64,
}

/// Points along a closed outline in cells, to find the nearest quickly.
pub(crate) struct NearLine {
    points: Vec<Point>,
    origin: Point,
    size: f64,
    wide: usize,
    high: usize,
    cells: Vec<Vec<u32>>,
}

impl NearLine {
    #[expect(
        clippy::cast_possible_truncation,
        clippy::cast_sign_loss,
        reason = "cell numbers are small and clamped"
    )]
    pub(crate) fn new(points: &[Point]) -> Self {
        let (mut low, mut high) = (points[0], points[0]);
        for p in points {
            low = Point::new(low.x.min(p.x), low.y.min(p.y));
            high = Point::new(high.x.max(p.x), high.y.max(p.y));
        }
        let span = (high - low).hypot().max(1.0);
        let size = span / (points.len() as f64 / POINTS_A_CELL).clamp(*CELLS.start(), *CELLS.end());
        let (wide, tall) = (((high.x - low.x) / size) as usize + 1, ((high.y - low.y) / size) as usize + 1);
        let mut cells = vec![Vec::new(); wide * tall];
        let mut this =
            Self { points: points.to_vec(), origin: low, size, wide, high: tall, cells: Vec::new() };
        for (k, p) in points.iter().enumerate() {
            let (x, y) = this.cell(*p);
            cells[y * wide + x].push(k as u32);
        }
        this.cells = cells;
        this
    }

    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the cells")]
    fn cell(&self, p: Point) -> (usize, usize) {
        let d = (p - self.origin) / self.size;
        (d.x.clamp(0.0, self.wide as f64 - 1.0) as usize, d.y.clamp(0.0, self.high as f64 - 1.0) as usize)
    }

    /// Square of the distance to the nearest place that a point of this cell may have.
    fn to_cell2(&self, p: Point, column: usize, row: usize) -> f64 {
        // Points beyond the last cell by rounding are in it too.
        let off = |at: f64, cell: usize, count: usize| {
            let (low, high) = (cell as f64 * self.size, (cell + 1) as f64 * self.size);
            let high = if cell + 1 == count { high + self.size } else { high };
            (low - at).max(at - high).max(0.0)
        };
        let d = p - self.origin;
        off(d.x, column, self.wide).powi(2) + off(d.y, row, self.high).powi(2)
    }

    /// The places nearest to points that follow each other along a line. Each search begins beside where the last one
    /// ended, so most of it is cut short.
    pub(crate) fn nearest_to(&self, line: impl Iterator<Item = Point>) -> impl Iterator<Item = Foot> {
        line.scan(0, |last, p| {
            let foot = self.nearest(p, *last);
            *last = foot.number;
            Some(foot)
        })
    }

    /// The nearest place; the guess, a point's number, costs time when it is a bad one, and no more.
    fn nearest(&self, p: Point, guess: usize) -> Foot {
        let (x, y) = self.cell(p);
        let count = self.points.len();
        let mut best = (f64::INFINITY, 0);
        for k in [guess, (guess + 1) % count, (guess + count - 1) % count] {
            let d = self.points[k].distance_squared(p);
            if d < best.0 {
                best = (d, k);
            }
        }
        let reach = Vec2::new(best.0.sqrt(), best.0.sqrt());
        let (low, high) = (self.cell(p - reach), self.cell(p + reach));
        if (high.0 - low.0) * (high.1 - low.1) <= 1 {
            // The guess leaves four cells or fewer in which anything nearer can lie.
            for row in low.1..=high.1 {
                for column in low.0..=high.0 {
                    self.look(p, row * self.wide + column, &mut best);
                }
            }
            return self.foot(p, best.1);
        }
        for ring in 0..self.wide.max(self.high) {
            // A point in a further ring is at least this far.
            if ring > 0 && best.0 < ((ring as f64 - 1.0) * self.size).powi(2) {
                break;
            }
            let rows = y.saturating_sub(ring)..=(y + ring).min(self.high - 1);
            for row in rows {
                let edge = row.abs_diff(y) == ring;
                let step = if edge || ring == 0 { 1 } else { 2 * ring };
                let first = x as isize - ring as isize;
                for column in (0..=2 * ring).step_by(step).map(|k| first + k as isize) {
                    let Ok(column) = usize::try_from(column) else { continue };
                    if column >= self.wide || self.to_cell2(p, column, row) >= best.0 {
                        continue;
                    }
                    self.look(p, row * self.wide + column, &mut best);
                }
            }
        }
        self.foot(p, best.1)
    }

    /// Looks for a nearer point in one cell.
    fn look(&self, p: Point, cell: usize, best: &mut (f64, usize)) {
        for &k in &self.cells[cell] {
            let d = self.points[k as usize].distance_squared(p);
            if d < best.0 {
                *best = (d, k as usize);
            }
        }
    }

    /// The foot on the two chords at point `k`.
    fn foot(&self, p: Point, k: usize) -> Foot {
        let n = self.points.len();
        let mut best = Foot { number: k, at: self.points[k], normal: Vec2::ZERO, distance: f64::INFINITY };
        for (a, b) in [((k + n - 1) % n, k), (k, (k + 1) % n)] {
            let (a, d) = (self.points[a], self.points[b] - self.points[a]);
            let t = ((p - a).dot(d) / d.hypot2().max(1e-18)).clamp(0.0, 1.0);
            let at = a + d * t;
            if at.distance(p) < best.distance {
                let normal = Vec2::new(-d.y, d.x) / d.hypot().max(1e-9);
                best = Foot { number: k, at, normal, distance: at.distance(p) };
            }
        }
        best
    }
}
