//! `gutta completions`: completion for a shell.

use clap::CommandFactory;
use clap_complete::Shell;

use super::Cli;
use crate::failure::{Failure, Outcome};
use crate::out::Out;
use crate::terminal;

/// Print a shell's completion script
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The shell
    #[arg(value_enum)]
    shell: Shell,
}

impl Args {
    pub(crate) fn run(self) -> Result<Outcome, Failure> {
        let mut script = Vec::new();
        clap_complete::generate(self.shell, &mut Cli::command(), "gutta", &mut script);
        terminal::print(Out::own(script))?;
        Ok(Outcome::Clean)
    }
}
