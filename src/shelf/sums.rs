//! Checksums of a pattern folder's files: `SHA256SUMS`, a line a file, as `sha256sum` of any system writes and checks.
//!
//! SHA-256: FIPS 180-4. A file that is just being changed has two lines, the old sum and the new: either is right.

use super::error::ShelfError;
use super::folder::{is_absent, write_over};
use sha2::{Digest, Sha256};
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

/// Name of the file.
pub(super) const FILE: &str = "SHA256SUMS";

/// The sum of these bytes, in hexadecimal.
pub(super) fn of(bytes: &[u8]) -> String {
    hexadecimal(&Sha256::digest(bytes))
}

/// Bytes as figures.
pub(super) fn hexadecimal(bytes: &[u8]) -> String {
    bytes.iter().fold(String::with_capacity(2 * bytes.len()), |mut out, byte| {
        let _ = write!(out, "{byte:02x}");
        out
    })
}

/// Sums and names, as listed.
pub(super) type Listed = Vec<(String, String)>;

/// What the folder's file lists; `None` for a folder without one, or one that is not such a list.
///
/// # Errors
/// The system refused to read it.
pub(super) fn listed(dir: &Path) -> Result<Option<Listed>, ShelfError> {
    let path = dir.join(FILE);
    let bytes = match fs::read(&path) {
        Ok(bytes) => bytes,
        Err(error) if is_absent(&error) => return Ok(None),
        Err(error) => return Err(ShelfError::io("read", &path, error)),
    };
    let text = String::from_utf8_lossy(&bytes);
    Ok(text.lines().map(line).collect())
}

/// One line: the sum, two blanks, the name.
fn line(text: &str) -> Option<(String, String)> {
    let (sum, name) = text.split_once("  ")?;
    let whole = sum.len() == 64 && sum.bytes().all(|b| b.is_ascii_hexdigit());
    whole.then(|| (sum.to_owned(), name.to_owned()))
}

/// Writes the list, in the order of names.
pub(super) fn write(dir: &Path, mut list: Listed) -> Result<(), ShelfError> {
    list.sort_by(|a, b| a.1.cmp(&b.1));
    let text: String = list.iter().map(|(sum, name)| format!("{sum}  {name}\n")).collect();
    write_over(&dir.join(FILE), text.as_bytes())
}

/// Says that a file is about to have this sum. A folder without sums stays without.
pub(super) fn announce(dir: &Path, name: &str, sum: &str) -> Result<(), ShelfError> {
    let Some(mut list) = listed(dir)? else { return Ok(()) };
    if !list.iter().any(|(s, n)| n == name && s == sum) {
        list.push((sum.to_owned(), name.to_owned()));
        write(dir, list)?;
    }
    Ok(())
}

/// Says that a file has this sum and no other.
pub(super) fn settle(dir: &Path, name: &str, sum: &str) -> Result<(), ShelfError> {
    let Some(mut list) = listed(dir)? else { return Ok(()) };
    let before = list.len();
    list.retain(|(s, n)| n != name || s == sum);
    if list.len() == before { Ok(()) } else { write(dir, list) }
}

/// Sums of every file below a folder, by names with slashes; the list itself and hidden files are left out.
///
/// # Errors
/// The system refused to read one.
pub(super) fn of_folder(dir: &Path) -> Result<Listed, ShelfError> {
    files(dir)?
        .into_iter()
        .map(|name| {
            let path = dir.join(&name);
            let bytes = fs::read(&path).map_err(|e| ShelfError::io("read", &path, e))?;
            Ok((of(&bytes), name))
        })
        .collect()
}

/// Names of every file below a folder, with slashes, sorted; links, hidden files and the list of sums are left out.
///
/// # Errors
/// The system refused.
pub(super) fn files(dir: &Path) -> Result<Vec<String>, ShelfError> {
    let mut out = Vec::new();
    let mut open = vec![String::new()];
    while let Some(under) = open.pop() {
        let here = dir.join(&under);
        for entry in fs::read_dir(&here).map_err(|e| ShelfError::io("read", &here, e))? {
            let entry = entry.map_err(|e| ShelfError::io("read", &here, e))?;
            let kind = entry.file_type().map_err(|e| ShelfError::io("read", &entry.path(), e))?;
            let Some(name) = entry.file_name().to_str().map(str::to_owned) else { continue };
            let name = if under.is_empty() { name } else { format!("{under}/{name}") };
            let hidden = name.rsplit('/').next().is_some_and(|last| last.starts_with('.'));
            if hidden || name == FILE {
                continue;
            }
            if kind.is_dir() {
                open.push(name);
            } else if kind.is_file() {
                out.push(name);
            }
        }
    }
    out.sort();
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// FIPS 180-4's example of one block: the digest of `abc`.
    #[test]
    fn the_sum_is_that_of_the_standard() {
        assert_eq!(of(b"abc"), "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    }

    #[test]
    fn a_file_being_changed_has_both_sums() {
        let room = tempfile::tempdir().unwrap();
        let dir = room.path();
        fs::write(dir.join("a"), "one").unwrap();
        write(dir, of_folder(dir).unwrap()).unwrap();
        announce(dir, "a", &of(b"two")).unwrap();
        assert_eq!(listed(dir).unwrap().unwrap().len(), 2);
        settle(dir, "a", &of(b"two")).unwrap();
        assert_eq!(listed(dir).unwrap().unwrap(), [(of(b"two"), "a".to_owned())]);
    }
}
