//! The addresses of the interface (`INTERFACE.md`) and what each does.

use super::home::{self, Home};
use super::intake::{self, PHOTO_BYTES_MOST, PHOTOS_MOST, Photo, Progress, Told};
use super::open_pattern::OpenPattern;
use super::refusal::Refusal;
use super::share::Share;
use super::{page, paper, view};
use crate::capture::TABLE;
use crate::geometry::Point;
use crate::pattern::{self, StepText};
use crate::shelf::{Change, Folder};
use axum::body::Bytes;
use axum::extract::{DefaultBodyLimit, Path, Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use axum::routing::{delete, get, post};
use axum::{Json, Router};
use serde::Deserialize;
use serde_json::{Value, json};
use std::collections::HashMap;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::time::Duration;
use tokio::sync::watch;

/// Bytes of a request that is no photograph, at most.
const WORDS_MOST: usize = 256 << 10;
/// A question for news is answered after this at the latest.
const NEWS_LATEST: Duration = Duration::from_secs(20);
/// The disk is looked at this often while a page waits for news.
const LOOK_EVERY: Duration = Duration::from_millis(400);
/// Patterns held open, at most.
const OPEN_MOST: usize = 50;

/// What the server holds.
#[derive(Debug)]
pub(super) struct Bench {
    home: Arc<Mutex<Home>>,
    open: Mutex<HashMap<usize, Arc<Mutex<OpenPattern>>>>,
    photos: Mutex<Vec<Photo>>,
    progress: watch::Sender<(u64, Progress)>,
    share: Mutex<Option<Arc<Share>>>,
}

/// A holder that died half-way has left a value behind that is still whole: values are replaced, never half-changed.
fn held<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
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

    fn pattern(&self, number: usize) -> Result<Arc<Mutex<OpenPattern>>, Refusal> {
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

type Held = State<Arc<Bench>>;
type Answer = Result<Json<Value>, Refusal>;

/// Work that computes or waits for the disk, off the threads that answer.
async fn work<T: Send + 'static>(
    job: impl FnOnce() -> Result<T, Refusal> + Send + 'static,
) -> Result<T, Refusal> {
    let done = tokio::task::spawn_blocking(job).await;
    done.unwrap_or_else(|_| Err(Refusal::cannot("this could not be worked out; undo the last change")))
}

/// Files as they are, and what a capture needs.
fn capturing(files: &'static [page::PageFile]) -> Router<Arc<Bench>> {
    let mut router = Router::new();
    for file in files {
        let answer = move || async move { ([(header::CONTENT_TYPE, file.kind)], file.text) };
        router = router.route(file.path, get(answer));
    }
    router
        .route("/api/photos", get(photos).post(add_photo).layer(DefaultBodyLimit::max(PHOTO_BYTES_MOST)))
        .route("/api/photos/{number}", delete(drop_photo))
        .route("/api/capture", get(progress).post(begin_capture))
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
        .route("/api/share", get(share))
        .route("/api/share/close", post(close_share))
        .route("/api/pattern/{id}", get(show))
        .route("/api/pattern/{id}/traced", get(traced))
        .route("/api/pattern/{id}/picture.svg", get(small_picture))
        .route("/api/pattern/{id}/photo.jpg", get(photo))
        .route("/api/pattern/{id}/preview", post(preview))
        .route("/api/pattern/{id}/change", post(change))
        .route("/api/pattern/{id}/undo", post(undo))
        .route("/api/pattern/{id}/redo", post(redo))
        .route("/api/pattern/{id}/news", get(news))
        .route("/api/pattern/{id}/print", get(print))
        .route("/api/pattern/{id}/page/{number}", get(print_page))
        .route("/api/pattern/{id}/file/{name}", get(file))
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
    after: u64,
}

async fn shelf(State(bench): Held, Query(asked): Query<Asked>) -> Answer {
    work(move || Ok(Json(held(&bench.home).list(&asked.find)))).await
}

async fn guide() -> Json<Value> {
    let one =
        |g: pattern::StepGuide| json!({ "group": g.group, "do": g.kind, "keys": g.keys, "says": g.says });
    let steps: Vec<Value> = pattern::step_guide().into_iter().map(one).collect();
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

async fn share(State(bench): Held) -> Json<Value> {
    let share = held(&bench.share).clone();
    let Some(share) = share.filter(|share| !share.left().is_zero()) else {
        return Json(json!({ "seconds": 0 }));
    };
    let (path, squares) = share.path();
    let seconds = share.left().as_secs();
    Json(json!({ "seconds": seconds, "address": share.address(), "path": path, "squares": squares }))
}

async fn close_share(State(bench): Held, _read: Bytes) -> Json<Value> {
    if let Some(share) = &*held(&bench.share) {
        share.close();
    }
    Json(json!({}))
}

async fn photos(State(bench): Held) -> Json<Value> {
    let photos = held(&bench.photos);
    let list: Vec<Value> =
        photos.iter().map(|p| json!({ "name": p.name, "kilobytes": p.bytes.len() / 1024 })).collect();
    Json(json!({ "photos": list, "most": PHOTOS_MOST }))
}

async fn add_photo(State(bench): Held, Query(asked): Query<Asked>, bytes: Bytes) -> Answer {
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

async fn drop_photo(State(bench): Held, Path(number): Path<usize>) -> Answer {
    let mut photos = held(&bench.photos);
    if number >= photos.len() {
        return Err(Refusal::nothing_there("there is no such photograph"));
    }
    photos.remove(number);
    Ok(Json(json!({})))
}

async fn begin_capture(State(bench): Held, Json(told): Json<Told>) -> Answer {
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
                Progress::Done(number, captured.report.advice)
            }
            Err(words) => Progress::Failed(words),
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

async fn progress(State(bench): Held, Query(asked): Query<Asked>) -> Json<Value> {
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

/// Does something with an open pattern, off the threads that answer.
async fn with_pattern<T: Send + 'static>(
    bench: Arc<Bench>,
    id: usize,
    job: impl FnOnce(&mut OpenPattern) -> Result<T, Refusal> + Send + 'static,
) -> Result<T, Refusal> {
    work(move || job(&mut held(&*bench.pattern(id)?))).await
}

async fn show(State(bench): Held, Path(id): Path<usize>, Query(asked): Query<Asked>) -> Answer {
    with_pattern(bench, id, move |open| {
        open.refresh()?;
        let replayed = open.replay()?;
        Ok(Json(view::view(open, &replayed, view::unit(&asked.unit))?))
    })
    .await
}

async fn traced(State(bench): Held, Path(id): Path<usize>) -> Answer {
    with_pattern(bench, id, |open| Ok(Json(view::traced(open)))).await
}

async fn small_picture(State(bench): Held, Path(id): Path<usize>) -> Result<Response, Refusal> {
    let svg = work(move || {
        let dir = held(&bench.home).folder(id)?.to_owned();
        Ok(home::picture(&Folder::open(&dir)?))
    })
    .await?;
    Ok(([(header::CONTENT_TYPE, "image/svg+xml")], svg).into_response())
}

async fn photo(State(bench): Held, Path(id): Path<usize>) -> Result<Response, Refusal> {
    let none = || Refusal::nothing_there("this pattern holds no picture of its photograph");
    let bytes = with_pattern(bench, id, move |open| {
        let folder = open.folder();
        folder.picture(TABLE).or_else(|| folder.picture("outline.jpg")).ok_or_else(none)
    })
    .await?;
    Ok(([(header::CONTENT_TYPE, "image/jpeg")], bytes).into_response())
}

/// A change as the page writes it.
#[derive(Debug, Deserialize)]
#[serde(rename_all = "lowercase", tag = "change")]
enum Asking {
    Insert { at: usize, step: Step },
    Replace { at: usize, step: Step },
    Remove { at: usize },
    Move { from: usize, to: usize },
    Fold { key: String, text: String },
}

#[derive(Debug, Deserialize)]
struct Step {
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

async fn preview(
    State(bench): Held,
    Path(id): Path<usize>,
    Query(asked): Query<Asked>,
    Json(asking): Json<Asking>,
) -> Answer {
    with_pattern(bench, id, move |open| {
        let replayed = open.preview(&asking.into())?;
        Ok(Json(view::view(open, &replayed, view::unit(&asked.unit))?))
    })
    .await
}

async fn change(
    State(bench): Held,
    Path(id): Path<usize>,
    Query(asked): Query<Asked>,
    Json(asking): Json<Asking>,
) -> Answer {
    with_pattern(bench, id, move |open| {
        open.refresh()?;
        let replayed = open.change(&asking.into())?;
        Ok(Json(view::view(open, &replayed, view::unit(&asked.unit))?))
    })
    .await
}

// The body, though nothing is in it, is read: a connection closed over an unread one loses the end of the answer.
async fn undo(state: Held, id: Path<usize>, asked: Query<Asked>, _read: Bytes) -> Answer {
    go_back(state, id, asked, true).await
}

async fn redo(state: Held, id: Path<usize>, asked: Query<Asked>, _read: Bytes) -> Answer {
    go_back(state, id, asked, false).await
}

async fn go_back(
    State(bench): Held,
    Path(id): Path<usize>,
    Query(asked): Query<Asked>,
    back: bool,
) -> Answer {
    with_pattern(bench, id, move |open| {
        open.refresh()?;
        let replayed = open.step_back(back)?;
        Ok(Json(view::view(open, &replayed, view::unit(&asked.unit))?))
    })
    .await
}

/// Waits until the pattern is another than the page shows.
async fn news(State(bench): Held, Path(id): Path<usize>, Query(asked): Query<Asked>) -> Answer {
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

async fn print(State(bench): Held, Path(id): Path<usize>, Query(asked): Query<Asked>) -> Answer {
    let on = paper::print_on(&asked.paper, &asked.width)?;
    with_pattern(bench, id, move |open| {
        let replayed = open.replay()?;
        let pages = open.pages(&replayed, on)?.len();
        Ok(Json(json!({ "pages": pages, "tiles": paper::tiles(&replayed, on)? })))
    })
    .await
}

async fn print_page(
    State(bench): Held,
    Path((id, number)): Path<(usize, usize)>,
    Query(asked): Query<Asked>,
) -> Result<Response, Refusal> {
    let on = paper::print_on(&asked.paper, &asked.width)?;
    let svg = with_pattern(bench, id, move |open| {
        let replayed = open.replay()?;
        let page = open.pages(&replayed, on)?.get(number);
        page.cloned().ok_or_else(|| Refusal::nothing_there("there is no such page"))
    })
    .await?;
    Ok(([(header::CONTENT_TYPE, "image/svg+xml")], svg).into_response())
}

async fn file(
    State(bench): Held,
    Path((id, name)): Path<(usize, String)>,
    Query(asked): Query<Asked>,
) -> Result<Response, Refusal> {
    let on = if name == "pattern.pdf" {
        paper::print_on(&asked.paper, &asked.width)?
    } else {
        paper::print_on("a4", "")?
    };
    let (kind, bytes) = with_pattern(bench, id, move |open| paper::file(&open.replay()?, &name, on)).await?;
    Ok(([(header::CONTENT_TYPE, kind)], bytes).into_response())
}
