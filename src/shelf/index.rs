//! The index of a shelf: a table in a file of its own, made from the folders and made again whenever it is asked for or
//! found wanting. The folders are the truth; every look at the index first sees which of them changed.

use super::entry::Entry;
use super::error::ShelfError;
use super::query::Query;
use super::shown::{self, Shown};
use super::sums;
use rayon::prelude::*;
use rusqlite::{Connection, ErrorCode, OptionalExtension, params};
use std::collections::HashMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// Name of the file.
pub(super) const FILE: &str = "index.sqlite";
/// Layout of the table; an index of another is made anew.
const LAYOUT: i64 = 1;
/// Folders read, or patterns given, at one time: enough for all cores, few enough that memory does not grow with the shelf.
const AT_ONCE: usize = 64;
/// How long one program waits for another that writes the index. Raising it only delays the message.
const PATIENCE: Duration = Duration::from_secs(20);

const TABLE: &str = "
create table if not exists pattern (
    name text primary key, stamp text not null, entry text not null, words text not null,
    style text not null, pieces text not null, material text not null, size text not null, tags text not null,
    date text not null, height_mm real, width_mm real, source text not null
) strict, without rowid;";

/// The open index of one shelf.
#[derive(Debug)]
pub(super) struct Index {
    shelf: PathBuf,
    table: Connection,
}

impl Index {
    /// Opens the index; one that is not there or not whole is made anew. Where it cannot be written (a shelf on a
    /// medium that only reads) it is made in memory.
    pub(super) fn open(shelf: &Path) -> Result<Self, ShelfError> {
        let path = shelf.join(FILE);
        let open = || -> rusqlite::Result<Connection> {
            let table = Connection::open(&path)?;
            prepare(&table)?;
            Ok(table)
        };
        let table = match open() {
            Ok(table) => table,
            Err(error) if cannot_write(&error) => in_memory()?,
            Err(error) if is_damage(&error) => {
                let _ = fs::remove_file(&path);
                open().or_else(|_| in_memory())?
            }
            Err(error) => return Err(ShelfError::Index(error.to_string())),
        };
        Ok(Self { shelf: shelf.to_owned(), table })
    }

    /// Forgets everything, so that the next look reads every folder.
    pub(super) fn clear(&mut self) -> Result<(), ShelfError> {
        self.mended(|table, _| table.execute("delete from pattern", []).map(drop))
    }

    /// Brings the index up to the folders, whose names these are; those that hold no pattern are passed over. Gives how many
    /// were read.
    pub(super) fn refresh(&mut self, folders: &[String]) -> Result<usize, ShelfError> {
        self.mended(|table, shelf| {
            let mut known: HashMap<String, String> = table
                .prepare_cached("select name, stamp from pattern")?
                .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?
                .collect::<rusqlite::Result<_>>()?;
            let stamps: Vec<Option<String>> =
                folders.par_iter().with_min_len(AT_ONCE).map(|name| stamp(&shelf.join(name))).collect();
            let changed: Vec<(&String, String)> = folders
                .iter()
                .zip(stamps)
                .filter_map(|(name, stamp)| stamp.map(|stamp| (name, stamp)))
                .filter(|(name, stamp)| known.remove(*name).as_ref() != Some(stamp))
                .collect();
            for gone in known.keys() {
                table.execute("delete from pattern where name = ?1", [gone])?;
            }
            for some in changed.chunks(AT_ONCE) {
                let read: Vec<Entry> =
                    some.par_iter().map(|(name, _)| Shown::of(&shelf.join(name), name).entry).collect();
                let change = table.unchecked_transaction()?;
                for ((name, stamp), entry) in some.iter().zip(&read) {
                    put(&change, name, stamp, entry)?;
                }
                change.commit()?;
            }
            Ok(changed.len())
        })
    }

    /// How many patterns a query asks for.
    pub(super) fn count(&mut self, query: &Query) -> Result<usize, ShelfError> {
        let (conditions, values) = query.conditions();
        self.mended(|table, _| {
            let count = format!("select count(*) from pattern where {conditions}");
            let count: i64 =
                table.query_row(&count, rusqlite::params_from_iter(&values), |row| row.get(0))?;
            Ok(usize::try_from(count).unwrap_or(0))
        })
    }

    /// The next patterns that a query asks for, by name: those after this name, not all at once.
    pub(super) fn after(&mut self, name: &str, query: &Query) -> Result<Vec<Entry>, ShelfError> {
        let (conditions, mut values) = query.conditions();
        values.push(name.to_owned().into());
        let last = values.len();
        self.mended(|table, _| {
            let mut select = table.prepare_cached(&format!(
                "select entry from pattern where {conditions} and name > ?{last} order by name limit {AT_ONCE}"
            ))?;
            let rows =
                select.query_map(rusqlite::params_from_iter(&values), |row| row.get::<_, String>(0))?;
            rows.map(|row| row.and_then(|text| entry(&text))).collect()
        })
    }

    /// One pattern.
    pub(super) fn one(&mut self, name: &str) -> Result<Option<Entry>, ShelfError> {
        self.mended(|table, _| {
            let mut select = table.prepare_cached("select entry from pattern where name = ?1")?;
            let text: Option<String> = select.query_row([name], |row| row.get(0)).optional()?;
            text.map(|text| entry(&text)).transpose()
        })
    }

