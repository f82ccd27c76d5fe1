//! The section of a garment's edge: a wall of its thickness with arrises rounded above and below.
//!
//! Millimetres; z up from the sheet, x outward, 0 at the wall. A line of sight of slope `s` (horizontal way on the
//! table per millimetre of height, along the outward normal) shows the section at q = x + s z.

use super::{EdgeKind, Wish};

/// Radius of the worn or slicked arris of a cut edge, as a part of its thickness (common practice, no source:
/// leather's edges are bevelled and rubbed round).
const ARRIS_PART: f64 = 1.0 / 3.0;

/// Exponent by which a rolled edge of cloth is shaded less than a matt surface: fibres that stand off it scatter
/// light towards its limb (J. Koenderink and S. Pont, "The secret of velvety skin", Machine Vision and
/// Applications 14, 2003, doi:10.1007/s00138-002-0089-7); the value was set on renders of cloth.
const CLOTH_SHADING: f64 = 0.65;

/// The section of an edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Section {
    /// Thickness, millimetres.
    thickness_mm: f64,
    /// Radius of the arrises, millimetres.
    radius_mm: f64,
    /// Exponent of the light on it.
    shading: f64,
}

/// Places across the visible wall that its light is worked out at.
const ARC: usize = 24;

impl Section {
    pub(super) fn new(wish: &Wish) -> Self {
        let t = wish.thickness_mm;
        let (radius_mm, shading) = match wish.edge {
            EdgeKind::Cut | EdgeKind::Paper => (ARRIS_PART * t, 1.0),
            EdgeKind::Folded => (t / 2.0, CLOTH_SHADING),
        };
        Self { thickness_mm: t, radius_mm, shading }
    }

    /// Exponent of the light on its surface: 1 for a matt one.
    pub(super) fn shading(&self) -> f64 {
        self.shading
    }

    /// How far the silhouette stands off the true outline: the support function of the section.
    pub(super) fn silhouette_mm(&self, s: f64) -> f64 {
        let r = self.radius_mm;
        let height = if s > 0.0 { self.thickness_mm - r } else { r };
        height * s + r * ((1.0 + s * s).sqrt() - 1.0)
    }

    /// What is seen of the section from the silhouette inwards: pairs of the distance from the silhouette and of
    /// the angle by which the surface there leans outward from facing up, radians.
    #[expect(clippy::cast_precision_loss, reason = "a few places")]
    pub(super) fn seen(&self, s: f64) -> [(f64, f64); ARC + 1] {
        let (r, t) = (self.radius_mm, self.thickness_mm);
        let limb = 1f64.atan2(s);
        let silhouette = self.silhouette_mm(s);
        std::array::from_fn(|k| {
            let lean = limb * (1.0 - k as f64 / ARC as f64);
            let z = if lean > std::f64::consts::FRAC_PI_2 { r } else { t - r } + r * lean.cos();
            let x = r * lean.sin() - r;
            ((silhouette - x - s * z).max(0.0), lean)
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn section(edge: EdgeKind) -> Section {
        Section::new(&Wish { thickness_mm: 2.0, edge, trim_narrower_mm: None })
    }

    #[test]
    fn seen_from_above_the_silhouette_is_the_outline() {
        for edge in [EdgeKind::Cut, EdgeKind::Folded] {
            assert!(section(edge).silhouette_mm(0.0).abs() < 1e-12);
        }
    }

    #[test]
    fn a_rolled_edge_stands_off_as_its_circle_does() {
        // Handbook formula of the support function of a circle: h s + r (sqrt(1 + s^2) - 1), h = r = t / 2.
        for s in [-0.9, -0.3, 0.4, 1.1f64] {
            let wanted = s + (1.0 + s * s).sqrt() - 1.0;
            assert!((section(EdgeKind::Folded).silhouette_mm(s) - wanted).abs() < 1e-12);
        }
    }

    #[test]
    fn from_the_silhouette_inwards_the_surface_turns_up() {
        for s in [-0.8, -0.2, 0.5] {
            let seen = section(EdgeKind::Cut).seen(s);
            assert!(seen[0].0 < 1e-9);
            assert!(seen.windows(2).all(|w| w[1].0 >= w[0].0 - 1e-9 && w[1].1 < w[0].1));
        }
    }
}
