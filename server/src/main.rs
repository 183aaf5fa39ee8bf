//! Start-up: everything is in the library, so that tests can reach it.

use std::process::ExitCode;

/// A page or a booking is thousands of small pieces of text and lists; the system's allocator spends a fifth of a booking on them.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> ExitCode {
    server::cli::run()
}
