//! The index of a shelf: a table in a file of its own, made from the folders and made again whenever it is asked for or
//! found wanting. The folders are the truth; every look at the index first sees which of them changed.

use super::entry::Entry;
use super::error::ShelfError;
use super::query::Query;
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

    /// Brings the index up to the folders, whose names these are. Gives how many were read.
    pub(super) fn refresh(&mut self, names: &[String]) -> Result<usize, ShelfError> {
        self.mended(|table, shelf| {
            let mut known: HashMap<String, String> = table
                .prepare_cached("select name, stamp from pattern")?
                .query_map([], |row| Ok((row.get(0)?, row.get(1)?)))?
                .collect::<rusqlite::Result<_>>()?;
            let changed: Vec<(&String, String)> = names
                .iter()
                .filter_map(|name| {
                    let stamp = stamp(&shelf.join(name));
                    (known.remove(name).as_ref() != Some(&stamp)).then_some((name, stamp))
                })
                .collect();
            if changed.is_empty() && known.is_empty() {
                return Ok(0);
            }
            let read: Vec<(&String, &String, Entry)> = changed
                .par_iter()
                .map(|(name, stamp)| (*name, stamp, Entry::read(&shelf.join(name), name)))
                .collect();
            let change = table.unchecked_transaction()?;
            for gone in known.keys() {
                change.execute("delete from pattern where name = ?1", [gone])?;
            }
            for (name, stamp, entry) in &read {
                put(&change, name, stamp, entry)?;
            }
            change.commit()?;
            Ok(read.len())
        })
    }

    /// The patterns that a query asks for, by name.
    pub(super) fn find(&mut self, query: &Query) -> Result<Vec<Entry>, ShelfError> {
        let (conditions, values) = query.conditions();
        self.mended(|table, _| {
            let mut select = table
                .prepare_cached(&format!("select entry from pattern where {conditions} order by name"))?;
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
/// number, which differs after every write because files are put in the place of others.
fn stamp(dir: &Path) -> String {
    let of = |name: &str| {
        let Ok(about) = fs::metadata(dir.join(name)) else { return "-".to_owned() };
        let time = about.modified().ok().and_then(|t| t.duration_since(std::time::UNIX_EPOCH).ok());
        format!("{}:{}:{}", time.map_or(0, |t| t.as_nanos()), about.len(), number(&about))
    };
    [super::recipe_text::FILE, super::new_folder::TRACED, super::new_folder::REPORT, super::origin::FILE]
        .map(of)
        .join(" ")
}

#[cfg(unix)]
fn number(about: &fs::Metadata) -> u64 {
    std::os::unix::fs::MetadataExt::ino(about)
}

#[cfg(not(unix))]
fn number(_about: &fs::Metadata) -> u64 {
    0
}
