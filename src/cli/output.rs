//! Where a command writes: a file, written whole or not at all, or standard output.

use anyhow::Context;
use std::convert::Infallible;
use std::io::{BufWriter, ErrorKind, Write};
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
        self.write_with(|out| Ok(out.write_all(bytes)?))
    }

    /// Lets something write as it goes on; all of it is there afterwards, or what was there before.
    pub(super) fn write_with(
        &self,
        write: impl FnOnce(&mut dyn Write) -> anyhow::Result<()>,
    ) -> anyhow::Result<()> {
        let path = match self {
            Self::Standard => {
                let mut out = Watched::new(std::io::stdout().lock());
                return match out.run(write)? {
                    // The reader had enough: `onfold ... --out - | head`.
                    Err(error) if error.kind() == ErrorKind::BrokenPipe => Ok(()),
                    done => done.context("cannot write to standard output"),
                };
            }
            Self::File(path) => path,
        };
        let refused = |error: std::io::Error| anyhow::anyhow!("{}", told(path, &error));
        // A device or a pipe cannot be replaced, only written to.
        if path.metadata().is_ok_and(|m| !m.is_file() && !m.is_dir()) {
            let device = std::fs::OpenOptions::new().write(true).open(path).map_err(refused)?;
            return Watched::new(device).run(write)?.map_err(refused);
        }
        // Beside the file first, then in its place, so a failure leaves no half file.
        let file = atomic_write_file::AtomicWriteFile::open(path).map_err(refused)?;
        let mut out = Watched::new(file);
        out.run(write)?.map_err(refused)?;
        out.out.commit().map_err(refused)
    }
}

/// Something written to, and why it took no more, which whoever writes may not tell in full.
struct Watched<W> {
    out: W,
    failed: Option<std::io::Error>,
}

impl<W: Write> Watched<W> {
    fn new(out: W) -> Self {
        Self { out, failed: None }
    }

    /// Lets something write; within, why it could not be written.
    fn run(
        &mut self,
        write: impl FnOnce(&mut dyn Write) -> anyhow::Result<()>,
    ) -> anyhow::Result<std::io::Result<()>> {
        let mut buffered = BufWriter::new(&mut *self);
        let done = write(&mut buffered).and_then(|()| Ok(buffered.flush()?));
        // What was not written is not tried again when it is dropped.
        drop(buffered.into_parts());
        match (self.failed.take(), done) {
            (Some(error), _) => Ok(Err(error)),
            (None, done) => done.map(Ok),
        }
    }
}

impl<W: Write> Write for Watched<W> {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        self.out.write(bytes).inspect_err(|error| {
            if error.kind() != ErrorKind::Interrupted {
                self.failed = Some(same(error));
            }
        })
    }

    fn flush(&mut self) -> std::io::Result<()> {
        self.out.flush().inspect_err(|error| self.failed = Some(same(error)))
    }
}

/// The same refusal once more.
fn same(error: &std::io::Error) -> std::io::Error {
    error.raw_os_error().map_or_else(|| error.kind().into(), std::io::Error::from_raw_os_error)
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
