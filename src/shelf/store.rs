//! A shop's shelf: a folder of pattern folders with an index beside them.

use super::entry::Entry;
use super::error::ShelfError;
use super::folder::{Folder, read};
use super::index::Index;
use super::lock::{self, Held};
use super::making::{self, Making};
use super::new_folder::{self, DRAFTED, NewPattern};
use super::origin::{self, Origin};
use super::query::Query;
use super::{recipe_text, sums};
use crate::export::json::{self, Outline};
use crate::pattern::nearest;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Mutex, MutexGuard, PoisonError};

/// The file by which a folder is known to be a shelf.
const MARK: &str = "shelf.toml";
/// The file that a program holds while it changes the shelf.
const LOCK: &str = ".lock";
/// Version of the shelf's own layout that this program writes, and the newest that it reads.
const FORMAT: i64 = 1;
/// Letters of a folder's name, at most: with a version at its end still well below what any system allows (255 bytes).
const LONGEST_NAME: usize = 50;

/// A shelf. Many threads may use one at the same time, and many programs one folder.
#[derive(Debug)]
pub struct Shelf {
    dir: PathBuf,
    index: Mutex<Index>,
}

impl Shelf {
    /// Opens a shelf that is there. What is in its index is made anew where it is missing, damaged or behind.
    ///
    /// # Errors
    /// [`ShelfError::NoShelf`], [`ShelfError::Newer`], or the system refused.
    pub fn open(dir: &Path) -> Result<Self, ShelfError> {
        let mark = dir.join(MARK);
        let bare = !mark.exists();
        // A shelf whose mark was lost is still one while patterns stand on it.
        if bare && (!dir.is_dir() || names(dir)?.is_empty()) {
            return Err(ShelfError::NoShelf(dir.to_owned()));
        }
        if !bare {
            let text = read(&mark)?;
            let read: toml::Table = text.parse().map_err(|error| ShelfError::damaged(&mark, &error))?;
            let found = read.get("format").and_then(toml::Value::as_integer).unwrap_or(0);
            if found > FORMAT {
                return Err(ShelfError::Newer { path: mark, found, known: FORMAT });
            }
        }
        Ok(Self { dir: dir.to_owned(), index: Mutex::new(Index::open(dir)?) })
    }

    /// Opens a shelf, or makes an empty one where nothing is.
    ///
    /// # Errors
    /// [`ShelfError::NotEmpty`] for a folder of other things, else as [`Shelf::open`].
    pub fn open_or_make(dir: &Path) -> Result<Self, ShelfError> {
        if dir.exists() && !dir.is_dir() {
            return Err(ShelfError::NotAFolder(dir.to_owned()));
        }
        if !dir.join(MARK).exists() {
            let mut there = fs::read_dir(dir).into_iter().flatten().flatten();
            // A lock or a file half made is what a first run that was cut off leaves.
            let other = there.any(|e| !e.file_name().to_string_lossy().starts_with('.'));
            if other && names(dir)?.is_empty() {
                return Err(ShelfError::NotEmpty(dir.to_owned()));
            }
            fs::create_dir_all(dir).map_err(|e| ShelfError::writing(dir, 0, e))?;
            let text = format!(
                "# A shelf of patterns: every folder beside this file is one. index.sqlite is made from them and may go.\n\
                 format = {FORMAT}\n"
            );
            super::folder::write_over(&dir.join(MARK), text.as_bytes())?;
        }
        Self::open(dir)
    }

    /// Where it is.
    #[must_use]
    pub fn dir(&self) -> &Path {
        &self.dir
    }

    /// Gives the patterns that a query asks for one after another, by name. What is damaged is there too, with its problem.
    ///
    /// # Errors
    /// The system refused.
    pub fn each(&self, query: &Query, mut give: impl FnMut(Entry)) -> Result<(), ShelfError> {
        let mut some = self.fresh()?.after("", query)?;
        while let Some(last) = some.last().map(|entry| entry.name.clone()) {
            some.drain(..).for_each(&mut give);
            some = self.index().after(&last, query)?;
        }
        Ok(())
    }

    /// How many patterns a query asks for.
    ///
    /// # Errors
    /// The system refused.
    pub fn count(&self, query: &Query) -> Result<usize, ShelfError> {
        self.fresh()?.count(query)
    }

    /// One pattern.
    ///
    /// # Errors
    /// [`ShelfError::Unknown`] with the nearest name.
    pub fn show(&self, name: &str) -> Result<Entry, ShelfError> {
        let found = self.fresh()?.one(name)?;
        found.ok_or_else(|| self.unknown(name))
    }

