//! A pattern that the page works on: its folder, what was done and undone, and its fold, kept while nothing before it changes.

use super::paper::Printed;
use super::refusal::Refusal;
use crate::curve::Fitted;
use crate::export::full_scale::PrintOn;
use crate::geometry::Point;
use crate::pattern::{
    self, Corrected, Drafted, FoldError, Folded, Keep, Nudge, PatternError, Piece, StepProblem, Top,
};
use crate::shelf::{self, Change, Folder, Held, ShelfError};
use crate::units::Unit;
use serde_json::Value;
use std::path::Path;
use std::sync::Arc;

/// States that can be gone back to, at most.
const PAST_MOST: usize = 200;

/// What decides a fold besides the outline.
type FoldBy = (Keep, Top, Nudge, Option<[Point; 2]>);

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
    /// The fold, or why there is none, and what it was made with.
    folded: Option<(FoldBy, Fitted, Result<Folded, FoldError>)>,
    /// Pieces shown last, and the ones before them.
    drawn: [Vec<Drawn>; 2],
    /// Printed last.
    printed: Option<Printed>,
}

/// A piece as it was shown.
#[derive(Debug, Clone)]
pub(super) struct Drawn {
    /// What a page that holds it knows it by; no other piece has it while the program runs.
    pub(super) number: u64,
    /// The piece.
    pub(super) piece: Piece,
    /// The unit of its words.
    pub(super) unit: Unit,
    /// What the page was told.
    pub(super) told: Arc<Value>,
}

/// A recipe replayed.
#[derive(Debug)]
pub(super) struct Replayed {
    /// The folder as replayed, perhaps not written.
    pub(super) folder: Folder,
    /// Its traced outline as corrected.
    pub(super) corrected: Corrected,
    /// What the corrected outline was made into, or why it does not fold.
    pub(super) made: Result<Made, FoldError>,
}

/// An outline folded and drafted.
#[derive(Debug)]
pub(super) struct Made {
    /// Its fold.
    pub(super) folded: Folded,
    /// Its pieces.
    pub(super) drafted: Drafted,
}

impl Replayed {
    /// What was made, where the outline folds.
    pub(super) fn made(&self) -> Result<&Made, Refusal> {
        self.made.as_ref().map_err(Refusal::cannot)
    }
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
            PatternError::Step { number, problem, .. } => {
                let at = match &**problem {
                    StepProblem::Correction(problem) => problem.at(),
                    _ => None,
                };
                Self::cannot(&error).at_step(number - 1).at_place(at)
            }
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
            drawn: [Vec::new(), Vec::new()],
            printed: None,
        })
    }

    pub(super) fn folder(&self) -> &Folder {
        &self.folder
    }

    pub(super) fn stamp(&self) -> u64 {
        self.stamp
    }

    /// Pieces as they were shown last: most of them are the same after a change, and need not be drawn again.
    pub(super) fn drawn(&self) -> impl Iterator<Item = &Drawn> {
        self.drawn.iter().flatten()
    }

    pub(super) fn keep_drawn(&mut self, drawn: Vec<Drawn>) {
        self.drawn.swap(0, 1);
        self.drawn[0] = drawn;
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

    /// The same, and no other program writes it until what is given back is dropped: what is changed next is what is there.
    pub(super) fn hold(&mut self) -> Result<Held, Refusal> {
        let held = shelf::hold(self.folder.dir())?;
        self.refresh()?;
        Ok(held)
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

    /// Does a change and writes it. A change after which the recipe cannot be replayed is not written, unless it corrects an
    /// outline that did not fold before either.
    pub(super) fn change(&mut self, change: &Change) -> Result<Replayed, Refusal> {
        let folder = self.folder.clone().with_change(change)?;
        let replayed = self.replay_of(folder.clone())?;
        if let Err(error) = &replayed.made
            && !folder.may_stay_unfolded(&self.folder)
        {
            return Err(Refusal::cannot(error));
        }
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

    /// A print, as it was made last where nothing is another.
    pub(super) fn print(&mut self, made: &Made, on: PrintOn) -> Result<&Printed, Refusal> {
        let printed = match self.printed.take().filter(|printed| printed.is(&made.drafted, on)) {
            Some(same) => same,
            None => Printed::new(&made.drafted, on)?,
        };
        Ok(self.printed.insert(printed))
    }

    /// The fold as a change would make it; nothing is written, no piece is drafted.
    pub(super) fn refolded(&mut self, change: &Change) -> Result<(Folder, Folded), Refusal> {
        let folder = self.folder.clone().with_change(change)?;
        let corrected = folder.corrected()?;
        let folded = self.fold_of(&folder, &corrected)?.map_err(Refusal::cannot)?;
        Ok((folder, folded))
    }

    fn replay_of(&mut self, folder: Folder) -> Result<Replayed, Refusal> {
        let corrected = folder.corrected()?;
        let made = match self.fold_of(&folder, &corrected)? {
            Ok(folded) => {
                let half = Piece::from_folded(&folded, folder.file.record.clone());
                let drafted = pattern::draft(&half, &folder.file.recipe)?;
                Ok(Made { folded, drafted })
            }
            Err(error) => Err(error),
        };
        Ok(Replayed { folder, corrected, made })
    }

    /// The fold, or why there is none.
    fn fold_of(
        &mut self,
        folder: &Folder,
        corrected: &Corrected,
    ) -> Result<Result<Folded, FoldError>, Refusal> {
        let file = &folder.file;
        let by = (file.keep, file.top, file.nudge.nudge(), file.drawn_fold);
        if let Some((as_then, outer, folded)) = &self.folded
            && *as_then == by
            && *outer == corrected.outer
        {
            return Ok(folded.clone());
        }
        let folded = match folder.fold() {
            Ok(folded) => Ok(folded),
            Err(ShelfError::Fold(error)) => Err(error),
            Err(other) => return Err(other.into()),
        };
        self.folded = Some((by, corrected.outer.clone(), folded.clone()));
        Ok(folded)
    }
}
