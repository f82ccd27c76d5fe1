//! A capture kept: its traced piece, report and pictures as a new pattern folder.

use super::error::ShelfError;
use super::new_folder::{NewPattern, create};
use super::recipe_text::PatternFile;
use crate::capture::Captured;
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
    captured.report.seconds.insert("total".to_owned(), began.elapsed().as_secs_f64());
    let pattern = NewPattern::of_captured(captured, file, photos);
    create(dir, &pattern, replace)?;
    captured.report.seconds.insert("total".to_owned(), began.elapsed().as_secs_f64());
    Ok(())
}
