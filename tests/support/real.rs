//! Data that stands beside the repository and is not part of it.

use std::io::Write;
use std::path::{Path, PathBuf};

/// A folder of `../shared`; when it is absent that is said on the terminal, past the test runner's capture.
pub(crate) fn folder(name: &str) -> Option<PathBuf> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("../shared").join(name);
    if path.is_dir() {
        return Some(path);
    }
    let test = std::thread::current().name().unwrap_or("a test").to_owned();
    writeln!(std::io::stderr(), "not run: {test}: ../shared/{name} is absent").expect("standard error");
    None
}
