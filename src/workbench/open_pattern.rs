//! A pattern that the page works on: its folder, what was done and undone, and its fold, kept while nothing before it changes.

use super::paper;
use super::refusal::Refusal;
use crate::curve::Fitted;
use crate::export::full_scale::PrintOn;
use crate::pattern::{self, Corrected, Drafted, Folded, Keep, PatternError, Piece, Top};
use crate::shelf::{Change, Folder, ShelfError};
use crate::units::Unit;
use serde_json::Value;
use std::path::Path;

/// States that can be gone back to, at most.
const PAST_MOST: usize = 200;

/// An open pattern.
#[derive(Debug)]
pub(super) struct OpenPattern {
    folder: Folder,
    /// Texts of the recipe before each change, the latest last.
    past: Vec<String>,
    /// Texts taken back, the latest last.
    future: Vec<String>,
    /// Grows with every change, so that a page knows whether it shows the latest.
    stamp: u64,
    /// The fold, and what it was made with.
    folded: Option<(Keep, Top, Fitted, Folded)>,
    /// Pieces shown last, in which unit and as what.
    drawn: Vec<(Piece, Unit, Value)>,
    /// Pages printed last, and of which pieces on what.
    pages: Option<(Drafted, PrintOn, Vec<String>)>,
}

/// A recipe replayed.
#[derive(Debug)]
pub(super) struct Replayed {
    /// The folder as replayed, perhaps not written.
    pub(super) folder: Folder,
    /// Its traced outline as corrected.
    pub(super) corrected: Corrected,
    /// Its fold.
    pub(super) folded: Folded,
    /// Its pieces.
    pub(super) drafted: Drafted,
}

impl From<ShelfError> for Refusal {
    fn from(error: ShelfError) -> Self {
        match error {
            ShelfError::Step(error) => error.into(),
            other => Self::cannot(other),
        }
    }
}

impl From<PatternError> for Refusal {
    fn from(error: PatternError) -> Self {
        match &error {
            PatternError::Step { number, .. } => Self::cannot(&error).at_step(number - 1),
            PatternError::Name { .. } => Self::cannot(&error),
        }
    }
}

impl OpenPattern {
    pub(super) fn open(dir: &Path) -> Result<Self, Refusal> {
        let folder = Folder::open(dir)?;
        Ok(Self {
            folder,
            past: Vec::new(),
            future: Vec::new(),
            stamp: 1,
            folded: None,
            drawn: Vec::new(),
            pages: None,
        })
    }

    pub(super) fn folder(&self) -> &Folder {
        &self.folder
    }

    pub(super) fn stamp(&self) -> u64 {
        self.stamp
    }

    /// Pieces as they were shown last: most of them are the same after a change, and need not be drawn again.
    pub(super) fn drawn(&self) -> &[(Piece, Unit, Value)] {
        &self.drawn
    }

    pub(super) fn keep_drawn(&mut self, drawn: Vec<(Piece, Unit, Value)>) {
        self.drawn = drawn;
    }

    /// How many changes can be taken back, and how many done again.
    pub(super) fn undoable(&self) -> (usize, usize) {
        (self.past.len(), self.future.len())
    }

    /// What is on the disk now, when another program wrote it; what was shown before can be gone back to.
    pub(super) fn refresh(&mut self) -> Result<(), Refusal> {
        if self.folder.is_changed_on_disk() {
            let fresh = Folder::open(self.folder.dir())?;
            self.remember();
            self.folder = fresh;
        }
        Ok(())
    }

    fn remember(&mut self) {
        self.past.push(self.folder.text().to_owned());
        if self.past.len() > PAST_MOST {
            self.past.remove(0);
        }
        self.future.clear();
        self.stamp += 1;
    }

    /// The pattern as it is, replayed.
    pub(super) fn replay(&mut self) -> Result<Replayed, Refusal> {
        self.replay_of(self.folder.clone())
    }

    /// The pattern as it would be, replayed; nothing is written or remembered.
    pub(super) fn preview(&mut self, change: &Change) -> Result<Replayed, Refusal> {
        let folder = self.folder.clone().with_change(change)?;
        self.replay_of(folder)
    }

    /// Does a change and writes it. A change after which the recipe cannot be replayed is not written.
    pub(super) fn change(&mut self, change: &Change) -> Result<Replayed, Refusal> {
        let folder = self.folder.clone().with_change(change)?;
        let replayed = self.replay_of(folder.clone())?;
        folder.save()?;
        self.remember();
        self.folder = folder;
        Ok(replayed)
    }

    /// Takes the last change back, or does the last one taken back again.
    pub(super) fn step_back(&mut self, back: bool) -> Result<Replayed, Refusal> {
        let (from, words) = if back {
            (&mut self.past, "there is nothing to undo")
        } else {
            (&mut self.future, "there is nothing to do again")
        };
        let text = from.pop().ok_or_else(|| Refusal::cannot(words))?;
        let now = self.folder.text().to_owned();
        let folder = self.folder.clone().with_text(text)?;
        folder.save()?;
        self.folder = folder;
        if back {
            self.future.push(now);
        } else {
            self.past.push(now);
        }
        self.stamp += 1;
        self.replay()
    }

    /// The pages of a print as SVG.
    pub(super) fn pages(&mut self, replayed: &Replayed, on: PrintOn) -> Result<&[String], Refusal> {
        let good = matches!(&self.pages, Some((of, was, _)) if *was == on && *of == replayed.drafted);
        if !good {
            let pages = paper::pages(&replayed.drafted, on)?;
            self.pages = Some((replayed.drafted.clone(), on, pages));
        }
        Ok(self.pages.as_ref().map_or(&[], |(_, _, pages)| pages))
    }

    fn replay_of(&mut self, folder: Folder) -> Result<Replayed, Refusal> {
        let (keep, top) = (folder.file.keep, folder.file.top);
        let corrected = folder.corrected()?;
        let folded = match &self.folded {
            Some((k, t, outer, folded)) if *k == keep && *t == top && *outer == corrected.outer => {
                folded.clone()
            }
            _ => folder.fold()?,
        };
        self.folded = Some((keep, top, corrected.outer.clone(), folded.clone()));
        let half = Piece::from_folded(&folded, folder.file.record.clone());
        let drafted = pattern::draft(&half, &folder.file.recipe)?;
        Ok(Replayed { folder, corrected, folded, drafted })
    }
}
