//! Slits in the allowance of a hollow, V-cuts in that of a bulge, so that a turned edge lies flat.

use super::ground::Ground;
use super::{Construction, LineKind};
use crate::geometry::PathSeg;
use crate::pattern::{Bend, Letter, StepProblem, Turned, slit_spacing_mm, spot};
use kurbo::{ParamCurve, ParamCurveArclen, ParamCurveDeriv};

/// Slits along a turned edge.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::pattern) struct Slits {
    pub(in crate::pattern) edge: Letter,
    /// The straight bits between slits depart from the curve by at most this, millimetres.
    pub(in crate::pattern) error_mm: f64,
    /// Slits end so far short of the fold, millimetres.
    pub(in crate::pattern) short_mm: f64,
}

/// Stretch or excess below which no slit is made, as a part: nothing needs help there.
const NO_HELP: f64 = 0.10;

/// Steps by which a stretch that needs no slits is passed, millimetres.
const STEP_MM: f64 = 2.0;

/// Slits never stand nearer to each other than this, millimetres: narrower bits tear off (judgement).
const LEAST_MM: f64 = 3.0;

/// A slit whose mouth lies farther than this from the cut line is not made, millimetres.
const OFF_CUT_MM: f64 = 0.1;

impl Slits {
    pub(super) fn draw(self, ground: &Ground<'_>, out: &mut Construction) -> Result<(), StepProblem> {
        let outline = &ground.piece.outline;
        let edge = outline.find_point(&self.edge.to_string())?;
        let allowance_mm = ground.allowance_mm(edge);
        if allowance_mm <= self.short_mm {
            return Err(StepProblem::NoAllowance { edge: outline.spoken(edge) });
        }
        let length_mm = outline.edges()[edge].length_mm();
        let mut along = 0.0;
        let mut among_slits = false;
        while along < length_mm {
            let Some((bend, radius_mm)) = bend_at(&outline.edges()[edge].segments, along) else {
                along += STEP_MM;
                continue;
            };
            let part = Turned::new(bend, radius_mm, allowance_mm).map_or(f64::INFINITY, |t| t.part);
            if part <= NO_HELP {
                along += STEP_MM;
                among_slits = false;
                continue;
            }
            let spacing = slit_spacing_mm(radius_mm, self.error_mm).max(LEAST_MM);
            if !among_slits {
                // The first bit of the bend is half as long: none begins at the joint with the straight part.
                along += spacing / 2.0;
                among_slits = true;
                continue;
            }
            let found = spot::found(outline, edge, along);
            let apex = found.at + found.outward() * self.short_mm;
            // What is too full between two V-cuts, 2aL / r at the cut edge, measured at the finished line.
            let open = if bend == Bend::Bulge {
                (2.0 * allowance_mm * spacing / (radius_mm + allowance_mm)).min(0.8 * spacing)
            } else {
                0.0
            };
            let mouths = [-0.5, 0.5].map(|side| {
                let beside = spot::found(outline, edge, (along + side * open).clamp(0.0, length_mm));
                beside.at + beside.outward() * allowance_mm
            });
            if mouths.iter().any(|mouth| ground.to_cut_edge_mm(*mouth) > OFF_CUT_MM) {
                // A corner has taken the allowance away there.
                along += STEP_MM;
                continue;
            }
            let ends: &[_] = if open > 0.0 { &[mouths[0], apex, mouths[1]] } else { &[apex, mouths[0]] };
            out.line(LineKind::Slit, "", ends);
            along += spacing;
        }
        Ok(())
    }
}

/// Which way and how tightly a run bends so far along it; `None` on a straight line.
fn bend_at(segments: &[PathSeg], along_mm: f64) -> Option<(Bend, f64)> {
    /// Good enough for a place between slits, millimetres.
    const ACCURACY_MM: f64 = 1e-3;
    let mut left = along_mm;
    for segment in segments {
        let length = segment.arclen(ACCURACY_MM);
        if left < length {
            let PathSeg::Cubic(cubic) = segment else { return None };
            let t = cubic.inv_arclen(left, ACCURACY_MM);
            let (d1, d2) = (cubic.deriv().eval(t).to_vec2(), cubic.deriv().deriv().eval(t).to_vec2());
            let curvature = d1.cross(d2) / d1.hypot().powi(3);
            // Clockwise with y down: turning right, towards the cloth, is a bulge.
            let bend = if curvature > 0.0 { Bend::Bulge } else { Bend::Hollow };
            return (curvature.abs() > 1e-6).then(|| (bend, 1.0 / curvature.abs()));
        }
        left -= length;
    }
    None
}
