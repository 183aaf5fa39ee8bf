//! Plan an instance from the command line, or judge a plan.
//!
//! `plan FILE --seconds S --iterations K --seed N --threads T` writes the plan to stdout;
//! With `--cpu` the seconds are those the processor spent on it (one thread), which is fair on a shared machine;
//! `plan FILE --verify PLAN` lists what is wrong with a plan, one complaint a line, and exits 1 if there is any.
//! Exit 2 is a bad instance, one complaint a line on stderr.
#![allow(clippy::print_stdout, clippy::print_stderr, reason = "a command line speaks through them")]

use std::process::ExitCode;
use std::sync::atomic::AtomicBool;
use std::time::Instant;

use planner::{Budget, Complaint, Plan, Watch};

fn main() -> ExitCode {
    let began = Instant::now();
    match run(&move || began.elapsed().as_secs_f64()) {
        Ok(code) => code,
        Err(error) => {
            eprintln!("{error}");
            ExitCode::from(1)
        }
    }
}

fn run(elapsed_s: &(dyn Fn() -> f64 + Sync)) -> Result<ExitCode, Box<dyn std::error::Error>> {
    let mut file = None;
    let mut judge = None;
    let mut cpu = false;
    let mut budget = Budget::default();
    let mut arguments = std::env::args().skip(1);
    while let Some(argument) = arguments.next() {
        let mut value = || arguments.next().ok_or(format!("{argument} needs a value"));
        match argument.as_str() {
            "--seconds" => budget.seconds = Some(value()?.parse()?),
            "--iterations" => budget.iterations = Some(value()?.parse()?),
            "--seed" => budget.seed = value()?.parse()?,
            "--threads" => budget.threads = value()?.parse()?,
            "--cpu" => cpu = true,
            "--verify" => judge = Some(value()?),
            _ => file = Some(argument),
        }
    }
    let text = match file {
        Some(path) => std::fs::read_to_string(path)?,
        None => std::io::read_to_string(std::io::stdin())?,
    };
    let instance = match planner::parse(&text) {
        Ok(instance) => instance,
        Err(complaints) => return refuse(&complaints),
    };
    if let Some(path) = judge {
        let plan: Plan = serde_json::from_str(&std::fs::read_to_string(path)?)?;
        let complaints = planner::verify(&instance, &plan);
        for complaint in &complaints {
            println!("{complaint}");
        }
        return Ok(ExitCode::from(u8::from(!complaints.is_empty())));
    }
    let stop = AtomicBool::new(false);
    match planner::plan(
        &instance,
        budget,
        &Watch { elapsed_s: if cpu { &processor_s } else { elapsed_s }, stop: &stop },
    ) {
        Ok(plan) => println!("{}", serde_json::to_string(&plan)?),
        Err(complaints) => return refuse(&complaints),
    }
    Ok(ExitCode::SUCCESS)
}

fn refuse(complaints: &[Complaint]) -> Result<ExitCode, Box<dyn std::error::Error>> {
    for complaint in complaints {
        eprintln!("{}", serde_json::to_string(complaint)?);
    }
    Ok(ExitCode::from(2))
}

/// Seconds the processor has spent on this program so far.
fn processor_s() -> f64 {
    let spent = rustix::time::clock_gettime(rustix::time::ClockId::ProcessCPUTime);
    spent.tv_sec as f64 + spent.tv_nsec as f64 / 1e9
}
