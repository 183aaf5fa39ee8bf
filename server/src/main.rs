//! Start-up: everything is in the library, so that tests can reach it.

use std::process::ExitCode;

fn main() -> ExitCode {
    server::cli::run()
}
