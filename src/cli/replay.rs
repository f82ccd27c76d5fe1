//! From a pattern folder to its outline at a stage: traced, folded, drafted.

use crate::geometry::Ring;
use crate::pattern::{Drafted, Folded, Piece};
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
    Ok(Piece::from_folded(&folder.fold()?, folder.file.record))
}

/// The pieces after the last step.
pub(super) fn drafted(dir: &Path) -> anyhow::Result<Drafted> {
    Ok(replay(&Folder::open(dir)?)?.1)
}

/// The fold with its report of wear, and the pieces after the last step.
pub(super) fn replay(folder: &Folder) -> anyhow::Result<(Folded, Drafted)> {
    Ok(folder.replay()?)
}
