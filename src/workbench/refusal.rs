//! A request that is not answered with what it asked for.

use crate::geometry::Point;
use axum::Json;
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use serde_json::json;
use std::fmt::Display;

/// What went wrong, in words, and which step did.
#[derive(Debug)]
pub(super) struct Refusal {
    status: StatusCode,
    words: String,
    step: Option<usize>,
    at: Option<Point>,
}

impl Refusal {
    /// The request was understood and cannot be done.
    pub(super) fn cannot(words: impl Display) -> Self {
        Self { status: StatusCode::UNPROCESSABLE_ENTITY, words: words.to_string(), step: None, at: None }
    }

    /// There is no such thing.
    pub(super) fn nothing_there(words: impl Display) -> Self {
        Self { status: StatusCode::NOT_FOUND, words: words.to_string(), step: None, at: None }
    }

    /// More than is taken.
    pub(super) fn too_much(words: impl Display) -> Self {
        Self { status: StatusCode::PAYLOAD_TOO_LARGE, words: words.to_string(), step: None, at: None }
    }

    /// Something else is being done; to be asked again.
    pub(super) fn busy(words: impl Display) -> Self {
        Self { status: StatusCode::CONFLICT, words: words.to_string(), step: None, at: None }
    }

    /// The same at a step, counted from 0.
    pub(super) fn at_step(mut self, step: usize) -> Self {
        self.step = Some(step);
        self
    }

    /// The same at a place of the traced line, millimetres.
    pub(super) fn at_place(mut self, at: Option<Point>) -> Self {
        self.at = at;
        self
    }
}

impl IntoResponse for Refusal {
    fn into_response(self) -> Response {
        let at = self.at.map(|at| [at.x, at.y]);
        (self.status, Json(json!({ "problem": self.words, "step": self.step, "at": at }))).into_response()
    }
}
