//! A step of chroma across the edge.

/// Noise of chroma, grey levels.
const GRAIN: f64 = 3.5;
/// How well the sheet's chroma is known, grey levels.
const KNOWN: f64 = 2.0;
/// Weight of chroma against luma: its samples are fewer.
const PART: f64 = 1.2;

/// Squared departure of a row of chroma from a blurred step: a level inside, the sheet's outside, known but for one
/// offset.
#[derive(Debug, Default)]
pub(super) struct ChromaStep {
    normal: [f64; 3],
    right: [[f64; 2]; 2],
    square: f64,
}

impl ChromaStep {
    /// A sample, this part of it outside, where the sheet has the chroma `expected`.
    pub(super) fn add(&mut self, outside: f64, seen: [f64; 2], expected: [f64; 2]) {
        let inside = 1.0 - outside;
        self.normal[0] += inside * inside;
        self.normal[1] += inside * outside;
        self.normal[2] += outside * outside;
        for k in 0..2 {
            let c = seen[k] - outside * expected[k];
            self.right[k][0] += inside * c;
            self.right[k][1] += outside * c;
            self.square += c * c;
        }
    }

    /// Cost of what the best levels leave, squared standard deviations times samples; `on_sheets` where a known sheet lies
    /// all along the outer side.
    pub(super) fn cost(&self, on_sheets: bool) -> f64 {
        let known = if on_sheets { (GRAIN / KNOWN).powi(2) } else { 0.0 };
        PART * self.left(known) / (GRAIN * GRAIN)
    }

    /// What the best level inside and the best offset outside leave, `known` the weight of an offset of none against a
    /// sample's.
    fn left(&self, known: f64) -> f64 {
        let [a, b, d] = self.normal;
        let d = d + known;
        let det = a * d - b * b;
        if det < 1e-9 {
            return 0.0;
        }
        self.right
            .iter()
            .fold(self.square, |left, [p, q]| left - (p * (d * p - b * q) + q * (a * q - b * p)) / det)
    }
}
