//! Locks between programs. The system takes them off a program that ends, however it ends.

use super::error::ShelfError;
use super::folder::is_absent;
use super::new_folder::TRACED;
use std::fs::{File, OpenOptions};
use std::path::Path;

/// A lock, held until it is dropped.
#[derive(Debug)]
pub struct Held {
    _file: File,
}

/// Waits until no other program changes this pattern folder, and keeps others from doing so.
///
/// # Errors
/// [`ShelfError::NoPattern`], or the system refused.
pub fn hold(dir: &Path) -> Result<Held, ShelfError> {
    // The traced rings are never written again, so their file serves as the lock and nothing is added to the folder.
    let path = dir.join(TRACED);
    let file = File::open(&path).map_err(|error| {
        if is_absent(&error) {
            ShelfError::NoPattern(dir.to_owned())
        } else {
            ShelfError::io("read", &path, error)
        }
    })?;
    file.lock().map_err(|error| ShelfError::io("locked", &path, error))?;
    Ok(Held { _file: file })
}

/// Waits until no other program holds this file, which is made when it is not there.
pub(super) fn hold_file(path: &Path) -> Result<Held, ShelfError> {
    let file = open(path)?;
    file.lock().map_err(|error| ShelfError::io("locked", path, error))?;
    Ok(Held { _file: file })
}

/// Whether another program holds this file.
pub(super) fn is_held(path: &Path) -> bool {
    File::open(path).is_ok_and(|file| file.try_lock().is_err())
}

fn open(path: &Path) -> Result<File, ShelfError> {
    let open = OpenOptions::new().create(true).truncate(false).read(true).write(true).open(path);
    open.map_err(|error| ShelfError::writing(path, 0, error))
}
