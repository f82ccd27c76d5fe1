//! The traced line on its photograph as the page draws it: as found, as corrected, and places of it that can be taken hold of.

use super::drawing_view;
use super::open_pattern::OpenPattern;
use super::view::{box_of, rounded, title};
use crate::capture;
use crate::curve::Fitted;
use crate::geometry::Ring;
use crate::pattern::Corrected;
use kurbo::{ParamCurve, ParamCurveArclen};
use serde_json::{Value, json};

/// Traced points are told at this spacing, in points: about 3 mm.
const TRACE_STRIDE: usize = 3;
/// Places of the line are told at this spacing at most, millimetres: nearer to one than this, a pointer is near the line.
const PLACE_MM: f64 = 4.0;
/// Arc lengths are good to this, millimetres.
const LENGTH_MM: f64 = 0.01;

/// Everything that is drawn on the photograph.
pub(super) fn whole(open: &OpenPattern, corrected: &Corrected) -> Value {
    let folder = open.folder();
    let traced = &folder.traced;
    let (undo, redo) = open.undoable();
    let mut out = line(corrected);
    out["title"] = json!(title(&folder.file));
    out["undo"] = json!(undo);
    out["redo"] = json!(redo);
    out["window"] = json!(box_of(capture::table_window(&traced.outer.fitted.ring)));
    out["found"] = json!(svg(&traced.outer.fitted.ring));
    out["holes"] = traced.holes.iter().map(|hole| svg(&hole.fitted.ring)).collect();
    let points = traced.outer.trace.points.iter().step_by(TRACE_STRIDE);
    out["trace"] = points
        .map(|p| json!([rounded(p.at.x), rounded(p.at.y), rounded(p.sigma_mm), u8::from(p.bridged)]))
        .collect();
    out
}

/// The corrected line, what its last correction did, and its places in order: `[x, y, 2 for a corner, 1 for a joint, 0]`.
pub(super) fn line(corrected: &Corrected) -> Value {
    json!({
        "line": svg(&corrected.outer.ring),
        "places": places(&corrected.outer),
        "corrections": corrected.reports.iter().map(|r| json!({ "step": r.number - 1, "spoken": r.spoken })).collect::<Vec<_>>(),
    })
}

fn svg(ring: &Ring) -> String {
    drawing_view::path(&ring.path())
}

fn places(outer: &Fitted) -> Vec<Value> {
    let mut out = Vec::new();
    for (index, segment) in outer.ring.segments().iter().enumerate() {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a positive count")]
        let count = (segment.arclen(LENGTH_MM) / PLACE_MM).ceil().max(1.0) as usize;
        let kind = if outer.corners.contains(&index) { 2 } else { 1 };
        out.extend((0..count).map(|k| {
            let at = segment.eval(k as f64 / count as f64);
            json!([rounded(at.x), rounded(at.y), if k == 0 { kind } else { 0 }])
        }));
    }
    out
}
