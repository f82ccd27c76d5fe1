//! Room `sheet`.
