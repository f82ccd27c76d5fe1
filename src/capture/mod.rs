//! Room `capture`.
