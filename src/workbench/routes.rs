//! The addresses of the interface (`INTERFACE.md`) and what each does.

mod paper;
mod pattern;
mod photographs;

use super::bench::{Bench, held};
use super::intake::PHOTO_BYTES_MOST;
use super::open_pattern::OpenPattern;
use super::refusal::Refusal;
use super::{page, view};
use crate::geometry::Point;
use crate::pattern::{self as steps, StepText};
use axum::extract::{DefaultBodyLimit, Query, State};
use axum::http::header;
use axum::routing::{delete, get, post};
use axum::{Json, Router};
use serde::Deserialize;
use serde_json::{Value, json};
use std::sync::Arc;
use std::time::Duration;

/// Bytes of a request that is no photograph, at most.
const WORDS_MOST: usize = 256 << 10;
/// A question for news is answered after this at the latest.
const NEWS_LATEST: Duration = Duration::from_secs(20);
/// The disk is looked at this often while a page waits for news.
const LOOK_EVERY: Duration = Duration::from_millis(400);

type Held = State<Arc<Bench>>;
type Answer = Result<Json<Value>, Refusal>;

/// Work that computes or waits for the disk, off the threads that answer. Where the one who asked has gone before it began, it is
/// not done; once begun it is done to its end.
async fn work<T: Send + 'static>(
    job: impl FnOnce() -> Result<T, Refusal> + Send + 'static,
) -> Result<T, Refusal> {
    // Given up with the request: what was not begun is taken out of the queue.
    let mut asked = tokio::task::JoinSet::new();
    asked.spawn_blocking(job);
    let done = asked.join_next().await;
    done.and_then(Result::ok)
        .unwrap_or_else(|| Err(Refusal::cannot("this could not be worked out; undo the last change")))
}

/// Files as they are, and what a capture needs.
fn capturing(files: &'static [page::PageFile]) -> Router<Arc<Bench>> {
    let mut router = Router::new();
    for file in files {
        let answer = move || async move { ([(header::CONTENT_TYPE, file.kind)], file.text) };
        router = router.route(file.path, get(answer));
    }
    router
        .route(
            "/api/photos",
            get(photographs::photos)
                .post(photographs::add_photo)
                .layer(DefaultBodyLimit::max(PHOTO_BYTES_MOST)),
        )
        .route("/api/photos/{number}", delete(photographs::drop_photo))
        .route("/api/capture", get(photographs::progress).post(photographs::begin_capture))
}

/// Every address for a phone.
pub(super) fn phone_router(bench: Arc<Bench>) -> Router {
    capturing(&page::PHONE_FILES).layer(DefaultBodyLimit::max(WORDS_MOST)).with_state(bench)
}

/// Every address.
pub(super) fn router(bench: Arc<Bench>) -> Router {
    capturing(&page::FILES)
        .route("/api/shelf", get(shelf))
        .route("/api/guide", get(guide))
        .route("/api/tape", get(tape))
        .route("/api/share", get(photographs::share))
        .route("/api/share/close", post(photographs::close_share))
        .route("/api/pattern/{id}", get(pattern::show))
        .route("/api/pattern/{id}/traced", get(pattern::traced).post(pattern::retraced))
        .route("/api/pattern/{id}/picture.svg", get(paper::small_picture))
        .route("/api/pattern/{id}/photo.jpg", get(paper::photo))
        .route("/api/pattern/{id}/fold", post(pattern::refolded))
        .route("/api/pattern/{id}/preview", post(pattern::preview))
        .route("/api/pattern/{id}/change", post(pattern::change))
        .route("/api/pattern/{id}/undo", post(pattern::undo))
        .route("/api/pattern/{id}/redo", post(pattern::redo))
        .route("/api/pattern/{id}/news", get(pattern::news))
        .route("/api/pattern/{id}/print", get(paper::print))
        .route("/api/pattern/{id}/page/{number}", get(paper::print_page))
        .route("/api/pattern/{id}/file/{name}", get(paper::file))
        .layer(DefaultBodyLimit::max(WORDS_MOST))
        .with_state(bench)
}

#[derive(Debug, Deserialize)]
struct Asked {
    #[serde(default)]
    find: String,
    #[serde(default)]
    unit: String,
    #[serde(default)]
    paper: String,
    #[serde(default)]
    width: String,
    #[serde(default)]
    name: String,
    #[serde(default)]
    between: String,
    #[serde(default)]
    have: String,
    #[serde(default)]
    after: u64,
}

async fn shelf(State(bench): Held, Query(asked): Query<Asked>) -> Answer {
    work(move || Ok(Json(held(&bench.home).list(&asked.find)))).await
}

async fn guide() -> Json<Value> {
    let one = |g: steps::StepGuide| json!({ "group": g.group, "do": g.kind, "keys": g.keys, "says": g.says });
    let steps: Vec<Value> = steps::step_guide().into_iter().map(one).collect();
    let lists: Vec<&str> =
        ["edges", "walk", "places"].into_iter().filter(|key| StepText::is_list(key)).collect();
    Json(json!({ "steps": steps, "lists": lists }))
}

async fn tape(Query(asked): Query<Asked>) -> Answer {
    let numbers: Vec<f64> = asked.between.split(',').filter_map(|t| t.parse().ok()).collect();
    let [x0, y0, x1, y1] = numbers[..] else {
        return Err(Refusal::cannot("a tape lies between two places: x,y,x,y in millimetres"));
    };
    let mm = Point::new(x0, y0).distance(Point::new(x1, y1));
    if !mm.is_finite() {
        return Err(Refusal::cannot("the two places are not numbers"));
    }
    Ok(Json(json!({ "mm": mm, "words": view::unit(&asked.unit).show(mm) })))
}

/// Does something with an open pattern, off the threads that answer.
async fn with_pattern<T: Send + 'static>(
    bench: Arc<Bench>,
    id: usize,
    job: impl FnOnce(&mut OpenPattern) -> Result<T, Refusal> + Send + 'static,
) -> Result<T, Refusal> {
    work(move || job(&mut held(&*bench.pattern(id)?))).await
}
