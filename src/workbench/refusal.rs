//! A request that is not answered with what it asked for.

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
}

impl Refusal {
    /// The request was understood and cannot be done.
    pub(super) fn cannot(words: impl Display) -> Self {
        Self { status: StatusCode::UNPROCESSABLE_ENTITY, words: words.to_string(), step: None }
    }

    /// There is no such thing.
    pub(super) fn nothing_there(words: impl Display) -> Self {
        Self { status: StatusCode::NOT_FOUND, words: words.to_string(), step: None }
    }

    /// More than is taken.
    pub(super) fn too_much(words: impl Display) -> Self {
        Self { status: StatusCode::PAYLOAD_TOO_LARGE, words: words.to_string(), step: None }
    }

    /// Something else is being done; to be asked again.
    pub(super) fn busy(words: impl Display) -> Self {
        Self { status: StatusCode::CONFLICT, words: words.to_string(), step: None }
    }

    /// The same at a step, counted from 0.
    pub(super) fn at_step(mut self, step: usize) -> Self {
        self.step = Some(step);
        self
    }
}

impl IntoResponse for Refusal {
    fn into_response(self) -> Response {
        (self.status, Json(json!({ "problem": self.words, "step": self.step }))).into_response()
    }
}
