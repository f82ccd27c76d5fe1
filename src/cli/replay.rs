//! From a pattern folder to its outline at a stage: traced, folded, drafted.

use crate::curve::Tolerance;
use crate::geometry::Ring;
use crate::pattern::{self, Drafted, FoldOptions, Folded, Piece};
use crate::shelf::Folder;
use std::path::Path;

/// The piece's name and its traced rings, the outer one first, in the table's frame.
pub(super) fn traced(dir: &Path) -> anyhow::Result<(String, Vec<Ring>)> {
    let Folder { file, traced, .. } = Folder::open(dir)?;
    let rings = std::iter::once(traced.outer).chain(traced.holes).map(|r| r.fitted.ring).collect();
    Ok((file.record.piece, rings))
}

/// The folded half, before any step.
pub(super) fn folded(dir: &Path) -> anyhow::Result<Piece> {
    let folder = Folder::open(dir)?;
    Ok(Piece::from_folded(&fold(&folder)?, folder.file.record))
}

/// The pieces after the last step.
pub(super) fn drafted(dir: &Path) -> anyhow::Result<Drafted> {
    Ok(replay(&Folder::open(dir)?)?.1)
}

/// The fold with its report of wear, and the pieces after the last step.
pub(super) fn replay(folder: &Folder) -> anyhow::Result<(Folded, Drafted)> {
    let folded = fold(folder)?;
    let half = Piece::from_folded(&folded, folder.file.record.clone());
    let drafted = pattern::draft(&half, &folder.file.recipe)?;
    Ok((folded, drafted))
}

fn fold(folder: &Folder) -> anyhow::Result<Folded> {
    let Folder { file, traced, .. } = folder;
    let holes: Vec<_> = traced.holes.iter().map(|hole| hole.fitted.clone()).collect();
    let tolerance = Tolerance { depart_mm: super::capture::DEPART_MM, ..Tolerance::default() };
    let options = FoldOptions { keep: file.keep, top: file.top, tolerance };
    Ok(pattern::fold(&traced.outer.fitted, &holes, &options)?)
}
