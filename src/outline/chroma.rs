//! A step of chroma across the edge.

/// Noise of chroma, grey levels.
const GRAIN: f64 = 3.5;
/// How well the sheet's chroma is known, grey levels.
const KNOWN: f64 = 2.0;
/// Weight of chroma against luma: its samples are fewer.
const PART: f64 = 1.2;

/// Squared departure of a row of chroma from a blurred step at each of some places: a level inside, the sheet's outside, known
/// but for one offset.
#[derive(Debug)]
pub(super) struct ChromaSteps<const PLACES: usize> {
    normal: [[f64; PLACES]; 3],
    right: [[[f64; PLACES]; 2]; 2],
    square: [f64; PLACES],
}

impl<const PLACES: usize> ChromaSteps<PLACES> {
    pub(super) fn new() -> Self {
        let none = [0.0; PLACES];
        Self { normal: [none; 3], right: [[none; 2]; 2], square: none }
    }

    /// A sample, for each place from `from` on this part of it outside, where the sheet has the chroma `expected`.
    pub(super) fn add(&mut self, from: usize, outside: &[f64], seen: [f64; 2], expected: [f64; 2]) {
        self.add_weighed(from, outside, seen, expected, |_| 1.0);
    }

    /// The same off the known sheets: what lies outside has a chroma of its own, so that the sample only tells of the inside.
    pub(super) fn add_off_sheets(
        &mut self,
        from: usize,
        outside: &[f64],
        seen: [f64; 2],
        expected: [f64; 2],
    ) {
        self.add_weighed(from, outside, seen, expected, |outside| 1.0 - outside);
    }

    #[inline]
    fn add_weighed(
        &mut self,
        from: usize,
        outside: &[f64],
        seen: [f64; 2],
        expected: [f64; 2],
        weight: impl Fn(f64) -> f64,
    ) {
        let [a, b, d] = self.normal.each_mut().map(|n| &mut n[from..]);
        for (j, &outside) in outside.iter().enumerate() {
            let (w, inside) = (weight(outside), 1.0 - outside);
            a[j] += w * inside * inside;
            b[j] += w * inside * outside;
            d[j] += w * outside * outside;
        }
        let square = &mut self.square[from..];
        for k in 0..2 {
            let [p, q] = self.right[k].each_mut().map(|r| &mut r[from..]);
            for (j, &outside) in outside.iter().enumerate() {
                let (w, c) = (weight(outside), seen[k] - outside * expected[k]);
                p[j] += w * (1.0 - outside) * c;
                q[j] += w * outside * c;
                square[j] += w * c * c;
            }
        }
    }

    /// Cost of what the best levels leave at a place, squared standard deviations times samples; `on_sheets` where a known
    /// sheet lies all along the outer side.
    pub(super) fn cost(&self, place: usize, on_sheets: bool) -> f64 {
        let known = if on_sheets { (GRAIN / KNOWN).powi(2) } else { 0.0 };
        PART * self.left(place, known) / (GRAIN * GRAIN)
    }

    /// What the best level inside and the best offset outside leave, `known` the weight of an offset of none against a
    /// sample's.
    fn left(&self, place: usize, known: f64) -> f64 {
        let [a, b, d] = self.normal.each_ref().map(|n| n[place]);
        let d = d + known;
        let det = a * d - b * b;
        if det < 1e-9 {
            return 0.0;
        }
        self.right
            .iter()
            .map(|r| r.each_ref().map(|r| r[place]))
            .fold(self.square[place], |left, [p, q]| left - (p * (d * p - b * q) + q * (a * q - b * p)) / det)
    }
}
