//! Room `export`.
