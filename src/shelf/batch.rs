//! A drawer of photographs onto the shelf: captured side by side, one core each.
//!
//! Nothing keeps account of what is done but the shelf itself: a pattern stands there whole or not at all, and carries the
//! checksums of its photographs. A run that was cut off is begun again and passes over what stands.

use super::drawer::{Drawer, Group, Loose, name_of};
use super::drawn::{Drawn, FoldEdge};
use super::error::ShelfError;
use super::new_folder::NewPattern;
use super::origin::{Origin, Photograph};
use super::query::Query;
use super::queue::{Found, Job, Queue, Seen};
use super::recipe_text::PatternFile;
use super::store::Shelf;
use super::sums;
use crate::capture::{self, CaptureError, Captured, CapturedPaper, Looked, Request};
use crate::ink::Meaning;
use rayon::ThreadPoolBuilder;
use serde::Serialize;
use std::collections::HashMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::time::Instant;

/// An outline that may be off by more than this at some place wants a look, millimetres: what hand and photograph may
/// differ by.
const WIDE_MM: f64 = 3.0;
/// More bridged outline than this wants a look, millimetres.
const BRIDGED_MM: f64 = 50.0;

/// What lies on the sheets.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A worn garment.
    Garment,
    /// A paper pattern, and where its fold is.
    Paper(FoldEdge),
}

/// How the photographs of a drawer are captured.
#[derive(Debug, Clone)]
pub struct Manner {
    /// What lies on the sheets.
    pub kind: Kind,
    /// How it is made and was photographed.
    pub request: Request,
    /// The record and recipe that each pattern begins with.
    pub file: PatternFile,
}

