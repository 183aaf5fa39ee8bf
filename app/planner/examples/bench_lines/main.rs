//! Measures the planner. Every part prints its table and then lines that begin with `summary`.
//!
//! Published instances (only with `WTSDS=folder`, see [`published`]): which optima are reached within given times.
#![allow(clippy::print_stdout, clippy::print_stderr, reason = "a bench speaks through them")]

mod person;
mod published;

use std::process::ExitCode;

fn main() -> ExitCode {
    match published::run() {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(error) => {
            eprintln!("bench: {error}");
            ExitCode::from(2)
        }
    }
}

/// The words of a variable, separated by commas, or of `default`.
fn list<T: std::str::FromStr>(variable: &str, default: &str) -> Result<Vec<T>, String> {
    let text = std::env::var(variable).unwrap_or_else(|_| default.into());
    text.split(',')
        .filter(|word| !word.trim().is_empty())
        .map(|word| word.trim().parse().map_err(|_| format!("{variable}: \"{word}\" is no number")))
        .collect()
}
