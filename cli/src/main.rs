//! `gutta`: write, derive and check infusion orders in plain text.

mod baseline;
mod commands;
mod compared;
mod correct;
mod day;
mod derived;
mod export;
mod failure;
mod files;
mod git;
mod holder;
mod out;
mod progress;
mod prose;
mod report;
mod since;
mod site;
mod terminal;
mod unified;
mod watch;

use std::process::ExitCode;

use clap::Parser;
use commands::Cli;
use failure::Outcome;
use mimalloc::MiMalloc;

/// Reading and judging allocate many small values on every core.
#[global_allocator]
static ALLOCATOR: MiMalloc = MiMalloc;

fn main() -> ExitCode {
    // What a fault of our own says may hold what others wrote.
    std::panic::set_hook(Box::new(|fault| {
        terminal::tell(&format!("gutta: a fault in gutta itself: {fault}"));
    }));
    files::heed_limits();
    let cli = match Cli::try_parse() {
        Ok(cli) => cli,
        Err(error) => return terminal::of_arguments(&error),
    };
    match cli.run() {
        Ok(Outcome::Clean) => ExitCode::SUCCESS,
        Ok(Outcome::Found) => ExitCode::from(1),
        Err(failure) => terminal::fail(&failure),
    }
}
