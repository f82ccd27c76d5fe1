//! A drawer of photographs onto the shelf: captured side by side, one core each.
//!
//! Nothing keeps account of what is done but the shelf itself: a pattern stands there whole or not at all, and carries the
//! checksums of its photographs. A run that was cut off is begun again and passes over what stands.

use super::error::ShelfError;
use super::folder::is_absent;
use super::new_folder::NewPattern;
use super::origin::{Origin, Photograph};
use super::recipe_text::PatternFile;
use super::store::Shelf;
use super::sums;
use crate::capture::{self, Request};
use rayon::ThreadPoolBuilder;
use serde::Serialize;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Instant;

/// Ends of names of photographs.
const ENDS: [&str; 10] = ["jpg", "jpeg", "png", "tif", "tiff", "webp", "heic", "heif", "bmp", "gif"];
/// An outline that may be off by more than this at some place wants a look, millimetres: what hand and photograph may
/// differ by.
const WIDE_MM: f64 = 3.0;
/// More bridged outline than this wants a look, millimetres.
const BRIDGED_MM: f64 = 50.0;

/// Photographs of one garment.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Group {
    /// What it is called: its folder, or its photograph without the end.
    pub name: String,
    /// The photographs, by name.
    pub photographs: Vec<PathBuf>,
}

/// What became of one group.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Outcome {
    /// The group.
    pub group: String,
    /// What became of it.
    pub state: OutcomeState,
    /// Why a person should look at it, a line each.
    pub look: Vec<String>,
}

/// What became of one group.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum OutcomeState {
    /// It stands on the shelf now, under this name.
    Added(String),
    /// It stood there already.
    AlreadyThere(String),
    /// It could not be captured.
    Failed(String),
}

