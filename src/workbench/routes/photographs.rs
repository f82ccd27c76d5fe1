//! Photographs handed over, the capture made of them, and the page for a phone that hands over more.

use super::{Answer, Asked, Held, NEWS_LATEST};
use crate::workbench::bench::held;
use crate::workbench::intake::{self, PHOTOS_MOST, Photo, Progress, Told};
use crate::workbench::plain_words::plain;
use crate::workbench::refusal::Refusal;
use axum::Json;
use axum::body::Bytes;
use axum::extract::{Path, Query, State};
use serde_json::{Value, json};
use std::sync::Arc;

pub(super) async fn photos(State(bench): Held) -> Json<Value> {
    let photos = held(&bench.photos);
    let list: Vec<Value> =
        photos.iter().map(|p| json!({ "name": p.name, "kilobytes": p.bytes.len() / 1024 })).collect();
    Json(json!({ "photos": list, "most": PHOTOS_MOST }))
}

pub(super) async fn add_photo(State(bench): Held, Query(asked): Query<Asked>, bytes: Bytes) -> Answer {
    let mut photos = held(&bench.photos);
    if photos.len() >= PHOTOS_MOST {
        return Err(Refusal::too_much(format!(
            "{PHOTOS_MOST} photographs are the most; take one away first"
        )));
    }
    if bytes.is_empty() {
        return Err(Refusal::cannot("the photograph is empty; choose it again"));
    }
    let name = asked.name.chars().filter(|c| !c.is_control()).take(80).collect();
    photos.push(Photo { name, bytes });
    Ok(Json(json!({ "number": photos.len() - 1 })))
}

pub(super) async fn drop_photo(State(bench): Held, Path(number): Path<usize>) -> Answer {
    let mut photos = held(&bench.photos);
    if number >= photos.len() {
        return Err(Refusal::nothing_there("there is no such photograph"));
    }
    photos.remove(number);
    Ok(Json(json!({})))
}

pub(super) async fn begin_capture(State(bench): Held, Json(told): Json<Told>) -> Answer {
    let (request, thickness) = told.request()?;
    let photos = held(&bench.photos).clone();
    if photos.is_empty() {
        return Err(Refusal::cannot("hand over a photograph first"));
    }
    let place = held(&bench.home).place_for(&told.name)?;
    let mut begun = 0;
    let free = bench.progress.send_if_modified(|(count, progress)| {
        let free = !matches!(progress, Progress::At(_));
        if free {
            *count += 1;
            *progress = Progress::At(crate::capture::Stage::Decode);
        }
        begun = *count;
        free
    });
    if !free {
        return Err(Refusal::busy("a photograph is being traced; wait until it is done"));
    }
    let doing = Arc::clone(&bench);
    let job = move || {
        let tell = |stage| {
            doing.progress.send_modify(|(count, progress)| {
                *count += 1;
                *progress = Progress::At(stage);
            });
        };
        let made = intake::capture_into(&place, &photos, &told, &request, thickness, tell);
        let end = match made {
            Ok(captured) => {
                held(&doing.photos).clear();
                let number = held(&doing.home).number_of(&place).unwrap_or(0);
                Progress::Done(number, captured.report.advice.iter().map(|words| plain(words)).collect())
            }
            Err(words) => Progress::Failed(plain(&words)),
        };
        doing.progress.send_modify(|(count, progress)| {
            *count += 1;
            *progress = end;
        });
    };
    let running = tokio::task::spawn_blocking(job);
    tokio::spawn(async move {
        if running.await.is_err() {
            bench.progress.send_modify(|(count, progress)| {
                *count += 1;
                *progress = Progress::Failed("the photograph could not be traced; take another".to_owned());
            });
        }
    });
    Ok(Json(json!({ "count": begun })))
}

pub(super) async fn progress(State(bench): Held, Query(asked): Query<Asked>) -> Json<Value> {
    let mut news = bench.progress.subscribe();
    let wait = news.wait_for(|(count, _)| *count > asked.after);
    let _ = tokio::time::timeout(NEWS_LATEST, wait).await;
    let (count, progress) = bench.progress.borrow().clone();
    Json(match progress {
        Progress::Idle => json!({ "count": count, "state": "idle" }),
        Progress::At(stage) => {
            let (number, words) = intake::stage_words(stage);
            json!({ "count": count, "state": "working", "stage": number, "words": words })
        }
        Progress::Done(pattern, advice) => {
            json!({ "count": count, "state": "done", "pattern": pattern, "advice": advice })
        }
        Progress::Failed(words) => json!({ "count": count, "state": "failed", "problem": words }),
    })
}

pub(super) async fn share(State(bench): Held) -> Json<Value> {
    let share = held(&bench.share).clone();
    let Some(share) = share.filter(|share| !share.left().is_zero()) else {
        return Json(json!({ "seconds": 0 }));
    };
    let (path, squares) = share.path();
    let seconds = share.left().as_secs();
    Json(json!({ "seconds": seconds, "address": share.address(), "path": path, "squares": squares }))
}

pub(super) async fn close_share(State(bench): Held, _read: Bytes) -> Json<Value> {
    if let Some(share) = &*held(&bench.share) {
        share.close();
    }
    Json(json!({}))
}
