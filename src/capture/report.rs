//! What a capture tells of itself.

use super::{CapturedRing, Located, Request, advice, measure};
use crate::geometry::Point;
use crate::outline::Scene;
use serde::Serialize;
use std::collections::BTreeMap;

/// A sheet in the report.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReportSheet {
    /// Number as printed, from 1.
    pub number: usize,
    /// Where its board's corner lies on the table, millimetres.
    pub place: [f64; 2],
    /// How far it is turned, degrees, clockwise as seen.
    pub angle: f64,
    /// Root mean square of its corners' residuals, pixels.
    pub residual: f64,
    /// Corners used.
    pub corners: usize,
    /// Height of its flat part over the highest sheets', millimetres.
    pub height: f64,
    /// How far its most lifted corner curls up, millimetres.
    pub lift: f64,
    /// Which corner that is, as the sheet is printed.
    pub lifted_corner: &'static str,
}

/// Words for a page's corners, in the order of [`crate::camera::Relief::lifts_mm`].
pub(super) const CORNERS: [&str; 4] = ["top left", "top right", "bottom right", "bottom left"];

/// The camera in the report.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReportCamera {
    /// Focal length, pixels.
    pub focal_px: f64,
    /// Its standard deviation, pixels.
    pub focal_sigma_px: f64,
    /// Principal point, pixels.
    pub centre_px: [f64; 2],
    /// k1, k2, p1, p2, k3 (OpenCV's order).
    pub distortion: [f64; 5],
    /// Angle between the view and the perpendicular to the table, degrees.
    pub tilt_deg: f64,
    /// Height above the table, millimetres.
    pub height_mm: f64,
}

/// A hand measure set beside what was traced.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReportExpected {
    /// Between which places.
    pub name: String,
    /// What the tape says, millimetres.
    pub wanted_mm: f64,
    /// What was traced, millimetres.
    pub found_mm: f64,
}

impl ReportExpected {
    /// Traced less taped, millimetres.
    #[must_use]
    pub fn off_mm(&self) -> f64 {
        self.found_mm - self.wanted_mm
    }
}

/// A hole of the garment in the report.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReportHole {
    /// Its middle on the table, millimetres.
    pub place: [f64; 2],
    /// Width and height on the table, millimetres.
    pub size_mm: [f64; 2],
    /// Its diameter, if it is round, millimetres.
    pub diameter_mm: Option<f64>,
    /// Standard deviation of its line, the median, millimetres.
    pub accuracy_mm: f64,
}

/// A hole is round if its width and height differ from the diameter of its area by less than this part.
const ROUND_PART: f64 = 0.03;

impl ReportHole {
    fn new(hole: &CapturedRing) -> Self {
        let ring = &hole.fitted.ring;
        let bounds = ring.bounds();
        let diameter = 2.0 * (ring.area_mm2().abs() / std::f64::consts::PI).sqrt();
        let round = [bounds.width(), bounds.height()].iter().all(|s| (s / diameter - 1.0).abs() < ROUND_PART);
        let mut sigmas: Vec<f64> = hole.trace.points.iter().map(|p| p.sigma_mm).collect();
        sigmas.sort_by(f64::total_cmp);
        Self {
            place: [bounds.center().x, bounds.center().y],
            size_mm: [bounds.width(), bounds.height()],
            diameter_mm: round.then_some(diameter),
            accuracy_mm: sigmas.get(sigmas.len() / 2).copied().unwrap_or(f64::NAN),
        }
    }
}

/// Hand and photograph must agree within this, millimetres (judgement; a tape on cloth is good to 2).
const AGREE_MM: f64 = 3.0;

/// The report of one capture.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Report {
    /// Number of photographs.
    pub photos: usize,
    /// The sheets.
    pub sheets: Vec<ReportSheet>,
    /// Checker corners that the camera was solved from.
    pub corners_used: usize,
    /// Root mean square of their residuals, pixels.
    pub reprojection_rms_px: f64,
    /// Millimetres on the table that one pixel covers, at the garment's middle.
    pub mm_per_px: f64,
    /// Standard deviation of the outline, the median over its length, millimetres.
    pub outline_accuracy_median_mm: f64,
    /// The largest standard deviation along the outline, bridged stretches left out, millimetres.
    pub outline_accuracy_worst_mm: f64,
    /// Length of outline where no edge is to be seen, millimetres.
    pub bridged_mm: f64,
    /// Height of the garment, millimetres.
    pub height_mm: f64,
    /// Width of the garment, millimetres.
    pub width_mm: f64,
    /// Length round the garment, millimetres.
    pub perimeter_mm: f64,
    /// Area of the garment, mm².
    pub area_mm2: f64,
    /// Its holes.
    pub holes: Vec<ReportHole>,
    /// True size of the checked block as told by the ruler or, without it, as designed, millimetres.
    pub block_mm: [f64; 2],
    /// True when the ruler told it.
    pub scale_checked: bool,
    /// Curves: number of segments of the outer line.
    pub segments: usize,
    /// Departure of the curves from the trace, root mean square, millimetres.
    pub curve_rms_mm: f64,
    /// The camera of the first photograph.
    pub camera: ReportCamera,
    /// The cameras of the others, in their order.
    pub more_cameras: Vec<ReportCamera>,
    /// Hand measures set beside what was traced.
    pub expected: Vec<ReportExpected>,
    /// What would help most, a line each.
    pub advice: Vec<String>,
    /// Seconds by stage; `total` is added by whoever writes the last byte.
    pub seconds: BTreeMap<String, f64>,
}

