//! The command line: one file per command.
//!
//! Exit codes: 0 done; 2 bad input, with a JSON object per bad record on stderr; 1 anything else.

#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "the command line is the one place that prints"
)]

use std::process::ExitCode;

use clap::error::ErrorKind;
use clap::{Parser, Subcommand};

mod serve;

mod estimate;
mod plan;

mod backup;
mod certificate;
mod doctor;
mod migrate;
mod move_to;
mod person;
mod seed_demo;

mod open;

/// Whetledger: the desk, the bench plan and the record of a workshop that sharpens what it made.
#[derive(Debug, Parser)]
#[command(name = "whetledger", version, about, args_conflicts_with_subcommands = true)]
struct Line {
    #[command(subcommand)]
    command: Option<Command>,
    #[command(flatten)]
    serve: serve::Args,
}

#[derive(Debug, Subcommand)]
enum Command {
    /// Serve the shop's pages (this is what happens without a command)
    Serve(serve::Args),
    /// Say what grinding takes: one JSON request per line in, one JSON answer per line out
    Estimate(estimate::Args),
    /// Plan a bench: one JSON instance in, one plan out
    Plan(plan::Args),
    /// Bring the database up to this program
    Migrate,
    /// Copy the whole shop into the empty database that `WHETLEDGER_MOVE_TO` names, and prove that it arrived
    Move,
    /// Fill an empty database with a demo shop
    SeedDemo,
    /// Write the whole shop into one file; it may be open meanwhile
    Backup(backup::Args),
    /// Put a backup in place of what is there, which is set aside
    Restore(backup::Args),
    /// The people who work in the shop
    #[command(subcommand)]
    Person(person::Command),
    /// Make a certificate for the shop's own network, by an authority of its own
    Certificate(certificate::Args),
    /// Look over settings, database, folders and post, and say what is wrong
    Doctor,
}

/// What a command came to.
enum Done {
    /// It did what it was asked.
    Well,
    /// Some of the input was bad and has been named.
    BadInput,
}

/// One bad record, as it is written to stderr.
#[derive(Debug, serde::Serialize)]
struct BadRecord<'a> {
    error: &'a str,
    at: &'a str,
    line: usize,
}

impl BadRecord<'_> {
    fn write(&self, to: &mut impl std::io::Write) -> std::io::Result<()> {
        serde_json::to_writer(&mut *to, self)?;
        to.write_all(b"\n")
    }
}

/// Reads the command line, does it, and says how it went.
pub fn run() -> ExitCode {
    let line = match Line::try_parse() {
        Ok(line) => line,
        Err(error) => {
            let _ = error.print();
            let asked = matches!(error.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion);
            return ExitCode::from(u8::from(!asked));
        }
    };
    match dispatch(line.command.unwrap_or(Command::Serve(line.serve))) {
        Ok(Done::Well) => ExitCode::SUCCESS,
        Ok(Done::BadInput) => ExitCode::from(2),
        Err(error) => {
            eprintln!("whetledger: {error:#}");
            ExitCode::FAILURE
        }
    }
}

fn dispatch(command: Command) -> anyhow::Result<Done> {
    match command {
        Command::Serve(args) => open::runtime()?.block_on(serve::run(args))?,
        Command::Estimate(args) => return estimate::run(&args),
        Command::Plan(args) => return plan::run(&args),
        Command::Migrate => open::runtime()?.block_on(migrate::run())?,
        Command::Move => open::runtime()?.block_on(move_to::run())?,
        Command::SeedDemo => open::runtime()?.block_on(seed_demo::run())?,
        Command::Backup(args) => open::runtime()?.block_on(backup::back_up(args))?,
        Command::Restore(args) => open::runtime()?.block_on(backup::restore(args))?,
        Command::Person(command) => open::runtime()?.block_on(person::run(command))?,
        Command::Certificate(args) => certificate::run(args)?,
        Command::Doctor => return open::runtime()?.block_on(doctor::run()),
    }
    Ok(Done::Well)
}
