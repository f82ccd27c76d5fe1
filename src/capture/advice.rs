//! What would make the next photograph better, in a maker's words: a line for each thing, the most helpful first.

use super::Located;
use super::report::{CORNERS, Report};
use crate::geometry::{Point, Trace, TracePoint};
use crate::outline::{self, Scene};
use crate::photo::edge_width_px;
use crate::sheet::layout;

/// A tilt beyond this makes thick edges and curl count, degrees.
const TILT_MOST_DEG: f64 = 32.0;
/// A pixel larger than this on the table costs accuracy, millimetres.
const PIXEL_MOST_MM: f64 = 0.6;
/// A garment that fills less than this part of the picture's length and of its width is photographed from too far.
const FILLED_LEAST: f64 = 0.45;
/// A corner that is lifted by more than this is told, millimetres: seen at 30 degrees it is half as much off.
const CURL_TOLD_MM: f64 = 0.8;
/// A sheet whose residual is this many times the median's is bent or creased in another way.
const BENT: f64 = 2.5;
/// Residuals below this are of no concern, pixels.
const BENT_PX: f64 = 0.15;
/// Edges of this width begin to be blurred, pixels: sharp photographs have 1 to 2.
const SOFT_PX: f64 = 2.3;
/// An edge seen farther from straight above than this is told, degrees: a millimetre of height moves it by as much.
const SLANT_MOST_DEG: f64 = 42.0;
/// A stretch of outline over no sheet longer than this is told, millimetres.
const OFF_SHEETS_TOLD_MM: f64 = 60.0;
/// A stretch without an edge longer than this is told, millimetres.
const BRIDGED_TOLD_MM: f64 = 25.0;