    /// The pattern made of this source.
    pub(super) fn of_source(&mut self, source: &str) -> Result<Option<String>, ShelfError> {
        self.mended(|table, _| {
            let mut select =
                table.prepare_cached("select name from pattern where source = ?1 order by name")?;
            select.query_row([source], |row| row.get(0)).optional()
        })
    }

    /// Does something with the table; one that turns out to be damaged is thrown away and made anew, once.
    fn mended<T>(
        &mut self,
        mut run: impl FnMut(&Connection, &Path) -> rusqlite::Result<T>,
    ) -> Result<T, ShelfError> {
        match run(&self.table, &self.shelf) {
            Err(error) if is_damage(&error) => {
                let _ = fs::remove_file(self.shelf.join(FILE));
                *self = Self::open(&self.shelf)?;
            }
            Err(error) if cannot_write(&error) => self.table = in_memory()?,
            done => return done.map_err(|error| ShelfError::Index(error.to_string())),
        }
        run(&self.table, &self.shelf).map_err(|error| ShelfError::Index(error.to_string()))
    }
}

fn in_memory() -> Result<Connection, ShelfError> {
    let open = || {
        let table = Connection::open_in_memory()?;
        prepare(&table)?;
        Ok(table)
    };
    open().map_err(|error: rusqlite::Error| ShelfError::Index(error.to_string()))
}

fn prepare(table: &Connection) -> rusqlite::Result<()> {
    table.busy_timeout(PATIENCE)?;
    // What is lost with the power is made anew from the folders, so nothing waits for the disk.
    table.pragma_update(None, "synchronous", "off")?;
    let layout: i64 = table.pragma_query_value(None, "user_version", |row| row.get(0))?;
    if layout != LAYOUT {
        table.execute_batch("drop table if exists pattern;")?;
    }
    table.execute_batch(TABLE)?;
    if layout != LAYOUT {
        table.pragma_update(None, "user_version", LAYOUT)?;
    }
    Ok(())
}

fn put(table: &Connection, name: &str, stamp: &str, entry: &Entry) -> rusqlite::Result<()> {
    let small = |key: &str| entry.field(key).to_lowercase();
    let pieces: Vec<String> = entry.pieces.iter().map(|piece| piece.name.to_lowercase()).collect();
    // A comma on either side, so that a whole tag is found by its commas.
    let tags: String = entry.tags.iter().map(|tag| format!(",{}", tag.to_lowercase())).collect();
    let first = entry.pieces.first();
    let text = serde_json::to_string(entry).unwrap_or_default();
    table
        .prepare_cached(
            "insert or replace into pattern values (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8, ?9, ?10, ?11, ?12, ?13)",
        )?
        .execute(params![
            name,
            stamp,
            text,
            entry.words(),
            small("style"),
            pieces.join("\n"),
            small("material"),
            small("size"),
            tags + ",",
            entry.field("date"),
            first.map(|piece| piece.height_mm),
            first.map(|piece| piece.width_mm),
            entry.origin.as_ref().map_or("", |origin| &origin.source),
        ])
        .map(drop)
}

fn entry(text: &str) -> rusqlite::Result<Entry> {
    serde_json::from_str(text).map_err(|error| {
        // Another program's index: as good as damaged.
        let code = rusqlite::ffi::Error::new(rusqlite::ffi::SQLITE_CORRUPT);
        rusqlite::Error::SqliteFailure(code, Some(error.to_string()))
    })
}

fn is_damage(error: &rusqlite::Error) -> bool {
    let damaged = matches!(
        error.sqlite_error_code(),
        Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase | ErrorCode::TypeMismatch)
    );
    damaged
        || matches!(error, rusqlite::Error::SqliteFailure(e, _) if e.extended_code == rusqlite::ffi::SQLITE_ERROR)
}

fn cannot_write(error: &rusqlite::Error) -> bool {
    matches!(
        error.sqlite_error_code(),
        Some(ErrorCode::ReadOnly | ErrorCode::CannotOpen | ErrorCode::PermissionDenied | ErrorCode::DiskFull)
    )
}

/// Changes whenever one of the files that an entry is read from does: time, length and, where there is one, the file's
/// number, which differs after every write because files are put in the place of others. `None` for a folder that holds no
/// pattern; it holds one while any of a pattern's own files is there, so that one that lost its recipe is not passed over.
fn stamp(dir: &Path) -> Option<String> {
    let of = |name: &str| {
        let about = fs::metadata(dir.join(name)).ok()?;
        let time = about.modified().ok().and_then(|t| t.duration_since(std::time::UNIX_EPOCH).ok());
        Some(format!("{}:{}:{}", time.map_or(0, |t| t.as_nanos()), about.len(), number(&about)))
    };
    let files = shown::MADE_OF.map(of);
    let [recipe, traced, ..] = &files;
    let stands = recipe.is_some() || traced.is_some() || dir.join(sums::FILE).exists();
    stands.then(|| files.map(|file| file.unwrap_or_else(|| "-".to_owned())).join(" "))
}

#[cfg(unix)]
fn number(about: &fs::Metadata) -> u64 {
    std::os::unix::fs::MetadataExt::ino(about)
}

#[cfg(not(unix))]
fn number(_about: &fs::Metadata) -> u64 {
    0
}
