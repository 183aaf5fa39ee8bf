//! `whetledger plan`: one instance in, one plan out.

use std::io::{Read as _, Write as _};
use std::path::PathBuf;
use std::sync::atomic::AtomicBool;

use anyhow::Context as _;

use super::{BadRecord, Done};
use crate::clock::Stopwatch;

#[derive(Debug, clap::Args)]
pub(super) struct Args {
    /// The instance; standard input when left out
    file: Option<PathBuf>,
    /// Stop after this many seconds; 5 when no limit is given
    #[arg(long, value_parser = seconds)]
    seconds: Option<f64>,
    /// Stop after this many steps of the search
    #[arg(long)]
    iterations: Option<u64>,
    /// Where the dice begin: equal seed, iterations and threads give equal plans
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Threads to use
    #[arg(long, default_value_t = 1, value_parser = clap::value_parser!(u16).range(1..=256))]
    threads: u16,
}

fn seconds(text: &str) -> Result<f64, String> {
    let seconds: f64 = text.parse().map_err(|_| "not a number".to_owned())?;
    if seconds.is_finite() && seconds >= 0.0 { Ok(seconds) } else { Err("not a span of time".to_owned()) }
}

pub(super) fn run(args: &Args) -> anyhow::Result<Done> {
    let watch = Stopwatch::start();
    let bytes = match &args.file {
        Some(file) => std::fs::read(file).with_context(|| format!("cannot read {}", file.display()))?,
        None => {
            let mut bytes = Vec::new();
            std::io::stdin().read_to_end(&mut bytes).context("cannot read standard input")?;
            bytes
        }
    };
    let text = std::str::from_utf8(&bytes).map_err(|error| {
        let line = bytes[..error.valid_up_to()].split(|byte| *byte == b'\n').count();
        BadRecord { error: "this is not UTF-8", at: "", line }
    });
    if let Err(bad) = &text {
        bad.write(&mut std::io::stderr().lock())?;
    }
    let Ok(text) = text else { return Ok(Done::BadInput) };
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let planned = planner::parse(text).and_then(|instance| {
        let budget = planner::Budget {
            seconds: args.seconds,
            iterations: args.iterations,
            threads: usize::from(args.threads),
            seed: args.seed,
        };
        let elapsed_s = || watch.elapsed().as_secs_f64();
        let watch = planner::Watch { elapsed_s: &elapsed_s, stop: &AtomicBool::new(false) };
        planner::plan(&instance, budget, &watch).map(|plan| (instance, plan))
    });
    let (instance, plan) = match planned {
        Ok(planned) => planned,
        Err(complaints) => {
            let mut stderr = std::io::stderr().lock();
            for complaint in &complaints {
                let line = complaint.line.unwrap_or(1);
                BadRecord { error: &complaint.error, at: &complaint.at, line }.write(&mut stderr)?;
            }
            return Ok(Done::BadInput);
        }
    };
    // The judge shares no code with the search: a plan it objects to is our mistake and must not leave the house.
    if let Some(complaint) = planner::verify(&instance, &plan).first() {
        anyhow::bail!("the plan breaks a promise, which is a mistake of this program: {complaint}");
    }
    let mut stdout = std::io::stdout().lock();
    serde_json::to_writer(&mut stdout, &plan)?;
    stdout.write_all(b"\n")?;
    Ok(Done::Well)
}
