//! Room `photo`.
