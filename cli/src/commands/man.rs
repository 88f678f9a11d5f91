//! `gutta man`: the manual page.

use clap::CommandFactory;
use clap_mangen::Man;

use super::Cli;
use crate::failure::{Failure, Outcome};
use crate::out::Out;
use crate::terminal;

/// Print the manual page (in roff, for `man -l -`)
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// The subcommand whose page to print
    #[arg(value_name = "COMMAND")]
    command: Option<String>,
}

impl Args {
    pub(crate) fn run(self) -> Result<Outcome, Failure> {
        let mut whole = Cli::command();
        whole.build();
        let command = match &self.command {
            None => whole,
            Some(name) => whole
                .find_subcommand(name)
                .cloned()
                .ok_or_else(|| Failure::new(format!("there is no command `{name}`")))?,
        };
        let mut page = Vec::new();
        Man::new(command)
            .render(&mut page)
            .map_err(|error| Failure::system("cannot write the manual page", &error))?;
        terminal::print(Out::own(page))?;
        Ok(Outcome::Clean)
    }
}
