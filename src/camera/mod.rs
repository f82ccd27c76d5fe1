//! Room `camera`.
