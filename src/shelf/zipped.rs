//! One pattern as a single zip file, out and in.
//!
//! A zip that comes in is not trusted: names must stay in the folder, links and hidden files are refused, and bytes are
//! counted as they come out of the compression, whatever the zip says of their number.

use super::error::ShelfError;
use super::folder::Folder;
use super::new_folder;
use super::origin::Origin;
use super::recipe_text;
use super::store::{Shelf, complete};
use super::sums;
use std::fs::{self, File};
use std::io::{Cursor, Read, Write};
use std::path::{Path, PathBuf};
use zip::write::SimpleFileOptions;
use zip::{CompressionMethod, DateTime, ZipArchive, ZipWriter};

/// Files in a zip, at most. A pattern has about ten.
const MOST_FILES: usize = 1_000;
/// Bytes of one file, at most: pictures of a capture have a few million.
const MOST_FILE_BYTES: u64 = 100_000_000;
/// Bytes of all files, at most.
const MOST_BYTES: u64 = 400_000_000;
/// Folders in folders, at most.
const DEEPEST: usize = 4;

impl Shelf {
    /// The bytes of a zip with all files of one pattern, in a folder of its name. The same files give the same bytes.
    ///
    /// # Errors
    /// [`ShelfError::Unknown`], what is damaged, or the system refused.
    pub fn export(&self, name: &str) -> Result<Vec<u8>, ShelfError> {
        let dir = self.folder_of(name)?;
        Folder::open(&dir)?;
        if let Some(bad) = self.verify(&[name.to_owned()])?.iter().find(|v| v.is_damaged()) {
            let files: Vec<&str> = bad.faults.iter().map(|fault| fault.file.as_str()).collect();
            let problem = format!(
                "not as it was written; bring it back from a copy, or take it as it is: onfold shelf verify {name} --accept"
            );
            return Err(ShelfError::damaged(&dir.join(files.join(", ")), &problem));
        }
        let failed = |problem: &dyn std::fmt::Display| ShelfError::damaged(&dir, problem);
        let mut out = ZipWriter::new(Cursor::new(Vec::new()));
        let options = SimpleFileOptions::default()
            .compression_method(CompressionMethod::Deflated)
            .last_modified_time(DateTime::default());
        for file in sums::files(&dir)?.iter().map(String::as_str).chain([sums::FILE]) {
            let path = dir.join(file);
            let bytes = fs::read(&path).map_err(|e| ShelfError::io("read", &path, e))?;
            out.start_file(format!("{name}/{file}"), options).map_err(|e| failed(&e))?;
            out.write_all(&bytes).map_err(|e| failed(&e))?;
        }
        Ok(out.finish().map_err(|e| failed(&e))?.into_inner())
    }

    /// Puts the pattern of a zip file on the shelf. Gives its name.
    ///
    /// # Errors
    /// [`ShelfError::Zip`] for a zip that is damaged, hostile or no pattern; [`ShelfError::AlreadyThere`]. Nothing of
    /// it is left then.
    pub fn import(&self, path: &Path) -> Result<String, ShelfError> {
        let refuse = |problem: String| ShelfError::Zip { path: path.to_owned(), problem };
        let file = File::open(path).map_err(|e| ShelfError::io("read", path, e))?;
        let mut zip = ZipArchive::new(file).map_err(|e| refuse(format!("it is no whole zip file ({e})")))?;
        let (root, files) = plan(&mut zip).map_err(refuse)?;
        let making = self.make()?;
        let mut left = MOST_BYTES;
        for (index, name) in &files {
            let mut entry = zip.by_index(*index).map_err(|e| refuse(e.to_string()))?;
            let mut bytes = Vec::new();
            let most = MOST_FILE_BYTES.min(left);
            let read = entry.by_ref().take(most + 1).read_to_end(&mut bytes);
            read.map_err(|e| refuse(format!("`{name}` does not unpack ({e})")))?;
            let count = bytes.len() as u64;
            if count > most {
                return Err(refuse(format!("`{name}` unpacks to more than a pattern's file can have")));
            }
            left -= count;
            let target = making.dir.join(name);
            if let Some(parent) = target.parent() {
                fs::create_dir_all(parent).map_err(|e| ShelfError::writing(parent, 0, e))?;
            }
            new_folder::write(&target, &bytes)?;
        }
        Folder::open(&making.dir).map_err(|e| refuse(e.to_string()))?;
        if let Some(list) = sums::listed(&making.dir)? {
            let found = sums::of_folder(&making.dir)?;
            if let Some((_, name)) = found.iter().find(|has| !list.contains(has)) {
                return Err(refuse(format!("`{name}` does not have the checksum that it was sent with")));
            }
        }
        let origin = match Origin::read(&making.dir).map_err(|e| refuse(e.to_string()))? {
            Some(origin) => origin,
            None => Origin::of_files(&sums::of_folder(&making.dir)?),
        };
        let _held = self.hold()?;
        if !origin.source.is_empty()
            && let Some(name) = self.made_of(&origin.source)?
        {
            return Err(ShelfError::AlreadyThere { name });
        }
        complete(&making.dir, &origin, &[])?;
        self.place(making, &root)
    }
}