/// What happens while a drawer is captured.
#[derive(Debug)]
pub enum BatchEvent<'a> {
    /// A group is begun.
    Begun(&'a str),
    /// One is done.
    Done(&'a Outcome),
}

/// The photographs of a folder, put together: each of its folders is one garment, each photograph beside them another.
///
/// # Errors
/// The system refused.
pub fn groups(dir: &Path) -> Result<Vec<Group>, ShelfError> {
    let mut out = Vec::new();
    for path in listed(dir)? {
        if path.is_dir() {
            let photographs: Vec<PathBuf> = listed(&path)?.into_iter().filter(|p| is_photograph(p)).collect();
            if !photographs.is_empty() {
                out.push(Group { name: name_of(path.file_name()), photographs });
            }
        } else if is_photograph(&path) {
            out.push(Group { name: name_of(path.file_stem()), photographs: vec![path] });
        }
    }
    Ok(out)
}

impl Shelf {
    /// Captures groups of photographs onto the shelf, one a core at the same time. `file` is the record and recipe that
    /// each begins with. The outcomes stand in the order of the groups. What cannot be captured hinders no other.
    ///
    /// # Errors
    /// None of a single group's; those are outcomes.
    pub fn add_photographs(
        &self,
        groups: &[Group],
        request: &Request,
        file: &PatternFile,
        tell: impl Fn(BatchEvent<'_>) + Sync,
    ) -> Result<Vec<Outcome>, ShelfError> {
        let cores = std::thread::available_parallelism().map_or(1, usize::from).min(groups.len().max(1));
        let next = AtomicUsize::new(0);
        let done: Mutex<Vec<(usize, Outcome)>> = Mutex::new(Vec::new());
        let work = || {
            // A pool of one thread: captures side by side waste nothing, while threads inside each would wait.
            let Ok(pool) = ThreadPoolBuilder::new().num_threads(1).build() else { return };
            loop {
                let index = next.fetch_add(1, Ordering::Relaxed);
                let Some(group) = groups.get(index) else { return };
                tell(BatchEvent::Begun(&group.name));
                let outcome = pool.install(|| self.add_group(group, request, file));
                tell(BatchEvent::Done(&outcome));
                if let Ok(mut done) = done.lock() {
                    done.push((index, outcome));
                }
            }
        };
        std::thread::scope(|scope| (0..cores).for_each(|_| drop(scope.spawn(work))));
        let mut done = done.into_inner().unwrap_or_default();
        done.sort_by_key(|(index, _)| *index);
        Ok(done.into_iter().map(|(_, outcome)| outcome).collect())
    }

    fn add_group(&self, group: &Group, request: &Request, file: &PatternFile) -> Outcome {
        let (state, look) = match self.captured(group, request, file) {
            Ok(done) => done,
            Err(problem) => (OutcomeState::Failed(problem.clone()), vec![problem]),
        };
        Outcome { group: group.name.clone(), state, look }
    }

    fn captured(
        &self,
        group: &Group,
        request: &Request,
        file: &PatternFile,
    ) -> Result<(OutcomeState, Vec<String>), String> {
        let began = Instant::now();
        let read = |path: &PathBuf| fs::read(path).map_err(|e| ShelfError::io("read", path, e).to_string());
        let photos = group.photographs.iter().map(read).collect::<Result<Vec<_>, _>>()?;
        let photographs: Vec<Photograph> = photos
            .iter()
            .zip(&group.photographs)
            .map(|(bytes, path)| Photograph { name: name_of(path.file_name()), sha256: sums::of(bytes) })
            .collect();
        // The same photographs with other options are another pattern.
        let all: String =
            photographs.iter().map(|p| p.sha256.as_str()).chain([&*format!("{request:?}")]).collect();
        let origin = Origin::today(sums::of(all.as_bytes()), photographs);
        if let Some(name) = self.made_of(&origin.source).map_err(|e| e.to_string())? {
            return Ok((OutcomeState::AlreadyThere(name), Vec::new()));
        }
        let mut captured = capture::capture(&photos, request, |_| {}).map_err(|e| e.to_string())?;
        captured.report.seconds.insert("total".to_owned(), began.elapsed().as_secs_f64());
        let names: Vec<String> = group.photographs.iter().map(|p| p.display().to_string()).collect();
        let mut file = file.clone();
        if file.record.style.is_empty() {
            file.record.style.clone_from(&group.name);
        }
        let pattern = NewPattern::of_captured(&captured, file, &names);
        let report = &captured.report;
        let mut look = Vec::new();
        if report.outline_accuracy_worst_mm > WIDE_MM {
            look.push(format!("may be {:.1} mm off at its worst place", report.outline_accuracy_worst_mm));
        }
        if report.bridged_mm > BRIDGED_MM {
            look.push(format!("{:.0} mm of its outline were not seen and are bridged", report.bridged_mm));
        }
        look.extend(report.advice.iter().cloned());
        match self.add_new(&pattern, &group.name, &origin, &[]) {
            Ok(name) => Ok((OutcomeState::Added(name), look)),
            Err(ShelfError::AlreadyThere { name }) => Ok((OutcomeState::AlreadyThere(name), Vec::new())),
            Err(error) => Err(error.to_string()),
        }
    }
}

/// What a folder holds, by name, hidden things left out.
fn listed(dir: &Path) -> Result<Vec<PathBuf>, ShelfError> {
    let entries = fs::read_dir(dir).map_err(|e| {
        if is_absent(&e) { ShelfError::NotAFolder(dir.to_owned()) } else { ShelfError::io("read", dir, e) }
    })?;
    let mut out: Vec<PathBuf> = entries.flatten().map(|entry| entry.path()).collect();
    out.retain(|path| !name_of(path.file_name()).starts_with('.'));
    out.sort();
    Ok(out)
}

fn is_photograph(path: &Path) -> bool {
    let end = name_of(path.extension()).to_lowercase();
    path.is_file() && ENDS.contains(&end.as_str())
}

fn name_of(part: Option<&std::ffi::OsStr>) -> String {
    part.map(|name| name.to_string_lossy().into_owned()).unwrap_or_default()
}
