//! Is a place of the picture inside a shape? Exact for any place, quick for a whole picture.

use onfold::geometry::Point;

/// Closed polygons in pixels, filled by the even-odd rule, with their edges sorted into the rows they touch.
#[derive(Debug, Clone)]
pub(crate) struct Shape {
    edges: Vec<[Point; 2]>,
    /// For each row of pixels, the edges that touch the band from half a pixel above to half a pixel below.
    rows: Vec<Vec<u32>>,
    /// Pixels that an edge may cross, row by row.
    near: Vec<bool>,
    width: usize,
}

impl Shape {
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the picture")]
    #[expect(clippy::cast_precision_loss, reason = "picture sizes are small")]
    pub(crate) fn new(rings: &[Vec<Point>], width: usize, height: usize) -> Self {
        let mut edges = Vec::new();
        for ring in rings {
            edges.extend((0..ring.len()).map(|i| [ring[i], ring[(i + 1) % ring.len()]]));
        }
        let mut rows = vec![Vec::new(); height];
        let mut near = vec![false; width * height];
        let clamp = |v: f64, n: usize| v.clamp(0.0, n as f64 - 1.0) as usize;
        for (k, [a, b]) in edges.iter().enumerate() {
            let (top, bottom) = (a.y.min(b.y), a.y.max(b.y));
            if bottom < -1.0 || top > height as f64 {
                continue;
            }
            let band = clamp((top - 0.5).floor(), height)..=clamp((bottom + 0.5).ceil(), height);
            rows[band].iter_mut().for_each(|row: &mut Vec<u32>| row.push(k as u32));
            // Walk the edge in steps of half a pixel and mark the pixels about it.
            let steps = (a.distance(*b) / 0.5).ceil().max(1.0);
            for i in 0..=steps as usize {
                let p = a.lerp(*b, i as f64 / steps);
                let (x, y) = (p.x.round(), p.y.round());
                if x < -1.0 || y < -1.0 || x > width as f64 || y > height as f64 {
                    continue;
                }
                for v in clamp(y - 1.0, height)..=clamp(y + 1.0, height) {
                    for u in clamp(x - 1.0, width)..=clamp(x + 1.0, width) {
                        near[v * width + u] = true;
                    }
                }
            }
        }
        Self { edges, rows, near, width }
    }

    /// Whether an edge may cross this pixel; where none does, its centre speaks for all of it.
    pub(crate) fn is_near(&self, x: usize, y: usize) -> bool {
        self.near[y * self.width + x]
    }

    /// Whether a place is inside; `row` is the row of pixels that it lies in.
    pub(crate) fn contains(&self, at: Point, row: usize) -> bool {
        let mut inside = false;
        for &k in &self.rows[row] {
            let [a, b] = self.edges[k as usize];
            if (a.y > at.y) != (b.y > at.y) && a.x + (at.y - a.y) / (b.y - a.y) * (b.x - a.x) > at.x {
                inside = !inside;
            }
        }
        inside
    }
}