/// The pattern's folder in the zip, and its files by their names below that folder.
fn plan(zip: &mut ZipArchive<File>) -> Result<(String, Vec<(usize, String)>), String> {
    if zip.len() > MOST_FILES {
        return Err(format!("it has {} files, a pattern has at most {MOST_FILES}", zip.len()));
    }
    let mut names: Vec<(usize, PathBuf)> = Vec::new();
    for index in 0..zip.len() {
        let entry = zip.by_index_raw(index).map_err(|e| e.to_string())?;
        let name = entry.name().map_err(|e| e.to_string())?.into_owned();
        if entry.is_symlink() {
            return Err(format!("`{name}` is a link"));
        }
        if entry.is_dir() {
            continue;
        }
        let inside =
            plain(&name).ok_or_else(|| format!("`{name}` would lie outside the pattern's folder"))?;
        if names.iter().any(|(_, other)| {
            other.to_string_lossy().to_lowercase() == inside.to_string_lossy().to_lowercase()
        }) {
            return Err(format!("`{name}` is in it twice"));
        }
        names.push((index, inside));
    }
    let recipe = names.iter().map(|(_, name)| name).find(|name| name.ends_with(recipe_text::FILE));
    let root = recipe.and_then(|name| name.parent()).map(Path::to_owned);
    let root = root.ok_or_else(|| format!("there is no {} in it", recipe_text::FILE))?;
    let below = |(index, name): &(usize, PathBuf)| {
        let name =
            name.strip_prefix(&root).map_err(|_| format!("`{}` is not beside its recipe", name.display()))?;
        Ok((*index, name.to_string_lossy().replace('\\', "/")))
    };
    let files = names.iter().map(below).collect::<Result<Vec<_>, String>>()?;
    let root = root.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    Ok((root, files))
}

/// A name that stays below where it is put, on every system: plain parts between slashes, none hidden.
fn plain(name: &str) -> Option<PathBuf> {
    let parts: Vec<&str> = name.split('/').collect();
    let good = |part: &&str| {
        let ends = part.starts_with('.') || part.ends_with(['.', ' ']) || part.is_empty();
        !ends
            && !part
                .chars()
                .any(|c| c.is_control() || matches!(c, '\\' | ':' | '*' | '?' | '"' | '<' | '>' | '|'))
    };
    (parts.len() <= DEEPEST && parts.iter().all(good)).then(|| parts.iter().collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_plain_names_pass() {
        for good in ["apron/pattern.toml", "apron/pictures/outline.jpg", "schürze/notes of my own.txt"] {
            assert!(plain(good).is_some(), "{good}");
        }
        for bad in [
            "../pattern.toml",
            "/etc/passwd",
            "a/../../b",
            "a\\b",
            "c:/x",
            ".ssh/key",
            "a//b",
            "",
            "a/b/c/d/e",
            "x\0y",
        ] {
            assert!(plain(bad).is_none(), "{bad}");
        }
    }
}