/// What became of one group.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Outcome {
    /// The group: its folder, or its first photograph without the end.
    pub group: String,
    /// Names of its photographs.
    pub photographs: Vec<String>,
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
    /// A photograph is looked at, or a group is captured: its name.
    Begun(&'a str),
    /// A group is done.
    Done(&'a Outcome),
}

impl Shelf {
    /// Captures a drawer onto the shelf, one group a core at the same time. Loose photographs are put together by their sheets
    /// and times. The outcomes stand in the order of their names. What cannot be captured hinders no other.
    ///
    /// # Errors
    /// The system refused; what is wrong with one group is its outcome.
    pub fn add_photographs(
        &self,
        drawer: &Drawer,
        manner: &Manner,
        tell: impl Fn(BatchEvent<'_>) + Sync,
    ) -> Result<Vec<Outcome>, ShelfError> {
        let cores =
            std::thread::available_parallelism().map_or(1, usize::from).min(drawer.photographs().max(1));
        let known = self.known(manner)?;
        let queue = Queue::new(drawer, &manner.request);
        let done: Mutex<Vec<Outcome>> = Mutex::new(Vec::new());
        let work = || {
            // A pool of one thread: captures side by side waste nothing, while threads inside each would wait.
            let Ok(pool) = ThreadPoolBuilder::new().num_threads(1).build() else { return };
            while let Some(job) = queue.next() {
                let outcome = match job {
                    Job::Look(index) => {
                        let loose = &drawer.loose[index];
                        tell(BatchEvent::Begun(&name_of(loose.path.file_stem())));
                        queue.put_back(index, pool.install(|| look(loose, &known)));
                        continue;
                    }
                    Job::Folder(group) => {
                        tell(BatchEvent::Begun(&group.name));
                        pool.install(|| self.add_group(&group, manner))
                    }
                    Job::Capture(seen, common) => {
                        tell(BatchEvent::Begun(&name_of(seen[0].path.file_stem())));
                        pool.install(|| self.add_loose(seen, common, manner))
                    }
                };
                tell(BatchEvent::Done(&outcome));
                if let Ok(mut done) = done.lock() {
                    done.push(outcome);
                }
            }
        };
        std::thread::scope(|scope| (0..cores).for_each(|_| drop(scope.spawn(work))));
        let mut done = done.into_inner().unwrap_or_default();
        done.sort_by(|a, b| (&a.group, &a.photographs).cmp(&(&b.group, &b.photographs)));
        Ok(done)
    }

    /// Photographs of which a pattern captured in this manner stands on the shelf: its name by their checksums.
    fn known(&self, manner: &Manner) -> Result<HashMap<String, String>, ShelfError> {
        let mut out = HashMap::new();
        self.each(&Query::default(), |entry| {
            let Some(origin) = &entry.origin else { return };
            if !origin.photographs.is_empty() && origin.source == source(&origin.photographs, manner) {
                out.extend(origin.photographs.iter().map(|p| (p.sha256.clone(), entry.name.clone())));
            }
        })?;
        Ok(out)
    }

    /// Captures a folder.
    fn add_group(&self, group: &Group, manner: &Manner) -> Outcome {
        let began = Instant::now();
        let names = group.photographs.iter().map(|p| name_of(p.file_name())).collect();
        let capture = || {
            let read =
                |path: &PathBuf| fs::read(path).map_err(|e| ShelfError::io("read", path, e).to_string());
            let bytes = group.photographs.iter().map(read).collect::<Result<Vec<_>, _>>()?;
            let photographs: Vec<Photograph> =
                bytes.iter().zip(&group.photographs).map(|(bytes, path)| photograph(bytes, path)).collect();
            let origin = Origin::today(source(&photographs, manner), photographs);
            if let Some(name) = self.made_of(&origin.source).map_err(|e| e.to_string())? {
                return Ok((OutcomeState::AlreadyThere(name), Vec::new()));
            }
            let taken = match manner.kind {
                Kind::Garment => capture::capture(&bytes, &manner.request, |_| {}).map(Taken::Garment),
                Kind::Paper(fold) => {
                    capture::capture_paper(&bytes, &manner.request, |_| {}).map(|p| Taken::Paper(p, fold))
                }
            };
            self.keep(taken, &group.name, &group.photographs, &origin, manner, began)
        };
        outcome(group.name.clone(), names, capture())
    }

    /// Captures loose photographs of one garment.
    fn add_loose(&self, seen: Vec<Seen>, common: Option<usize>, manner: &Manner) -> Outcome {
        let began = Instant::now();
        let name = name_of(seen[0].path.file_stem());
        let names = seen.iter().map(|s| s.photograph.name.clone()).collect();
        let capture = || {
            let photographs: Vec<Photograph> = seen.iter().map(|s| s.photograph.clone()).collect();
            let paths: Vec<PathBuf> = seen.iter().map(|s| s.path.clone()).collect();
            let grouped = common.map(|sheets| format!("by {sheets} sheets that lie alike in them"));
            let origin = Origin { grouped, ..Origin::today(source(&photographs, manner), photographs) };
            let mut pictures = Vec::new();
            for seen in seen {
                match seen.found {
                    Found::Picture(looked) => pictures.push(*looked),
                    Found::There(name) => return Ok((OutcomeState::AlreadyThere(name), Vec::new())),
                    Found::Nothing(why) => return Err(why),
                }
            }
            let looked: f64 = pictures.iter().map(Looked::seconds).sum();
            let taken = match manner.kind {
                Kind::Garment => {
                    capture::capture_looked(pictures, &manner.request, |_| {}).map(Taken::Garment)
                }
                Kind::Paper(fold) => capture::capture_paper_looked(pictures, &manner.request, |_| {})
                    .map(|p| Taken::Paper(p, fold)),
            };
            let began = began.checked_sub(std::time::Duration::from_secs_f64(looked)).unwrap_or(began);
            self.keep(taken, &name, &paths, &origin, manner, began)
        };
        outcome(name.clone(), names, capture())
    }

    /// Puts what was captured on the shelf.
    fn keep(
        &self,
        taken: Result<Taken, CaptureError>,
        name: &str,
        paths: &[PathBuf],
        origin: &Origin,
        manner: &Manner,
        began: Instant,
    ) -> Result<(OutcomeState, Vec<String>), String> {
        let mut file = manner.file.clone();
        if file.record.style.is_empty() {
            name.clone_into(&mut file.record.style);
        }
        let mut look = Vec::new();
        let mut captured = match taken.map_err(|e| e.to_string())? {
            Taken::Garment(captured) => captured,
            Taken::Paper(paper, fold) => {
                let drawn = Drawn::of(&paper, fold).map_err(|e| e.to_string())?;
                look.extend(looks_of(&paper, &drawn));
                file.drawn_fold = drawn.fold;
                file.recipe.steps = drawn.steps;
                paper.captured
            }
        };
        captured.report.seconds.insert("total".to_owned(), began.elapsed().as_secs_f64());
        let names: Vec<String> = paths.iter().map(|p| p.display().to_string()).collect();
        let pattern = NewPattern::of_captured(&captured, file, &names);
        let report = &captured.report;
        if report.outline_accuracy_worst_mm > WIDE_MM {
            look.push(format!("may be {:.1} mm off at its worst place", report.outline_accuracy_worst_mm));
        }
        if report.bridged_mm > BRIDGED_MM {
            look.push(format!("{:.0} mm of its outline were not seen and are bridged", report.bridged_mm));
        }
        look.extend(report.advice.iter().cloned());
        match self.add_new(&pattern, name, origin, &[]) {
            Ok(name) => Ok((OutcomeState::Added(name), look)),
            Err(ShelfError::AlreadyThere { name }) => Ok((OutcomeState::AlreadyThere(name), Vec::new())),
            Err(error) => Err(error.to_string()),
        }
    }
}

/// What was captured.
enum Taken {
    Garment(Captured),
    Paper(CapturedPaper, FoldEdge),
}

fn outcome(
    group: String,
    photographs: Vec<String>,
    done: Result<(OutcomeState, Vec<String>), String>,
) -> Outcome {
    let (state, look) = done.unwrap_or_else(|why| (OutcomeState::Failed(why.clone()), vec![why]));
    Outcome { group, photographs, state, look }
}

/// What a person should look at in a drawing.
fn looks_of(paper: &CapturedPaper, drawn: &Drawn) -> Vec<String> {
    let mut out = Vec::new();
    if let Some(mm) = paper.paper_fold_mm {
        out.push(format!("{mm:.0} mm of the paper's edge are taken for its fold"));
    }
    if drawn.fold.is_none() {
        let fold = drawn.facts.iter().find(|(name, _)| name == "fold");
        out.extend(fold.map(|(_, text)| text.clone()));
    }
    let unknown = paper.inner.iter().filter(|line| line.is == Meaning::Inner).count();
    if unknown > 0 {
        out.push(format!("{unknown} inner lines of no known purpose; say in its pattern.toml what they are"));
    }
    out
}

/// Looks at a loose photograph that is not on the shelf yet.
fn look(loose: &Loose, known: &HashMap<String, String>) -> Seen {
    let path = loose.path.clone();
    let seen = |photograph, found| Seen { path: path.clone(), photograph, taken_s: loose.taken_s, found };
    let bytes = match fs::read(&path) {
        Ok(bytes) => bytes,
        Err(error) => {
            let photograph = Photograph { name: name_of(path.file_name()), sha256: String::new() };
            return seen(photograph, Found::Nothing(ShelfError::io("read", &path, error).to_string()));
        }
    };
    let photograph = photograph(&bytes, &path);
    let found = match known.get(&photograph.sha256) {
        Some(name) => Found::There(name.clone()),
        None => match Looked::at(&bytes) {
            Ok(looked) => Found::Picture(Box::new(looked)),
            Err(error) => Found::Nothing(error.to_string()),
        },
    };
    seen(photograph, found)
}

fn photograph(bytes: &[u8], path: &Path) -> Photograph {
    Photograph { name: name_of(path.file_name()), sha256: sums::of(bytes) }
}

/// What a pattern is made of, as a checksum: the same photographs captured in another manner are another pattern.
fn source(photographs: &[Photograph], manner: &Manner) -> String {
    let mut all: String = photographs.iter().map(|p| p.sha256.as_str()).collect();
    all += &format!("{:?}", manner.request);
    if let Kind::Paper(fold) = manner.kind {
        all += &format!("paper {fold:?}");
    }
    sums::of(all.as_bytes())
}
