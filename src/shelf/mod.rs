//! Room `shelf`.