    /// The folder of one pattern, which need not be whole.
    ///
    /// # Errors
    /// [`ShelfError::Unknown`].
    pub fn folder_of(&self, name: &str) -> Result<PathBuf, ShelfError> {
        let path = self.dir.join(name);
        // A name is one plain part of a path: nothing outside the shelf is ever asked for.
        let plain = Path::new(name).file_name().is_some_and(|last| last == name) && !name.starts_with('.');
        if plain && stands(&path) { Ok(path) } else { Err(self.unknown(name)) }
    }

    /// One pattern, read.
    ///
    /// # Errors
    /// [`ShelfError::Unknown`], or what is wrong with its folder.
    pub fn pattern(&self, name: &str) -> Result<Folder, ShelfError> {
        Folder::open(&self.folder_of(name)?)
    }

    /// Makes the index anew from the folders. Gives how many there are.
    ///
    /// # Errors
    /// The system refused.
    pub fn rebuild(&self) -> Result<usize, ShelfError> {
        let _held = self.hold()?;
        making::sweep(&self.dir);
        let folders = folders(&self.dir)?;
        folders.iter().for_each(|name| making::sweep_beside(&self.dir.join(name)));
        let mut index = self.index();
        index.clear()?;
        index.refresh(&folders)
    }

    /// Copies a pattern folder onto the shelf. `wanted` is its name there; its style or its folder's name without it.
    /// Gives the name.
    ///
    /// # Errors
    /// [`ShelfError::AlreadyThere`] when the same files were put there before; what is wrong with the folder.
    pub fn add_folder(
        &self,
        from: &Path,
        wanted: Option<&str>,
        fields: &[(&str, &str)],
    ) -> Result<String, ShelfError> {
        let folder = Folder::open(from)?;
        let files: Vec<String> = sums::files(from)?.into_iter().filter(|name| name != origin::FILE).collect();
        let list = sums::of_folder(from)?.into_iter().filter(|(_, name)| files.contains(name)).collect();
        let origin = Origin::of_files(&list);
        if let Some(name) = self.fresh()?.of_source(&origin.source)? {
            return Err(ShelfError::AlreadyThere { name });
        }
        let style = folder.file.record.style.trim();
        let own = from.canonicalize().ok().and_then(|p| Some(p.file_name()?.to_string_lossy().into_owned()));
        let wanted = wanted
            .map(str::to_owned)
            .unwrap_or_else(|| if style.is_empty() { own.unwrap_or_default() } else { style.to_owned() });
        let making = self.make()?;
        making::copy(from, &making.dir, &files)?;
        self.put(making, &wanted, &origin, fields)
    }

    /// Puts a captured pattern on the shelf. Gives its name.
    ///
    /// # Errors
    /// [`ShelfError::AlreadyThere`] when the same source was put there before.
    pub fn add_new(
        &self,
        pattern: &NewPattern,
        wanted: &str,
        origin: &Origin,
        fields: &[(&str, &str)],
    ) -> Result<String, ShelfError> {
        let making = self.make()?;
        new_folder::write_all(&making.dir, pattern)?;
        self.put(making, wanted, origin, fields)
    }

    /// Sets fields of a pattern's record by their names, in its `pattern.toml`.
    ///
    /// # Errors
    /// [`ShelfError::Unknown`]; a field that is not there; the system refused.
    pub fn write_record(&self, name: &str, fields: &[(&str, &str)]) -> Result<(), ShelfError> {
        let dir = self.folder_of(name)?;
        let _held = lock::hold(&dir)?;
        Folder::open(&dir)?.with_record(fields)?.save()
    }

    /// The name of the pattern that was made of this source, if one stands here.
    ///
    /// # Errors
    /// The system refused.
    pub fn made_of(&self, source: &str) -> Result<Option<String>, ShelfError> {
        self.fresh()?.of_source(source)
    }

    /// Holds the shelf against other programs.
    pub(super) fn hold(&self) -> Result<Held, ShelfError> {
        lock::hold_file(&self.dir.join(LOCK))
    }

    /// A hidden folder to make a pattern in.
    pub(super) fn make(&self) -> Result<Making, ShelfError> {
        let _held = self.hold()?;
        making::sweep(&self.dir);
        Making::new(&self.dir)
    }

    /// Completes a hidden folder and moves it to its place.
    fn put(
        &self,
        making: Making,
        wanted: &str,
        origin: &Origin,
        fields: &[(&str, &str)],
    ) -> Result<String, ShelfError> {
        complete(&making.dir, origin, fields)?;
        let _held = self.hold()?;
        if !origin.source.is_empty()
            && let Some(name) = self.fresh()?.of_source(&origin.source)?
        {
            return Err(ShelfError::AlreadyThere { name });
        }
        self.place(making, wanted)
    }

