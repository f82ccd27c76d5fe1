//! What would make the next photograph better, in a maker's words.

use super::{Located, Report};
use crate::geometry::Trace;
use crate::outline::{self, Scene};

/// A tilt beyond this makes thick edges and curl count, degrees.
const TILT_MOST_DEG: f64 = 32.0;
/// A pixel larger than this on the table costs accuracy, millimetres.
const PIXEL_MOST_MM: f64 = 0.6;
/// A sheet whose residual is this many times the median's lies curled or bent.
const CURLED: f64 = 2.5;
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
    if report.camera.tilt_deg > TILT_MOST_DEG {
        out.push(format!(
            "The camera looks {:.0} degrees from straight down: hold it more level, under 30 degrees.",
            report.camera.tilt_deg
        ));
    }
    if report.mm_per_px > PIXEL_MOST_MM {
        out.push(format!(
            "One pixel covers {:.2} mm: go nearer, or use the camera's full size.",
            report.mm_per_px
        ));
    }
    let mut residuals: Vec<f64> = located.sheets.iter().map(|s| s.residual_px).collect();
    residuals.sort_by(f64::total_cmp);
    let median = residuals.get(residuals.len() / 2).copied().unwrap_or(0.0);
    let curled: Vec<String> = located
        .sheets
        .iter()
        .filter(|s| s.residual_px > CURLED * median && s.residual_px > 0.15)
        .map(|s| (s.number + 1).to_string())
        .collect();
    if !curled.is_empty() {
        out.push(format!("Sheet {} does not lie flat: press it down or tape it.", curled.join(", ")));
    }
    if let Some((place, length)) = longest_bridge(scenes, trace).filter(|b| b.1 > BRIDGED_TOLD_MM) {
        out.push(format!(
            "At the {place} no edge is to be seen over {length:.0} mm; it was carried on from both sides. Tuck straps \
             under, or move the garment so that paper of another shade lies under its edge there."
        ));
    }
    out
}

/// The longest stretch without an edge: where, and how long in millimetres.
fn longest_bridge(scenes: &[Scene<'_>], trace: &Trace) -> Option<(String, f64)> {
    let points = &trace.points;
    let n = points.len();
    let first = (0..n).find(|&i| !points[i].bridged)?;
    let mut best: Option<(usize, f64)> = None;
    let (mut start, mut length) = (first, 0.0);
    for i in 1..=n {
        let k = (first + i) % n;
        if points[k].bridged {
            length += points[k].at.distance(points[(k + n - 1) % n].at);
            if best.is_none_or(|b| length > b.1) {
                best = Some((start + (k + n - start) % n / 2, length));
            }
        } else {
            start = k;
            length = 0.0;
        }
    }
    best.map(|(k, length)| (outline::side_in_words(scenes, points[k % n].at), length))
}
