//! A pattern folder while it is made on the shelf: hidden until it is whole.

use super::error::ShelfError;
use super::lock::{self, Held};
use super::{new_folder, recipe_text, sums};
use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;

/// How the hidden folders are called.
const PREFIX: &str = ".making-";
/// A file in a hidden folder that its maker holds, so that others see that it is alive.
const ALIVE: &str = ".alive";

/// Files of a pattern that are replaced whole: the new one is written beside, under a hidden name that begins like theirs.
const REPLACED: [&str; 3] = [recipe_text::FILE, new_folder::DRAFTED, sums::FILE];

/// After this a file beside another belongs to no program that still writes: that takes a second on the slowest disk.
const ABANDONED: Duration = Duration::from_secs(3600);

/// A hidden folder, swept away when it is not put in its place.
#[derive(Debug)]
pub(super) struct Making {
    pub(super) dir: PathBuf,
    alive: Option<Held>,
}

impl Making {
    /// A new hidden folder. The caller holds the shelf, so that nobody sweeps it before it is seen to be alive.
    pub(super) fn new(shelf: &Path) -> Result<Self, ShelfError> {
        static COUNT: AtomicU64 = AtomicU64::new(0);
        loop {
            let number = COUNT.fetch_add(1, Ordering::Relaxed);
            let dir = shelf.join(format!("{PREFIX}{}-{number}", std::process::id()));
            match fs::create_dir(&dir) {
                Ok(()) => {
                    let alive = lock::hold_file(&dir.join(ALIVE))?;
                    return Ok(Self { dir, alive: Some(alive) });
                }
                // Left by a program of the same number that was cut off, on this machine or another.
                Err(error) if error.kind() == std::io::ErrorKind::AlreadyExists => {}
                Err(error) => return Err(ShelfError::writing(&dir, 0, error)),
            }
        }
    }

    /// Moves the folder to its place in one stroke. The caller holds the shelf.
    pub(super) fn place(mut self, place: &Path) -> Result<(), ShelfError> {
        let alive = self.dir.join(ALIVE);
        fs::remove_file(&alive).map_err(|e| ShelfError::io("removed", &alive, e))?;
        self.alive = None;
        fs::rename(&self.dir, place).map_err(|e| ShelfError::io("moved", &self.dir, e))?;
        sync(place.parent().unwrap_or(Path::new(".")));
        Ok(())
    }
}

impl Drop for Making {
    fn drop(&mut self) {
        // Nothing is there after the move; a refusal leaves a hidden folder for the next sweep.
        let _ = fs::remove_dir_all(&self.dir);
    }
}

/// Removes what programs that were cut off left behind. The caller holds the shelf.
pub(super) fn sweep(shelf: &Path) {
    let Ok(entries) = fs::read_dir(shelf) else { return };
    for entry in entries.flatten() {
        let hidden = entry.file_name().to_string_lossy().starts_with(PREFIX);
        if hidden && !lock::is_held(&entry.path().join(ALIVE)) {
            let _ = fs::remove_dir_all(entry.path());
        }
    }
}

/// Removes what programs that were cut off while they put a file in the place of another left in a pattern's folder.
pub(super) fn sweep_beside(dir: &Path) {
    let Ok(entries) = fs::read_dir(dir) else { return };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let beside = |file: &str| name.to_string_lossy().starts_with(&format!(".{file}."));
        let age = || entry.metadata().ok()?.modified().ok()?.elapsed().ok();
        if REPLACED.into_iter().any(beside) && age().is_some_and(|age| age > ABANDONED) {
            let _ = fs::remove_file(entry.path());
        }
    }
}

/// Waits until the disk has the folder's list of names; where a folder cannot be opened, the system does so in its time.
fn sync(dir: &Path) {
    let _ = File::open(dir).and_then(|dir| dir.sync_all());
}

/// Copies files, by their names below a folder, into another, and waits until the disk has them.
pub(super) fn copy(from: &Path, to: &Path, names: &[String]) -> Result<(), ShelfError> {
    for name in names {
        let (source, target) = (from.join(name), to.join(name));
        if let Some(parent) = target.parent() {
            fs::create_dir_all(parent).map_err(|e| ShelfError::writing(parent, 0, e))?;
        }
        let bytes = fs::read(&source).map_err(|e| ShelfError::io("read", &source, e))?;
        new_folder::write(&target, &bytes)?;
    }
    Ok(())
}
