//! What a turned (rolled) edge asks of the material on a curve, and the figures of a corner.
//!
//! With r the radius at the finished edge, a the allowance and φ the arc: on a hollow (an armhole) the cut edge, (r - a)φ
//! long, must cover (r + a)φ, so it stretches by 2a / (r - a); on a bulge the cut edge is too full by 2a / (r + a). The
//! difference of length is 2aφ either way (geometry).

use crate::units::Unit;

/// Which way an edge bends, seen from the cloth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Bend {
    /// Into the cloth, as an armhole does: the allowance must stretch.
    Hollow,
    /// Out of the cloth, as a rounded corner does: the allowance is too full.
    Bulge,
}

/// What a turned edge asks for; bands after the trade's judgement, to be tried on scrap.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Advice {
    /// Nothing: up to a tenth.
    None,
    /// Slits (on a hollow) or V-cuts (on a bulge), or a narrower turn: up to a quarter.
    SlitsOrNarrower,
    /// Slits or V-cuts are needed: above a quarter.
    Slits,
}

/// A turned edge at one radius.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Turned {
    /// Which way it bends.
    pub bend: Bend,
    /// Radius at the finished edge, millimetres.
    pub radius_mm: f64,
    /// Stretch (hollow) or excess (bulge) of the cut edge, as a part of its length: 0.1 is 10 %.
    pub part: f64,
}

/// Stretch or excess above which slits help.
const SLITS_HELP: f64 = 0.10;
/// Stretch or excess above which slits are needed.
const SLITS_NEEDED: f64 = 0.25;

impl Turned {
    /// A turned edge of this allowance at this radius; `None` on a hollow as tight as the allowance, where no cut edge
    /// exists.
    #[must_use]
    pub fn new(bend: Bend, radius_mm: f64, allowance_mm: f64) -> Option<Self> {
        let cut_radius = match bend {
            Bend::Hollow => radius_mm - allowance_mm,
            Bend::Bulge => radius_mm + allowance_mm,
        };
        (cut_radius > 0.0).then(|| Self { bend, radius_mm, part: 2.0 * allowance_mm / cut_radius })
    }

    /// What it asks for.
    #[must_use]
    pub fn advice(&self) -> Advice {
        if self.part <= SLITS_HELP {
            Advice::None
        } else if self.part <= SLITS_NEEDED {
            Advice::SlitsOrNarrower
        } else {
            Advice::Slits
        }
    }
}

/// A turned edge along one whole edge of the piece.
#[derive(Debug, Clone, PartialEq)]
pub struct EdgeTurn {
    /// The edge, as a person says it.
    pub edge: String,
    /// Length at the finished line, millimetres.
    pub finished_mm: f64,
    /// Length of the cut edge, its corners left out, millimetres.
    pub cut_mm: f64,
    /// Length of the line on the inside where the cut edge comes to lie, millimetres.
    pub landing_mm: f64,
    /// The tightest hollow, if any.
    pub hollow: Option<Turned>,
    /// The tightest bulge, if any.
    pub bulge: Option<Turned>,
}

/// Slits are spaced so that the bits between them stay this near to the curve, millimetres: what a hammer takes down.
const SLIT_ERROR_MM: f64 = 0.5;

/// Less than this part of stretch or excess is none, and not spoken of: half a percent, a millimetre on the length of a hand.
const TOLD: f64 = 0.005;

impl EdgeTurn {
    /// The report in words: what the cut edge must cover, and where it needs help.
    #[must_use]
    pub fn lines(&self, unit: Unit) -> Vec<String> {
        let mut out = vec![format!(
            "{}: the cut edge, {} long, comes to lie on {} ({})",
            self.edge,
            unit.show(self.cut_mm),
            unit.show(self.landing_mm),
            unit.show_change(self.landing_mm - self.cut_mm),
        )];
        for turned in [self.hollow, self.bulge].into_iter().flatten().filter(|t| t.part >= TOLD) {
            let (what, cuts) = match turned.bend {
                Bend::Hollow => ("stretch", "slits"),
                Bend::Bulge => ("excess", "V-cuts"),
            };
            let spacing = unit.show(slit_spacing_mm(turned.radius_mm, SLIT_ERROR_MM));
            let advice = match turned.advice() {
                Advice::None => format!("no {cuts} needed"),
                Advice::SlitsOrNarrower => format!("{cuts} every {spacing}, or a narrower turn"),
                Advice::Slits => format!("{cuts} needed, every {spacing}"),
            };
            out.push(format!(
                "{}: {:.0} % {what} at the tightest place, radius {}: {advice}",
                self.edge,
                100.0 * turned.part,
                unit.show(turned.radius_mm),
            ));
        }
        out
    }
}

/// Distance between slits so that the straight bits between them depart from the curve by at most `chord_error_mm`:
/// L = √(8 r e).
#[must_use]
pub fn slit_spacing_mm(radius_mm: f64, chord_error_mm: f64) -> f64 {
    (8.0 * radius_mm * chord_error_mm).sqrt()
}

/// How far from a corner the cut edge of the flap starts, for an allowance a and an interior angle θ: a / tan(θ / 2).
#[must_use]
pub fn flap_start_mm(allowance_mm: f64, interior_rad: f64) -> f64 {
    allowance_mm / (interior_rad / 2.0).tan()
}

/// How far outside a corner the full corner of the cut line lies: a / sin(θ / 2).
#[must_use]
pub fn full_corner_mm(allowance_mm: f64, interior_rad: f64) -> f64 {
    allowance_mm / (interior_rad / 2.0).sin()
}

/// What a fold of 180° takes of material t thick, folded tight: π t / 2, its middle going half round a circle of t across
/// (geometry, neutral axis in the middle).
#[must_use]
pub fn turn_of_cloth_mm(thickness_mm: f64) -> f64 {
    std::f64::consts::FRAC_PI_2 * thickness_mm
}
