//! A pattern shown, changed, undone.

use super::{Answer, Asked, Held, LOOK_EVERY, NEWS_LATEST, with_pattern};
use crate::pattern::StepText;
use crate::shelf::Change;
use crate::workbench::{traced_view, view};
use axum::Json;
use axum::body::Bytes;
use axum::extract::{Path, Query, State};
use serde::Deserialize;
use serde_json::json;
use std::sync::Arc;

pub(super) async fn show(State(bench): Held, Path(id): Path<usize>, Query(asked): Query<Asked>) -> Answer {
    with_pattern(bench, id, move |open| {
        open.refresh()?;
        let replayed = open.replay()?;
        Ok(Json(view::view(open, &replayed, view::unit(&asked.unit))?))
    })
    .await
}

pub(super) async fn traced(State(bench): Held, Path(id): Path<usize>) -> Answer {
    with_pattern(bench, id, |open| {
        open.refresh()?;
        Ok(Json(traced_view::whole(open, &open.folder().corrected()?)))
    })
    .await
}

/// The traced line as a change would make it.
pub(super) async fn retraced(
    State(bench): Held,
    Path(id): Path<usize>,
    Json(asking): Json<Asking>,
) -> Answer {
    with_pattern(bench, id, move |open| {
        let corrected = open.folder().clone().with_change(&asking.into())?.corrected()?;
        Ok(Json(traced_view::line(&corrected)))
    })
    .await
}

/// The fold as a change would make it.
pub(super) async fn refolded(
    State(bench): Held,
    Path(id): Path<usize>,
    Query(asked): Query<Asked>,
    Json(asking): Json<Asking>,
) -> Answer {
    with_pattern(bench, id, move |open| {
        let (folder, folded) = open.refolded(&asking.into())?;
        Ok(Json(view::fold(&folder.file, &folded, view::unit(&asked.unit))))
    })
    .await
}

/// A change as the page writes it.
#[derive(Debug, Deserialize)]
#[serde(rename_all = "lowercase", tag = "change")]
pub(super) enum Asking {
    Insert { at: usize, step: Step },
    Replace { at: usize, step: Step },
    Remove { at: usize },
    Move { from: usize, to: usize },
    Fold { key: String, text: String },
}

#[derive(Debug, Deserialize)]
pub(super) struct Step {
    #[serde(rename = "do")]
    kind: String,
    keys: Vec<(String, Vec<String>)>,
}

impl From<Step> for StepText {
    fn from(step: Step) -> Self {
        Self { kind: step.kind, entries: step.keys }
    }
}

impl From<Asking> for Change {
    fn from(asking: Asking) -> Self {
        match asking {
            Asking::Insert { at, step } => Self::Insert(at, step.into()),
            Asking::Replace { at, step } => Self::Replace(at, step.into()),
            Asking::Remove { at } => Self::Remove(at),
            Asking::Move { from, to } => Self::Move { from, to },
            Asking::Fold { key, text } => Self::Fold { key, text },
        }
    }
}

pub(super) async fn preview(
    State(bench): Held,
    Path(id): Path<usize>,
    Query(asked): Query<Asked>,
    Json(asking): Json<Asking>,
) -> Answer {
    with_pattern(bench, id, move |open| {
        let change = asking.into();
        let replayed = open.preview(&change)?;
        let at = match change {
            Change::Insert(at, _) | Change::Replace(at, _) => Some(at),
            Change::Remove(_) | Change::Move { .. } | Change::Fold { .. } => None,
        };
        let have = view::numbers(&asked.have);
        Ok(Json(view::preview(open, &replayed, at, view::unit(&asked.unit), &have)?))
    })
    .await
}

pub(super) async fn change(
    State(bench): Held,
    Path(id): Path<usize>,
    Query(asked): Query<Asked>,
    Json(asking): Json<Asking>,
) -> Answer {
    with_pattern(bench, id, move |open| {
        let _held = open.hold()?;
        let replayed = open.change(&asking.into())?;
        Ok(Json(view::view(open, &replayed, view::unit(&asked.unit))?))
    })
    .await
}

// The body, though nothing is in it, is read: a connection closed over an unread one loses the end of the answer.
pub(super) async fn undo(state: Held, id: Path<usize>, asked: Query<Asked>, _read: Bytes) -> Answer {
    go_back(state, id, asked, true).await
}

pub(super) async fn redo(state: Held, id: Path<usize>, asked: Query<Asked>, _read: Bytes) -> Answer {
    go_back(state, id, asked, false).await
}

async fn go_back(
    State(bench): Held,
    Path(id): Path<usize>,
    Query(asked): Query<Asked>,
    back: bool,
) -> Answer {
    with_pattern(bench, id, move |open| {
        let _held = open.hold()?;
        let replayed = open.step_back(back)?;
        Ok(Json(view::view(open, &replayed, view::unit(&asked.unit))?))
    })
    .await
}

/// Waits until the pattern is another than the page shows.
pub(super) async fn news(State(bench): Held, Path(id): Path<usize>, Query(asked): Query<Asked>) -> Answer {
    let until = tokio::time::Instant::now() + NEWS_LATEST;
    loop {
        let stamp = with_pattern(Arc::clone(&bench), id, move |open| {
            open.refresh()?;
            Ok(open.stamp())
        })
        .await?;
        if stamp != asked.after || tokio::time::Instant::now() >= until {
            return Ok(Json(json!({ "stamp": stamp })));
        }
        tokio::time::sleep(LOOK_EVERY).await;
    }
}
