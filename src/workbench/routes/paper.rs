//! What is printed and taken along, and the pattern's pictures.

use super::{Answer, Asked, Held, with_pattern, work};
use crate::capture::TABLE;
use crate::shelf::Folder;
use crate::workbench::bench::held;
use crate::workbench::refusal::Refusal;
use crate::workbench::{home, paper};
use axum::Json;
use axum::extract::{Path, Query, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};

pub(super) async fn print(State(bench): Held, Path(id): Path<usize>, Query(asked): Query<Asked>) -> Answer {
    let on = paper::print_on(&asked.paper, &asked.width)?;
    with_pattern(bench, id, move |open| {
        let replayed = open.replay()?;
        Ok(Json(open.print(replayed.made()?, on)?.told()))
    })
    .await
}

pub(super) async fn print_page(
    State(bench): Held,
    Path((id, number)): Path<(usize, usize)>,
    Query(asked): Query<Asked>,
) -> Result<Response, Refusal> {
    let on = paper::print_on(&asked.paper, &asked.width)?;
    let svg = with_pattern(bench, id, move |open| {
        let replayed = open.replay()?;
        let page = open.print(replayed.made()?, on)?.pages.get(number);
        page.cloned().ok_or_else(|| Refusal::nothing_there("there is no such page"))
    })
    .await?;
    Ok(([(header::CONTENT_TYPE, "image/svg+xml")], svg).into_response())
}

pub(super) async fn file(
    State(bench): Held,
    Path((id, name)): Path<(usize, String)>,
    Query(asked): Query<Asked>,
) -> Result<Response, Refusal> {
    let on = if name == "pattern.pdf" {
        paper::print_on(&asked.paper, &asked.width)?
    } else {
        paper::print_on("a4", "")?
    };
    let (kind, bytes) =
        with_pattern(bench, id, move |open| paper::file(&open.replay()?.made()?.drafted, &name, on)).await?;
    Ok(([(header::CONTENT_TYPE, kind)], bytes).into_response())
}

pub(super) async fn small_picture(State(bench): Held, Path(id): Path<usize>) -> Result<Response, Refusal> {
    let svg = work(move || {
        let dir = held(&bench.home).folder(id)?.to_owned();
        Ok(home::picture(&Folder::open(&dir)?))
    })
    .await?;
    Ok(([(header::CONTENT_TYPE, "image/svg+xml")], svg).into_response())
}

pub(super) async fn photo(State(bench): Held, Path(id): Path<usize>) -> Result<Response, Refusal> {
    let none = || Refusal::nothing_there("this pattern holds no picture of its photograph");
    let bytes = with_pattern(bench, id, move |open| {
        let folder = open.folder();
        folder.picture(TABLE).or_else(|| folder.picture("outline.jpg")).ok_or_else(none)
    })
    .await?;
    Ok(([(header::CONTENT_TYPE, "image/jpeg")], bytes).into_response())
}
