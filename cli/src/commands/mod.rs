//! The command line: one file a subcommand.

mod check;
mod compare;
mod completions;
mod derive;
mod explain;
mod export;
mod fmt;
mod init;
mod man;
mod rules;
mod serve;
mod sheet;

use clap::{Parser, Subcommand};
use gutta_protocol::CAUTION;

use crate::failure::{Failure, Outcome};
use crate::terminal::Colour;

/// Write, calculate and check infusion orders in plain text.
///
/// Orders are in files that end in .gtt; a gutta.toml marks the root folder of
/// the workspace. Exit codes: 0 nothing wrong, 1 something found, 2 could not
/// run.
#[derive(Debug, Parser)]
#[command(name = "gutta", version, about, long_about, max_term_width = 80)]
#[command(propagate_version = true, arg_required_else_help = true)]
#[command(disable_help_subcommand = true, after_help = CAUTION)]
pub(crate) struct Cli {
    #[command(subcommand)]
    command: Command,

    /// When to colour the output
    #[arg(long, global = true, value_enum, value_name = "WHEN", default_value_t)]
    #[arg(hide_possible_values = true, help = "Colour: auto, always or never")]
    color: Colour,
}

#[derive(Debug, Subcommand)]
enum Command {
    #[command(after_help = CAUTION)]
    Check(check::Args),
    #[command(after_help = CAUTION)]
    Derive(derive::Args),
    #[command(after_help = CAUTION)]
    Compare(compare::Args),
    #[command(after_help = CAUTION)]
    Sheet(sheet::Args),
    #[command(after_help = CAUTION)]
    Export(export::Args),
    #[command(after_help = CAUTION)]
    Fmt(fmt::Args),
    #[command(after_help = CAUTION)]
    Explain(explain::Args),
    #[command(after_help = CAUTION)]
    Rules(rules::Args),
    #[command(after_help = CAUTION)]
    Init(init::Args),
    Serve(serve::Args),
    Completions(completions::Args),
    Man(man::Args),
}

impl Cli {
    /// Runs the subcommand.
    pub(crate) fn run(self) -> Result<Outcome, Failure> {
        let colour = self.color;
        match self.command {
            Command::Check(args) => args.run(colour),
            Command::Derive(args) => args.run(colour),
            Command::Compare(args) => args.run(colour),
            Command::Sheet(args) => args.run(),
            Command::Export(args) => args.run(),
            Command::Fmt(args) => args.run(),
            Command::Explain(args) => args.run(colour),
            Command::Rules(args) => args.run(colour),
            Command::Init(args) => args.run(),
            Command::Serve(args) => args.run(),
            Command::Completions(args) => args.run(),
            Command::Man(args) => args.run(),
        }
    }
}
