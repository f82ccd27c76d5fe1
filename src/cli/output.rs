//! Where a command writes: a file, written whole or not at all, or standard output.

use anyhow::Context;
use std::convert::Infallible;
use std::io::{ErrorKind, Write};
use std::path::{Path, PathBuf};
use std::str::FromStr;

/// A file, or standard output for `-`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Output {
    /// A file.
    File(PathBuf),
    /// Standard output.
    Standard,
}

impl FromStr for Output {
    type Err = Infallible;
    fn from_str(text: &str) -> Result<Self, Infallible> {
        Ok(if text == "-" { Self::Standard } else { Self::File(text.into()) })
    }
}

impl Output {
    /// Writes everything, or leaves what was there as it was.
    pub(super) fn write(&self, bytes: &[u8]) -> anyhow::Result<()> {
        match self {
            Self::Standard => {
                let mut out = std::io::stdout().lock();
                match out.write_all(bytes).and_then(|()| out.flush()) {
                    // The reader had enough: `onfold ... --out - | head`.
                    Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(()),
                    done => done.context("cannot write to standard output"),
                }
            }
            Self::File(path) => {
                write_whole(path, bytes).map_err(|error| anyhow::anyhow!("{}", told(path, &error)))
            }
        }
    }
}

/// Beside the file first, then in its place, so a failure leaves no half file.
fn write_whole(path: &Path, bytes: &[u8]) -> std::io::Result<()> {
    // A device or a pipe cannot be replaced, only written to.
    if path.metadata().is_ok_and(|m| !m.is_file() && !m.is_dir()) {
        return std::fs::OpenOptions::new().write(true).open(path)?.write_all(bytes);
    }
    let mut file = atomic_write_file::AtomicWriteFile::open(path)?;
    file.write_all(bytes)?;
    file.commit()
}

/// What went wrong and what to do.
fn told(path: &Path, error: &std::io::Error) -> String {
    let name = path.display();
    match error.kind() {
        ErrorKind::StorageFull | ErrorKind::QuotaExceeded => {
            format!(
                "cannot write {name}: the disk is full; make room or choose another folder. Nothing was written"
            )
        }
        ErrorKind::NotFound => {
            format!("cannot write {name}: its folder does not exist; make the folder first")
        }
        ErrorKind::PermissionDenied | ErrorKind::ReadOnlyFilesystem => {
            format!("cannot write {name}: no permission to write there; choose another folder")
        }
        ErrorKind::IsADirectory => format!("cannot write {name}: it is a folder; give the name of a file"),
        _ => format!("cannot write {name}: {error}"),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_full_disk_is_told_plainly() {
        let full = Output::File("/dev/full".into());
        if Path::new("/dev/full").exists() {
            let message = full.write(b"words").unwrap_err().to_string();
            assert!(message.contains("disk is full"), "{message}");
        }
    }

    #[test]
    fn a_missing_folder_is_told_plainly() {
        let out: Output = "/no/such/folder/sheets.pdf".parse().unwrap();
        let message = out.write(b"words").unwrap_err().to_string();
        assert!(message.contains("make the folder first"), "{message}");
    }

    #[test]
    fn a_file_is_replaced_whole() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("a.pdf");
        Output::File(path.clone()).write(b"one").unwrap();
        Output::File(path.clone()).write(b"two").unwrap();
        assert_eq!(std::fs::read(&path).unwrap(), b"two");
        assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    }
}
