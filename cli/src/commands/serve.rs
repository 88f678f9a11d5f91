//! `gutta serve`: the language server.

use crate::failure::{Failure, Outcome};

/// Run the language server over standard input and output
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Accepted for editors that always pass it; standard streams are the only
    /// way
    #[arg(long, hide = true)]
    stdio: bool,
}

impl Args {
    pub(crate) fn run(self) -> Result<Outcome, Failure> {
        let _ = self.stdio;
        gutta_server::serve()
            .map_err(|error| Failure::system("cannot run the language server", &error))?;
        Ok(Outcome::Clean)
    }
}