impl Report {
    /// The holes in words: `4 round, 9.0 mm`; `none` where there are none.
    #[must_use]
    pub fn holes_in_words(&self) -> String {
        let mut kinds: Vec<(String, usize)> = Vec::new();
        for hole in &self.holes {
            let kind = match hole.diameter_mm {
                Some(d) => format!("round, {d:.1} mm"),
                None => format!("{:.0} x {:.0} mm", hole.size_mm[0], hole.size_mm[1]),
            };
            match kinds.iter_mut().find(|k| k.0 == kind) {
                Some(k) => k.1 += 1,
                None => kinds.push((kind, 1)),
            }
        }
        let words: Vec<String> = kinds.iter().map(|(kind, count)| format!("{count} {kind}")).collect();
        if words.is_empty() { "none".to_owned() } else { words.join("; ") }
    }

    /// Sets a hand measure beside what was traced, with a warning at the head of the advice when they disagree.
    pub fn expect(&mut self, entry: ReportExpected) {
        if entry.off_mm().abs() > AGREE_MM {
            let warning = format!(
                "Warning: {} is {:.1} mm in the photograph and {:.1} mm by the tape, {:.1} mm apart: check the sheets' print \
                 with a ruler (--measured), that the garment lies flat, and the tape, before anything is cut.",
                entry.name,
                entry.found_mm,
                entry.wanted_mm,
                entry.off_mm().abs()
            );
            self.advice.insert(0, warning);
        }
        self.expected.push(entry);
    }
}

pub(super) fn report(
    scenes: &[Scene<'_>],
    located: &Located,
    request: &Request,
    (outer, holes): (&CapturedRing, &[CapturedRing]),
    seconds: Vec<(&'static str, f64)>,
) -> Report {
    let points = &outer.trace.points;
    let mut sigmas: Vec<f64> = points.iter().filter(|p| !p.bridged).map(|p| p.sigma_mm).collect();
    sigmas.sort_by(f64::total_cmp);
    let flat = outer.fitted.ring.flatten(0.01);
    let (height_mm, width_mm) = measure::height_and_width(&flat);
    let bounds = outer.fitted.ring.bounds();
    let mm_per_px = scenes[0]
        .camera
        .pixels_per_mm(bounds.center())
        .map_or(f64::NAN, |j| 1.0 / j.determinant().abs().sqrt());
    let block = scenes[0].scale.true_from_nominal(Point::new(
        crate::sheet::layout::BOARD_WIDTH_MM,
        crate::sheet::layout::BOARD_HEIGHT_MM,
    ));
    let mut report = Report {
        photos: scenes.len(),
        sheets: located
            .sheets
            .iter()
            .map(|s| ReportSheet {
                number: s.number + 1,
                place: [s.place.origin.x, s.place.origin.y],
                angle: s.place.turn.to_degrees(),
                residual: s.residual_px,
                corners: s.corners,
                height: s.relief.height_mm,
                lift: s.relief.most_lifted().0,
                lifted_corner: CORNERS[s.relief.most_lifted().1],
            })
            .collect(),
        corners_used: located.observations.len(),
        reprojection_rms_px: located.solution.rms_px,
        mm_per_px,
        outline_accuracy_median_mm: sigmas.get(sigmas.len() / 2).copied().unwrap_or(f64::NAN),
        outline_accuracy_worst_mm: sigmas.last().copied().unwrap_or(f64::NAN),
        bridged_mm: outer.trace.bridged_mm(),
        height_mm,
        width_mm,
        perimeter_mm: outer.fitted.ring.length_mm(),
        area_mm2: outer.fitted.ring.area_mm2(),
        holes: holes.iter().map(ReportHole::new).collect(),
        block_mm: [block.x, block.y],
        scale_checked: request.measured_mm.is_some(),
        segments: outer.fitted.ring.segments().len(),
        curve_rms_mm: outer.fitted.rms_mm,
        camera: camera(located, scenes, 0),
        more_cameras: (1..scenes.len()).map(|photo| camera(located, scenes, photo)).collect(),
        expected: Vec::new(),
        advice: Vec::new(),
        seconds: seconds.into_iter().map(|(stage, s)| (stage.to_owned(), s)).collect(),
    };
    report.advice = advice::advice(scenes, located, &outer.trace, &report);
    report
}

fn camera(located: &Located, scenes: &[Scene<'_>], photo: usize) -> ReportCamera {
    let camera = scenes[photo].camera;
    let ([k1, k2, k3], [p1, p2]) = (camera.lens.radial, camera.lens.tangential);
    let lens = located.lenses[photo];
    ReportCamera {
        focal_px: camera.lens.focal_px,
        focal_sigma_px: located.solution.focal_sigma_px.get(lens).copied().unwrap_or(f64::NAN),
        centre_px: [camera.lens.centre.x, camera.lens.centre.y],
        distortion: [k1, k2, p1, p2, k3],
        tilt_deg: camera.tilt_deg(),
        height_mm: -camera.centre().z,
    }
}
