//! What is to be done with a drawer, handed out to the threads that do it: loose photographs to look at, in order, and groups to
//! capture as soon as it is known what belongs to them.
//!
//! A photograph belongs to the one before it when both show one garment ([`Looked::one_garment_with`]) and were taken within
//! minutes, where the camera says when. Only photographs of a group that is not closed yet are kept decoded.

use super::drawer::{Drawer, Group};
use super::origin::Photograph;
use crate::capture::{Looked, Request};
use std::collections::{BTreeMap, VecDeque};
use std::path::PathBuf;
use std::sync::{Condvar, Mutex, MutexGuard, PoisonError};

/// Photographs of one garment are taken within this of each other, seconds.
const APART_S: u64 = 900;
/// Photographs of one garment, at most: more in a row show a stand that was left as it was.
const GROUP_MOST: usize = 8;
/// A photograph is compared with so many of those before it.
const COMPARED: usize = 3;

/// A loose photograph after a look at it.
#[derive(Debug)]
pub(super) struct Seen {
    pub(super) path: PathBuf,
    pub(super) photograph: Photograph,
    pub(super) taken_s: Option<i64>,
    pub(super) found: Found,
}

/// What a look found.
#[derive(Debug)]
pub(super) enum Found {
    /// A picture.
    Picture(Box<Looked>),
    /// The shelf has a pattern of it, of this name.
    There(String),
    /// It cannot be read.
    Nothing(String),
}

/// The next thing to do.
#[derive(Debug)]
pub(super) enum Job {
    /// Look at this loose photograph.
    Look(usize),
    /// Capture a folder.
    Folder(Group),
    /// Capture loose photographs of one garment; over how many sheets they were found to be so.
    Capture(Vec<Seen>, Option<usize>),
}

/// The work on a drawer.
#[derive(Debug)]
pub(super) struct Queue<'a> {
    request: &'a Request,
    state: Mutex<State>,
    changed: Condvar,
}

#[derive(Debug)]
struct State {
    folders: VecDeque<Group>,
    count: usize,
    /// The first photograph that nobody looks at yet.
    next: usize,
    /// How many are being looked at.
    looking: usize,
    /// Looked at, but not in their turn.
    early: BTreeMap<usize, Seen>,
    /// Whose turn it is.
    turn: usize,
    open: Vec<Seen>,
    common: Option<usize>,
    ready: VecDeque<(Vec<Seen>, Option<usize>)>,
}

impl<'a> Queue<'a> {
    pub(super) fn new(drawer: &Drawer, request: &'a Request) -> Self {
        let state = State {
            folders: drawer.folders.iter().cloned().collect(),
            count: drawer.loose.len(),
            next: 0,
            looking: 0,
            early: BTreeMap::new(),
            turn: 0,
            open: Vec::new(),
            common: None,
            ready: VecDeque::new(),
        };
        Self { request, state: Mutex::new(state), changed: Condvar::new() }
    }

    /// The next job; waits while others look at photographs that may belong together. `None` when all is handed out.
    pub(super) fn next(&self) -> Option<Job> {
        let mut state = self.state();
        loop {
            if let Some((group, common)) = state.ready.pop_front() {
                return Some(Job::Capture(group, common));
            }
            if state.next < state.count {
                state.next += 1;
                state.looking += 1;
                return Some(Job::Look(state.next - 1));
            }
            if let Some(group) = state.folders.pop_front() {
                return Some(Job::Folder(group));
            }
            if state.looking == 0 {
                return None;
            }
            state = self.changed.wait(state).unwrap_or_else(PoisonError::into_inner);
        }
    }

    /// Hands back a photograph that was looked at.
    pub(super) fn put_back(&self, index: usize, seen: Seen) {
        let mut guard = self.state();
        let state = &mut *guard;
        state.looking -= 1;
        state.early.insert(index, seen);
        while let Some(seen) = state.early.remove(&state.turn) {
            state.turn += 1;
            let common = state.belongs(&seen, self.request);
            if common.is_none() {
                state.close();
            }
            state.common = state.common.max(common);
            state.open.push(seen);
            if state.turn == state.count {
                state.close();
            }
        }
        drop(guard);
        self.changed.notify_all();
    }

    fn state(&self) -> MutexGuard<'_, State> {
        self.state.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl State {
    /// Over how many common sheets a photograph shows the garment of the open group.
    fn belongs(&self, seen: &Seen, request: &Request) -> Option<usize> {
        let Found::Picture(picture) = &seen.found else { return None };
        if self.open.len() >= GROUP_MOST {
            return None;
        }
        self.open.iter().rev().take(COMPARED).find_map(|before| {
            let apart = before.taken_s.zip(seen.taken_s).map(|(a, b)| a.abs_diff(b));
            match &before.found {
                Found::Picture(other) if apart.is_none_or(|s| s <= APART_S) => {
                    picture.one_garment_with(other, request)
                }
                _ => None,
            }
        })
    }

    fn close(&mut self) {
        if !self.open.is_empty() {
            self.ready.push_back((std::mem::take(&mut self.open), self.common.take()));
        }
    }
}
