//! A pattern folder that is there.

use super::error::ShelfError;
use super::new_folder::{DRAFTED, PICTURES, TRACED};
use super::recipe_change::{self, Change};
use super::recipe_text::{self, PatternFile};
use super::{shown, sums};
use crate::geometry::Ring;
use crate::pattern::{self, Corrected, Drafted, FoldOptions, Folded, Piece, StepText, Traced};
use atomic_write_file::AtomicWriteFile;
use std::fs;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// How far the curves may depart from the trace, millimetres: about the trace's own noise.
pub const DEPART_MM: f64 = 0.25;

/// A pattern folder: its recipe and its traced piece, read.
#[derive(Debug, Clone, PartialEq)]
pub struct Folder {
    dir: PathBuf,
    text: String,
    /// The texts that it had: what was read, and what came of that before its last change. One of them is on the disk.
    former: Vec<String>,
    /// What `pattern.toml` says.
    pub file: PatternFile,
    /// The traced piece.
    pub traced: Traced,
}

impl Folder {
    /// Reads a folder.
    ///
    /// # Errors
    /// [`ShelfError`]: no pattern there, a mistake in `pattern.toml` with its line, a damaged `traced.json`.
    pub fn open(dir: &Path) -> Result<Self, ShelfError> {
        let text = read(&dir.join(recipe_text::FILE)).map_err(|e| match e {
            ShelfError::Io { source, .. } if is_absent(&source) => ShelfError::NoPattern(dir.to_owned()),
            other => other,
        })?;
        let file = PatternFile::from_text(&text)?;
        let traced = Traced::from_text(&read(&dir.join(TRACED))?)?;
        Ok(Self { dir: dir.to_owned(), former: vec![text.clone()], text, file, traced })
    }

    /// Where it is.
    #[must_use]
    pub fn dir(&self) -> &Path {
        &self.dir
    }

    /// The same with one more step at the end of its recipe; nothing is written yet.
    ///
    /// # Errors
    /// [`ShelfError::Text`], should the file not take another step.
    pub fn with_step(mut self, step: &StepText) -> Result<Self, ShelfError> {
        let text = recipe_text::with_step(&self.text, step);
        self.former.push(std::mem::replace(&mut self.text, text));
        self.file = PatternFile::from_text(&self.text)?;
        Ok(self)
    }

    /// The same without the last step of its recipe, and that step; nothing is written yet. A step that
    /// [`Folder::with_step`] added goes without a trace: the text is again what it was, to the last byte.
    ///
    /// # Errors
    /// [`ShelfError::NoStep`] when there is none.
    pub fn without_last_step(mut self) -> Result<(Self, StepText), ShelfError> {
        let last =
            self.file.recipe.steps.last().cloned().ok_or_else(|| ShelfError::NoStep(self.dir.clone()))?;
        let text = recipe_text::without_step(&self.text, &last);
        self.former.push(std::mem::replace(&mut self.text, text));
        self.file = PatternFile::from_text(&self.text)?;
        Ok((self, last))
    }

    /// The same with one step of its recipe, or its fold, changed; comments stay. Nothing is written yet.
    ///
    /// # Errors
    /// [`ShelfError::Text`] where the text does not read; [`ShelfError::NoStep`] for a step that is not there.
    pub fn with_change(mut self, change: &Change) -> Result<Self, ShelfError> {
        let text = recipe_change::changed(&self.text, self.file.recipe.steps.len(), change)?
            .ok_or_else(|| ShelfError::NoStep(self.dir.clone()))?;
        self.former.push(std::mem::replace(&mut self.text, text));
        self.file = PatternFile::from_text(&self.text)?;
        Ok(self)
    }

    /// The same with another text of its recipe; nothing is written yet.
    ///
    /// # Errors
    /// [`ShelfError::Text`] where the text does not read.
    pub fn with_text(mut self, text: String) -> Result<Self, ShelfError> {
        self.file = PatternFile::from_text(&text)?;
        self.former.push(std::mem::replace(&mut self.text, text));
        Ok(self)
    }

    /// The text of its recipe.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// A picture of the capture by its file name; `None` where the folder has none of that name. The name is one of the
    /// program's own, never one from outside.
    #[must_use]
    pub fn picture(&self, name: &'static str) -> Option<Vec<u8>> {
        fs::read(self.dir.join(PICTURES).join(name)).ok()
    }

    /// Whether the recipe on the disk is another than the one that was read.
    #[must_use]
    pub fn is_changed_on_disk(&self) -> bool {
        fs::read(self.dir.join(recipe_text::FILE)).is_ok_and(|there| there != self.text.as_bytes())
    }

    /// The same with some fields of its record set, by their names; nothing is written yet. Comments stay.
    ///
    /// # Errors
    /// [`ShelfError::Text`] for a field that is not there or a thickness that is none.
    pub fn with_record(mut self, fields: &[(&str, &str)]) -> Result<Self, ShelfError> {
        let text = recipe_text::with_record(&self.text, fields)?;
        self.former.push(std::mem::replace(&mut self.text, text));
        self.file = PatternFile::from_text(&self.text)?;
        Ok(self)
    }

