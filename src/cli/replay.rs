//! From a pattern folder to its outline at a stage: traced, folded, drafted.

use crate::geometry::Ring;
use crate::pattern::{Drafted, Piece};
use std::path::Path;

/// The piece's name and its traced rings, the outer one first, in the table's frame.
pub(super) fn traced(dir: &Path) -> anyhow::Result<(String, Vec<Ring>)> {
    anyhow::bail!("{}: pattern folders cannot be read yet", dir.display())
}

/// The folded half, before any step.
pub(super) fn folded(dir: &Path) -> anyhow::Result<Piece> {
    anyhow::bail!("{}: pattern folders cannot be read yet", dir.display())
}

/// The pieces after the last step.
pub(super) fn drafted(dir: &Path) -> anyhow::Result<Drafted> {
    anyhow::bail!("{}: pattern folders cannot be read yet", dir.display())
}
