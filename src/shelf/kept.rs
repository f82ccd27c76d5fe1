//! A capture kept: its traced piece, report and pictures as a new pattern folder.

use super::error::ShelfError;
use super::new_folder::{NewPattern, Picture, create};
use super::recipe_text::PatternFile;
use crate::capture::{Captured, CapturedRing};
use crate::pattern::{Traced, TracedRing};
use std::path::Path;
use std::time::Instant;

/// Writes a capture into a pattern folder, whole or not at all, and completes its report with the total time
/// since `began`. `photos` are the photographs' names as the person knows them.
///
/// # Errors
/// As [`create`].
pub fn keep(
    dir: &Path,
    captured: &mut Captured,
    file: PatternFile,
    photos: &[String],
    replace: bool,
    began: Instant,
) -> Result<(), ShelfError> {
    let ring = |r: &CapturedRing| TracedRing { fitted: r.fitted.clone(), trace: r.trace.clone() };
    let r = &captured.report;
    let facts = [
        ("photographs", photos.join(", ")),
        ("checked_block", format!("{:.1} x {:.1} mm", r.block_mm[0], r.block_mm[1])),
        ("scale", if r.scale_checked { "checked with a ruler" } else { "not checked" }.to_owned()),
        ("height_by_width", format!("{:.1} x {:.1} mm", r.height_mm, r.width_mm)),
        (
            "accuracy",
            format!(
                "{:.2} mm typical, {:.2} mm worst",
                r.outline_accuracy_median_mm, r.outline_accuracy_worst_mm
            ),
        ),
    ];
    captured.report.seconds.insert("total".to_owned(), began.elapsed().as_secs_f64());
    let pattern = NewPattern {
        traced: Traced { outer: ring(&captured.outer), holes: captured.holes.iter().map(ring).collect() },
        file,
        facts: facts.into_iter().map(|(k, v)| (k.to_owned(), v)).collect(),
        // Numbers, lists and words only: nothing that could fail to be written.
        report: serde_json::to_value(&captured.report).unwrap_or_default(),
        pictures: captured
            .pictures
            .iter()
            .map(|p| Picture { name: p.name.clone(), bytes: p.bytes.clone() })
            .collect(),
    };
    create(dir, &pattern, replace)?;
    captured.report.seconds.insert("total".to_owned(), began.elapsed().as_secs_f64());
    Ok(())
}
