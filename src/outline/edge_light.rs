//! Light beside the garment's edge and on it, as a profile across the edge shows it.

use super::path::Station;
use super::section::Section;
use super::shade::Shade;
use super::step::{FINE_MM, HALF, PLACES};

/// What is known of the garment's edge at a station.
pub(super) struct Edge<'a> {
    /// Its section.
    pub section: &'a Section,
    /// The light.
    pub shade: &'a Shade,
    /// Slope of the line of sight along the outward normal.
    pub slope: f64,
}

/// Part of the light that the sheet sends back to the underside of an edge, for white paper.
const SENT_BACK: f64 = 0.4;
/// An edge lit by less than this part otherwise than the face is lit as the face.
const LIT_ALIKE: f64 = 0.1;

impl Edge<'_> {
    /// Part of the light that the garment hides, by samples outward from its silhouette.
    #[expect(clippy::cast_precision_loss, reason = "a few samples")]
    pub(super) fn hidden(&self, s: &Station) -> [f64; HALF + PLACES] {
        let off = self.section.silhouette_mm(self.slope);
        std::array::from_fn(|k| 1.0 - self.shade.gain((k as f64 + 0.5) * FINE_MM + off, s.normal))
    }

    /// Light on the edge by samples inward from its silhouette, and the width over which it is not the face's.
    #[expect(clippy::cast_precision_loss, reason = "a few samples")]
    pub(super) fn lit(&self, s: &Station, white: bool) -> ([f64; HALF], f64) {
        let ground = if white { SENT_BACK } else { 0.0 };
        let seen = self
            .section
            .seen(self.slope)
            .map(|(u, lean)| (u, self.shade.on_surface(lean, s.normal, ground).powf(self.section.shading())));
        let lit = std::array::from_fn(|k| {
            let u = (k as f64 + 0.5) * FINE_MM;
            match seen.iter().position(|p| p.0 >= u) {
                Some(0) => seen[0].1,
                Some(i) => {
                    let (a, b) = (seen[i - 1], seen[i]);
                    a.1 + (b.1 - a.1) * ((u - a.0) / (b.0 - a.0).max(1e-9))
                }
                None => 1.0,
            }
        });
        let alike = |v: &f64| (v - 1.0).abs() < LIT_ALIKE;
        let wall = lit.iter().rposition(|v| !alike(v)).map_or(0.0, |k| (k + 1) as f64 * FINE_MM);
        (lit, wall)
    }
}

/// By samples from a step's farthest place.
pub(super) type BySample = [f64; 2 * (HALF + PLACES) + 1];

/// The part of the light that the garment hides and the light on its edge, blurred cell by cell of a sample's width as the lens
/// blurs the step (`rise`, which is level farther from it than `reach_mm`): the light that is blurred over the edge is what falls
/// beside it. The first in parts of a whole sheet's light, the second in parts of the face's.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a few samples")]
pub(super) fn blurred(
    hidden: &[f64; HALF + PLACES],
    lit: &[f64; HALF],
    rise: &BySample,
    reach_mm: f64,
) -> (BySample, BySample) {
    const STEP: usize = HALF + PLACES;
    const LENGTH: usize = 2 * STEP + 1;
    let reach = ((reach_mm / FINE_MM).ceil() as usize).min(STEP);
    // The cells by samples outward from `STEP + reach` inside the step: what is hidden outside, and by how much the edge is lit
    // otherwise than the face, which is as it is farther in.
    let first_out = STEP + reach;
    let (mut shades, mut edges) = ([0.0; 2 * LENGTH], [0.0; 2 * LENGTH]);
    shades[first_out..first_out + hidden.len()].copy_from_slice(hidden);
    for (edge, lit) in edges[..first_out].iter_mut().rev().zip(lit) {
        *edge = lit - 1.0;
    }
    let (mut shaded, mut light) = ([0.0; LENGTH], rise.map(|r| 1.0 - r));
    for j in 0..=2 * reach {
        // What a sample shows of the cell so many samples farther out, or in where j is less than the reach.
        let at = |k: usize| k.checked_sub(j).map_or(0.0, |k| rise.get(k).copied().unwrap_or(1.0));
        let part = at(STEP + reach) - at(STEP + reach - 1);
        for ((shaded, light), (shade, edge)) in
            shaded.iter_mut().zip(&mut light).zip(shades[j..].iter().zip(&edges[j..]))
        {
            *shaded += shade * part;
            *light += edge * part;
        }
    }
    (shaded, light)
}

#[cfg(test)]
mod tests {
    use super::super::backdrop::smooth_step;
    use super::*;

    #[test]
    fn what_is_even_is_blurred_as_the_step_is() {
        let rise: BySample = std::array::from_fn(|k| smooth_step((k as f64 - (HALF + PLACES) as f64) * 0.6));
        let (shaded, lit) = blurred(&[0.3; HALF + PLACES], &[0.8; HALF], &rise, 3.0);
        for k in HALF + PLACES - 8..HALF + PLACES + 9 {
            assert!((shaded[k] - 0.3 * rise[k]).abs() < 1e-3, "{k}: {}", shaded[k]);
            assert!((lit[k] - 0.8 * (1.0 - rise[k])).abs() < 1e-3, "{k}: {}", lit[k]);
        }
    }
}
