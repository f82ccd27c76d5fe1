//! What the server holds: the shelf, patterns opened, photographs in hand, the capture under way.

use super::home::Home;
use super::intake::{Photo, Progress};
use super::open_pattern::OpenPattern;
use super::refusal::Refusal;
use super::share::Share;
use std::collections::HashMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use tokio::sync::watch;

/// Patterns held open, at most.
const OPEN_MOST: usize = 50;

/// What the server holds.
#[derive(Debug)]
pub(super) struct Bench {
    /// What the page was opened on.
    pub(super) home: Arc<Mutex<Home>>,
    open: Mutex<HashMap<usize, Arc<Mutex<OpenPattern>>>>,
    /// Photographs in hand.
    pub(super) photos: Mutex<Vec<Photo>>,
    /// How the capture stands, and a count that grows with every news of it.
    pub(super) progress: watch::Sender<(u64, Progress)>,
    /// The page for a phone, once there was one.
    pub(super) share: Mutex<Option<Arc<Share>>>,
}

/// A holder that died half-way has left a value behind that is still whole: values are replaced, never half-changed.
pub(super) fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Bench {
    pub(super) fn new(home: Home) -> Self {
        Self {
            home: Arc::new(Mutex::new(home)),
            open: Mutex::new(HashMap::new()),
            photos: Mutex::new(Vec::new()),
            progress: watch::Sender::new((0, Progress::Idle)),
            share: Mutex::new(None),
        }
    }

    /// The same shelf, where one thing is captured at a time, with photographs of its own in hand.
    pub(super) fn for_phone(&self) -> Self {
        Self {
            home: Arc::clone(&self.home),
            open: Mutex::new(HashMap::new()),
            photos: Mutex::new(Vec::new()),
            progress: self.progress.clone(),
            share: Mutex::new(None),
        }
    }

    /// Tells the page at the bench of the page for a phone.
    pub(super) fn show_share(&self, share: Arc<Share>) {
        *held(&self.share) = Some(share);
    }

    /// A pattern by its number, opened when it is not.
    pub(super) fn pattern(&self, number: usize) -> Result<Arc<Mutex<OpenPattern>>, Refusal> {
        if let Some(open) = held(&self.open).get(&number) {
            return Ok(Arc::clone(open));
        }
        let dir = held(&self.home).folder(number)?.to_owned();
        let opened = Arc::new(Mutex::new(OpenPattern::open(&dir)?));
        let mut open = held(&self.open);
        if open.len() >= OPEN_MOST {
            open.clear();
        }
        Ok(Arc::clone(open.entry(number).or_insert(opened)))
    }
}