    /// Moves a whole hidden folder to its place, under the name wanted or one like it. The caller holds the shelf.
    pub(super) fn place(&self, making: Making, wanted: &str) -> Result<String, ShelfError> {
        let name = self.free_name(wanted);
        making.place(&self.dir.join(&name))?;
        drop(self.fresh()?);
        Ok(name)
    }

    /// A name for a folder that is not taken: the words in small letters with hyphens, a number behind it if need be.
    fn free_name(&self, wanted: &str) -> String {
        let base = folder_name(wanted);
        let free = |name: &String| !self.dir.join(name).exists();
        std::iter::once(base.clone())
            .chain((2_u32..).map(|k| format!("{base}-{k}")))
            .find(free)
            .unwrap_or(base)
    }

    fn unknown(&self, name: &str) -> ShelfError {
        let there = names(&self.dir).unwrap_or_default();
        let meant = nearest(name, there.iter().map(String::as_str)).map(str::to_owned);
        ShelfError::Unknown { name: name.to_owned(), meant }
    }

    fn index(&self) -> MutexGuard<'_, Index> {
        // The index is made anew when it is wrong, so a thread that panicked while it held it leaves nothing behind.
        self.index.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The index, brought up to the folders.
    fn fresh(&self) -> Result<MutexGuard<'_, Index>, ShelfError> {
        let folders = folders(&self.dir)?;
        let mut index = self.index();
        index.refresh(&folders)?;
        Ok(index)
    }
}

/// Fills what every pattern on a shelf has: a date, its origin, its drafted outline, its checksums.
pub(super) fn complete(dir: &Path, origin: &Origin, fields: &[(&str, &str)]) -> Result<(), ShelfError> {
    new_folder::write(&dir.join(origin::FILE), origin.to_text().as_bytes())?;
    let mut folder = Folder::open(dir)?;
    let mut fields = fields.to_vec();
    if folder.file.record.date.trim().is_empty() && !fields.iter().any(|(key, _)| *key == "date") {
        fields.push(("date", &origin.added));
    }
    if !fields.is_empty() {
        folder = folder.with_record(&fields)?;
        folder.save()?;
    }
    // A pattern without a fold has no drafted outline; its entry says why.
    if let Ok((_, drafted)) = folder.replay() {
        let pieces = drafted.pieces.iter().map(Outline::of_piece).collect::<Result<Vec<_>, _>>()?;
        new_folder::write(&dir.join(DRAFTED), json::write("drafted", &pieces).as_bytes())?;
    }
    sums::write(dir, sums::of_folder(dir)?)
}

/// Whether a folder holds a pattern: any of its own files, so that one that lost its recipe is not passed over.
fn stands(dir: &Path) -> bool {
    let own = [recipe_text::FILE, new_folder::TRACED, sums::FILE];
    own.iter().any(|file| dir.join(file).exists())
}

/// Names of the pattern folders on a shelf, sorted.
pub(super) fn names(dir: &Path) -> Result<Vec<String>, ShelfError> {
    let mut names = folders(dir)?;
    names.retain(|name| stands(&dir.join(name)));
    Ok(names)
}

/// Names of the folders on a shelf that may hold a pattern, sorted.
fn folders(dir: &Path) -> Result<Vec<String>, ShelfError> {
    let mut out = Vec::new();
    for entry in fs::read_dir(dir).map_err(|e| ShelfError::io("read", dir, e))? {
        let entry = entry.map_err(|e| ShelfError::io("read", dir, e))?;
        let Some(name) = entry.file_name().to_str().map(str::to_owned) else { continue };
        if !name.starts_with('.') && entry.file_type().is_ok_and(|kind| kind.is_dir()) {
            out.push(name);
        }
    }
    out.sort();
    Ok(out)
}

/// Words as a folder's name: small letters and figures of any script, hyphens between.
pub(super) fn folder_name(words: &str) -> String {
    let mut out = String::new();
    for c in words.to_lowercase().chars().take(LONGEST_NAME) {
        if c.is_alphanumeric() {
            out.push(c);
        } else if !out.is_empty() && !out.ends_with('-') && c != '\'' && c != '’' {
            out.push('-');
        }
    }
    let out = out.trim_end_matches('-');
    if out.is_empty() { "pattern".to_owned() } else { out.to_owned() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_of_folders_are_plain() {
        assert_eq!(folder_name("Potter's  Apron, long"), "potters-apron-long");
        assert_eq!(folder_name("../../etc"), "etc");
        assert_eq!(folder_name("Schürze 38"), "schürze-38");
        assert_eq!(folder_name(" ??? "), "pattern");
        assert!(folder_name(&"long ".repeat(40)).len() <= LONGEST_NAME);
    }
}
