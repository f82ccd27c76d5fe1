//! How a blur's mixtures of paper and ink look.

use super::backdrop::Levels;
use super::light::Sample;
use crate::photo::{linear_from_srgb, srgb_from_linear};

/// How white a blur's mixtures of paper and ink look: light mixes, not grey levels, so a little paper makes ink a good deal lighter.
pub(super) struct Look([f32; LOOKS + 1]);

/// Parts between which it is interpolated.
const LOOKS: usize = 64;

impl Default for Look {
    #[expect(clippy::cast_precision_loss, reason = "a few places")]
    fn default() -> Self {
        Self(std::array::from_fn(|k| k as f32 / LOOKS as f32))
    }
}

impl Look {
    /// As the middle one of these corners shows it.
    #[expect(
        clippy::cast_precision_loss,
        clippy::cast_possible_truncation,
        reason = "a few places, grey levels"
    )]
    pub(super) fn new(samples: &[Sample]) -> Self {
        let middle = |of: &dyn Fn(&Levels) -> f32| {
            let mut all: Vec<f32> = samples.iter().map(|s| of(&s.levels)).collect();
            all.sort_by(f32::total_cmp);
            all.get(all.len() / 2).map(|v| f64::from(*v))
        };
        let (Some(white), Some(black)) = (middle(&|l| l.white[0]), middle(&|l| l.black[0])) else {
            return Self::default();
        };
        let [paper, ink] = [white, black].map(linear_from_srgb);
        Self(std::array::from_fn(|k| {
            let light = ink + (paper - ink) * k as f64 / LOOKS as f64;
            ((srgb_from_linear(light) - black) / (white - black)) as f32
        }))
    }

    #[expect(clippy::cast_precision_loss, reason = "a few places")]
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the places")]
    pub(super) fn of(&self, light: f32) -> f32 {
        let x = light.clamp(0.0, 1.0) * LOOKS as f32;
        let k = (x as usize).min(LOOKS - 1);
        self.0[k] + (self.0[k + 1] - self.0[k]) * (x - k as f32)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Point;

    #[test]
    fn light_mixes_not_grey_levels() {
        let levels = Levels { white: [230.0, 128.0, 128.0], black: [38.0, 128.0, 128.0] };
        let look = Look::new(&[Sample { at: Point::ORIGIN, levels }]);
        assert!(look.of(0.0).abs() < 1e-6 && (look.of(1.0) - 1.0).abs() < 1e-6);
        // IEC 61966-2-1: 38 is 0.0194 of the light and 230 is 0.7913; half of each is 0.4054, which is 170.6.
        assert!((38.0 + look.of(0.5) * 192.0 - 170.6).abs() < 0.1, "{}", look.of(0.5));
        // Nothing is known without corners: as if grey levels mixed.
        assert!((Look::new(&[]).of(0.25) - 0.25).abs() < 1e-6);
    }
}
