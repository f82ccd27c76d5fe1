//! The `onfold` program: a thin door to [`onfold::cli`].

use std::process::ExitCode;

fn main() -> ExitCode {
    onfold::cli::run()
}
