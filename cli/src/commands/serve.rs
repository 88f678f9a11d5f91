//! `gutta serve`: the language server.

use gutta_server::Ended;

use crate::failure::{Failure, Outcome};
use crate::terminal;

/// Run the language server over standard input and output
#[derive(Debug, clap::Args)]
pub(crate) struct Args {
    /// Accepted for editors that always pass it; only standard streams are
    /// used
    #[arg(long, hide = true)]
    stdio: bool,
}

impl Args {
    pub(crate) fn run(self) -> Result<Outcome, Failure> {
        let _ = self.stdio;
        let ended = gutta_server::serve()
            .map_err(|error| Failure::system("cannot run the language server", &error))?;
        Ok(match ended {
            Ended::Closed => Outcome::Clean,
            Ended::Broken(why) => {
                // Who has gone reads this neither.
                terminal::tell(&format!("gutta: the session ended: {why}"));
                Outcome::Found
            }
        })
    }
}