pub(super) fn advice(scenes: &[Scene<'_>], located: &Located, trace: &Trace, report: &Report) -> Vec<String> {
    let mut out = Vec::new();
    if !report.scale_checked {
        out.push(
            "The print's scale is not checked: measure the checked block (180 x 240 mm) with a steel ruler and give it \
             with --measured WIDTH,HEIGHT."
                .to_owned(),
        );
    }
    out.extend(blur(scenes));
    if report.mm_per_px > PIXEL_MOST_MM {
        out.push(format!(
            "One pixel covers {:.2} mm: go closer, or use the camera's full size.",
            report.mm_per_px
        ));
    } else if let Some(part) = filled(scenes, trace).filter(|part| *part < FILLED_LEAST) {
        out.push(format!(
            "The garment fills only {:.0} % of the photograph: go closer, until the sheets round it just fit.",
            100.0 * part
        ));
    }
    if report.camera.tilt_deg > TILT_MOST_DEG {
        out.push(format!(
            "The camera looks {:.0} degrees from straight down: hold it flatter, under 30 degrees.",
            report.camera.tilt_deg
        ));
    }
    if let Some((place, degrees)) = slanted(scenes, trace) {
        let side = outline::side_in_words(scenes, place);
        out.push(format!(
            "At the {side} the edge is seen {degrees:.0} degrees from straight above: give another photograph, taken from \
             the {side}, with this one."
        ));
    }
    out.extend(curled(located));
    out.extend(bent(located));
    let off = |p: &TracePoint| !on_print(scenes, p.at);
    if let Some((place, length)) = trace.longest(off).filter(|b| b.1 > OFF_SHEETS_TOLD_MM) {
        out.push(format!(
            "At the {} {length:.0} mm of the outline lie over no sheet that is known: lay more sheets there.",
            outline::side_in_words(scenes, place)
        ));
    }
    if let Some((place, length)) = trace.longest(|p| p.bridged).filter(|b| b.1 > BRIDGED_TOLD_MM) {
        out.push(format!(
            "At the {} no edge is to be seen over {length:.0} mm; it was carried on from both sides. Tuck straps under, or \
             move the garment so that paper of another shade lies under its edge there.",
            outline::side_in_words(scenes, place)
        ));
    }
    out
}

/// A line for photographs whose edges are soft.
fn blur(scenes: &[Scene<'_>]) -> Option<String> {
    let soft: Vec<String> = scenes
        .iter()
        .enumerate()
        .filter_map(|(k, s)| Some((k, edge_width_px(s.photo).filter(|w| *w > SOFT_PX)?)))
        .map(|(k, width)| format!("{} (edges {width:.1} px wide)", k + 1))
        .collect();
    (!soft.is_empty()).then(|| {
        format!(
            "Photograph {} is a little blurred: hold the camera still against something, give more light, tap to focus.",
            soft.join(", ")
        )
    })
}

/// How much of a photograph's length or width, whichever is more, the garment fills where it fills most.
#[expect(clippy::cast_precision_loss, reason = "picture sizes are far below 2^52")]
fn filled(scenes: &[Scene<'_>], trace: &Trace) -> Option<f64> {
    let in_photo = |scene: &Scene<'_>| -> Option<f64> {
        let pixels = trace.points.iter().filter_map(|p| scene.camera.pixel_from_table(p.at, 0.0));
        let bounds = pixels.map(|p| kurbo::Rect::from_points(p, p)).reduce(|a, b| a.union(b))?;
        Some((bounds.width() / scene.camera.width as f64).max(bounds.height() / scene.camera.height as f64))
    };
    scenes.iter().filter_map(in_photo).max_by(f64::total_cmp)
}

/// The place of the outline that is seen most aslant by the photograph that sees it best, and the angle from straight
/// above, degrees.
fn slanted(scenes: &[Scene<'_>], trace: &Trace) -> Option<(Point, f64)> {
    let best = |p: &TracePoint| {
        let angles = scenes
            .iter()
            .filter(|s| s.camera.pixel_from_table(p.at, 0.0).is_some_and(|px| s.camera.sees(px)))
            .map(|s| s.camera.lean(p.at).hypot().atan().to_degrees());
        angles.min_by(f64::total_cmp).map(|angle| (p.at, angle))
    };
    let worst = trace.points.iter().filter_map(best).max_by(|a, b| a.1.total_cmp(&b.1))?;
    (worst.1 > SLANT_MOST_DEG).then_some(worst)
}

/// A line for sheets whose corners curl up.
fn curled(located: &Located) -> Option<String> {
    let curled: Vec<String> = located
        .sheets
        .iter()
        .filter_map(|s| {
            let (lift, corner) = s.relief.most_lifted();
            let words =
                || format!("sheet {} by {lift:.1} mm at its {} corner", s.number + 1, CORNERS[corner]);
            (lift > CURL_TOLD_MM).then(words)
        })
        .collect();
    (!curled.is_empty()).then(|| {
        format!("Some sheets curl up: {}. Press them flat or tape their corners.", curled.join(", "))
    })
}

/// A line for sheets whose corners do not lie where a flat or curled sheet has them.
fn bent(located: &Located) -> Option<String> {
    let mut residuals: Vec<f64> = located.sheets.iter().map(|s| s.residual_px).collect();
    residuals.sort_by(f64::total_cmp);
    let median = residuals.get(residuals.len() / 2).copied().unwrap_or(0.0);
    let bent: Vec<String> = located
        .sheets
        .iter()
        .filter(|s| s.residual_px > BENT * median && s.residual_px > BENT_PX)
        .map(|s| (s.number + 1).to_string())
        .collect();
    (!bent.is_empty())
        .then(|| format!("Sheet {} is bent or creased: press it flat, or print it anew.", bent.join(", ")))
}

/// Whether a sheet's print or page lies at a place of the table.
fn on_print(scenes: &[Scene<'_>], at: Point) -> bool {
    scenes.first().is_some_and(|scene| {
        scene.sheets.iter().any(|s| {
            let nominal = scene.scale.nominal_from_true(s.place.board_from_table(at));
            layout::PRINTED.inflate(MARGIN_MM, MARGIN_MM).contains(nominal)
        })
    })
}

/// White margin beside the print that is as good as print for seeing an edge, millimetres.
const MARGIN_MM: f64 = 8.0;
