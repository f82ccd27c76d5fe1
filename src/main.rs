//! The `onfold` program: a thin door to [`onfold::cli`].

use std::process::ExitCode;

/// Hands memory back as it is freed (`.cargo/config.toml` says so), so that a page served for days holds no more than one just
/// begun.
#[cfg(target_os = "linux")]
#[global_allocator]
static ALLOCATOR: tikv_jemallocator::Jemalloc = tikv_jemallocator::Jemalloc;

fn main() -> ExitCode {
    onfold::cli::run()
}
