//! Room `pattern`.
