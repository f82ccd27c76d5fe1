//! Room `outline`.
