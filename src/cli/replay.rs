//! From a pattern folder to its outline at a stage: traced, folded, drafted.

use crate::geometry::Ring;
use crate::pattern::{self, Drafted, Piece};
use crate::shelf::Folder;
use std::path::Path;

/// The piece's name and its traced rings, the outer one first, in the table's frame.
pub(super) fn traced(dir: &Path) -> anyhow::Result<(String, Vec<Ring>)> {
    let Folder { file, traced, .. } = Folder::open(dir)?;
    let rings = std::iter::once(traced.outer).chain(traced.holes).map(|traced| traced.fitted.ring);
    Ok((file.record.piece, rings.collect()))
}

/// The folded half, before any step.
pub(super) fn folded(dir: &Path) -> anyhow::Result<Piece> {
    let folder = Folder::open(dir)?;
    half(&folder)
}

/// The pieces after the last step.
pub(super) fn drafted(dir: &Path) -> anyhow::Result<Drafted> {
    let folder = Folder::open(dir)?;
    Ok(pattern::draft(&half(&folder)?, &folder.file.recipe)?)
}

fn half(folder: &Folder) -> anyhow::Result<Piece> {
    anyhow::bail!("{}: folding is not built yet; export --stage traced", folder.dir().display())
}
