//! What speaks against a step at each place of a normal, and the place that is left.

use super::step::{FINE_MM, PLACES};

/// Costs of the places of a step on one normal.
#[derive(Debug, Clone)]
pub(super) struct Steps {
    /// Negative log likelihood by place.
    pub costs: Vec<f32>,
    /// By how much a place is cheaper than the next one farther out for no other reason than that cloth is known less well than sheet.
    pub lean: f64,
    /// What a place may be wrong by beyond what its costs say, standard deviation in millimetres.
    pub doubt_mm: f64,
}

/// Most by which a lean moves a place, in its standard deviations: costs that are wrong in kind are not to move it by more.
const LEANT_MOST: f64 = 0.35;

impl Steps {
    /// Nothing is known.
    pub(super) fn flat() -> Self {
        Self { costs: vec![0.0; 2 * PLACES + 1], lean: 0.0, doubt_mm: 0.0 }
    }

    /// The same with their lean left as it is: while corners are told from roundings the line is rather to keep inside, where it is cloth.
    pub(super) fn leaning(self) -> Self {
        Self { lean: 0.0, ..self }
    }

    /// The same, where the step is known to lie near the station, standard deviation in millimetres.
    pub(super) fn drawn_home(mut self, sigma_mm: f64) -> Self {
        for (k, cost) in self.costs.iter_mut().enumerate() {
            #[expect(clippy::cast_precision_loss, reason = "a few places")]
            let off = (k as f64 - PLACES as f64) * FINE_MM / sigma_mm;
            #[expect(clippy::cast_possible_truncation, reason = "single precision is enough")]
            let more = (0.5 * off * off) as f32;
            *cost += more;
        }
        self
    }

    /// Takes a part of itself and the rest from others over the same places.
    #[expect(clippy::cast_possible_truncation, reason = "single precision is enough")]
    pub(super) fn mix(&mut self, part: f64, rest: &[(Self, f64)]) {
        let total = part + rest.iter().map(|r| r.1).sum::<f64>();
        self.lean = (part * self.lean + rest.iter().map(|(s, p)| p * s.lean).sum::<f64>()) / total;
        for (k, cost) in self.costs.iter_mut().enumerate() {
            let sum =
                part * f64::from(*cost) + rest.iter().map(|(s, p)| p * f64::from(s.costs[k])).sum::<f64>();
            *cost = (sum / total) as f32;
        }
    }

    /// What speaks against a step at the station itself, log likelihood: the least within a third of a millimetre.
    pub(super) fn misfit(&self) -> f64 {
        let about = PLACES - 2..=PLACES + 2;
        f64::from(self.costs.get(about).map_or(0.0, |c| c.iter().copied().fold(f32::INFINITY, f32::min)))
    }

    /// Offset of the best place of all, millimetres.
    pub(super) fn best_mm(&self) -> f64 {
        let best = (0..self.costs.len()).min_by(|&a, &b| self.costs[a].total_cmp(&self.costs[b]));
        best.map_or(0.0, |c| self.place(c).0)
    }

    /// Offset of the best place near place `c` and its standard deviation, millimetres: the parabola
    /// through the costs there.
    #[expect(clippy::cast_precision_loss, reason = "a few places")]
    pub(super) fn place(&self, c: usize) -> (f64, f64) {
        const FLAT_MM: f64 = 3.0;
        let n = self.costs.len();
        let at = |k: usize| f64::from(self.costs[k]);
        // Down to the nearest least cost within two places of the way.
        let from = c.saturating_sub(2);
        let k = (from..(c + 3).min(n)).min_by(|&a, &b| at(a).total_cmp(&at(b))).unwrap_or(c);
        let offset = |k: f64| (k - PLACES as f64) * FINE_MM;
        if k == 0 || k + 1 == n {
            return (offset(c as f64), FLAT_MM);
        }
        let bend = at(k - 1) - 2.0 * at(k) + at(k + 1);
        if bend <= 1e-9 {
            return (offset(c as f64), FLAT_MM);
        }
        let shift = (0.5 * (at(k - 1) - at(k + 1)) / bend).clamp(-1.0, 1.0);
        let sigma_mm = FINE_MM / bend.sqrt();
        // The lean moves the least cost of a parabola by so much.
        let leant = (sigma_mm * sigma_mm * self.lean / FINE_MM).abs().min(LEANT_MOST * sigma_mm);
        let place_mm = offset(k as f64 + shift) + leant.copysign(self.lean);
        (place_mm, sigma_mm.clamp(0.02, FLAT_MM).hypot(self.doubt_mm))
    }
}