    /// The traced outline as the recipe corrects it, with a report of each correction. [`Folder::traced`] stays as it was
    /// captured.
    ///
    /// # Errors
    /// [`ShelfError::Step`].
    pub fn corrected(&self) -> Result<Corrected, ShelfError> {
        Ok(pattern::correct(&self.traced.outer.fitted, &self.file.recipe)?)
    }

    /// Whether this recipe may be written though its outline does not fold: it corrects an outline that did not fold `before`
    /// either, so that several corrections can bring it there.
    #[must_use]
    pub fn may_stay_unfolded(&self, before: &Self) -> bool {
        let others = |folder: &Self| -> Vec<StepText> {
            folder.file.recipe.steps.iter().filter(|step| !step.is_correction()).cloned().collect()
        };
        others(self) == others(before) && matches!(before.fold(), Err(ShelfError::Fold(_)))
    }

    /// The outline to show where nothing is folded: the corrected outer line, or the traced one where a correction cannot be
    /// done, then the holes; millimetres on the table.
    #[must_use]
    pub fn rings(&self) -> Vec<Ring> {
        let traced = &self.traced.outer.fitted;
        let outer = self.corrected().map_or_else(|_| traced.ring.clone(), |c| c.outer.ring);
        let holes = self.traced.holes.iter().map(|hole| hole.fitted.ring.clone());
        std::iter::once(outer).chain(holes).collect()
    }

    /// The fold of the corrected outline, with its report of wear.
    ///
    /// # Errors
    /// [`ShelfError::Fold`], [`ShelfError::Step`] where the outline cannot be corrected.
    pub fn fold(&self) -> Result<Folded, ShelfError> {
        let outer = self.corrected()?.outer;
        let holes: Vec<_> = self.traced.holes.iter().map(|hole| hole.fitted.clone()).collect();
        let PatternFile { keep, top, .. } = self.file;
        let mut options = FoldOptions { keep, top, nudge: self.file.nudge.nudge(), ..FoldOptions::default() };
        options.tolerance.depart_mm = DEPART_MM;
        Ok(match self.file.drawn_fold {
            Some(ends) => pattern::fold_drawn(&outer, ends, &options)?,
            None => pattern::fold(&outer, &holes, &options)?,
        })
    }

    /// The fold, and the pieces after the last step.
    ///
    /// # Errors
    /// [`ShelfError::Fold`], [`ShelfError::Step`].
    pub fn replay(&self) -> Result<(Folded, Drafted), ShelfError> {
        let folded = self.fold()?;
        let half = Piece::from_folded(&folded, self.file.record.clone());
        let drafted = pattern::draft(&half, &self.file.recipe)?;
        Ok((folded, drafted))
    }

    /// Writes the recipe, whole or not at all, and its checksum where the folder keeps checksums. What another
    /// program wrote since this one read it is not written over; whoever wants to wait for the other instead holds
    /// the folder from before it is opened ([`super::hold`]).
    ///
    /// # Errors
    /// [`ShelfError`]: changed meanwhile, the disk is full or the system refused; the one that was there stays.
    pub fn save(&self) -> Result<(), ShelfError> {
        let path = self.dir.join(recipe_text::FILE);
        let there = read(&path)?;
        if there != self.text && !self.former.contains(&there) {
            return Err(ShelfError::Changed(path));
        }
        self.write_summed(recipe_text::FILE, self.text.as_bytes())
    }

    /// Writes a file and its checksum. The sums first list the new one beside the old, so that a program cut off
    /// between the two leaves nothing that looks like damage.
    fn write_summed(&self, name: &str, bytes: &[u8]) -> Result<(), ShelfError> {
        let sum = sums::of(bytes);
        sums::announce(&self.dir, name, &sum)?;
        write_over(&self.dir.join(name), bytes)?;
        sums::settle(&self.dir, name, &sum)
    }

    /// Keeps what lists show of the pattern in its folder, so that a shelf that takes it in need not replay it.
    pub fn keep_shown(&self) {
        shown::keep(&self.dir);
    }

    /// Writes the outline after the last step (JSON) beside the recipe, whole or not at all; one that is there already is
    /// left alone.
    ///
    /// # Errors
    /// [`ShelfError`]: the disk is full or the system refused; the one that was there stays.
    pub fn write_drafted(&self, json: &str) -> Result<PathBuf, ShelfError> {
        let path = self.dir.join(DRAFTED);
        // A replay that changes nothing writes nothing: waiting for the disk takes as long as the replay.
        if fs::read(&path).is_ok_and(|there| there == json.as_bytes()) {
            return Ok(path);
        }
        self.write_summed(DRAFTED, json.as_bytes())?;
        Ok(path)
    }
}

pub(super) fn is_absent(error: &io::Error) -> bool {
    matches!(error.kind(), io::ErrorKind::NotFound | io::ErrorKind::NotADirectory)
}

pub(super) fn read(path: &Path) -> Result<String, ShelfError> {
    fs::read_to_string(path).map_err(|e| ShelfError::io("read", path, e))
}

/// Puts a file in the place of the one that is there, or leaves that one as it was.
pub(super) fn write_over(path: &Path, bytes: &[u8]) -> Result<(), ShelfError> {
    let put = || {
        let mut file = AtomicWriteFile::open(path)?;
        file.write_all(bytes)?;
        file.commit()
    };
    put().map_err(|e| ShelfError::writing(path, bytes.len(), e))
}
