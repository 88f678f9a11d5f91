//! What a run comes to: the three exit codes, and the line or lines that say
//! why a run could not be.

use std::fmt::Display;
use std::process::ExitCode;

use clap::error::ErrorKind;
use gutta_protocol::nearest;

use crate::terminal;

/// A run that could be.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Outcome {
    /// Nothing of the severity asked about: exit code 0.
    Clean,
    /// There is something: exit code 1.
    Found,
}

impl Outcome {
    /// [`Outcome::Found`] if `found`.
    pub(crate) fn found(found: bool) -> Self {
        if found { Self::Found } else { Self::Clean }
    }
}

/// A run that could not be: exit code 2, and why, a line for each reason.
#[derive(Debug)]
pub(crate) struct Failure(Vec<String>);

impl Failure {
    /// Why, without a full stop.
    pub(crate) fn new(why: impl Into<String>) -> Self {
        Self(vec![why.into()])
    }

    /// Several reasons, each without a full stop.
    pub(crate) const fn several(why: Vec<String>) -> Self {
        Self(why)
    }

    /// Both.
    pub(crate) fn and(mut self, other: Self) -> Self {
        self.0.extend(other.0);
        self
    }

    /// What could not be done, and what the system says.
    pub(crate) fn system(what: impl Display, error: &std::io::Error) -> Self {
        let why = gutta_server::disk::plainly(error);
        Self::new(format!("{what}: {why}"))
    }

    /// A name that nothing of this kind has, with the nearest that are there.
    pub(crate) fn unknown<'n>(
        kind: &str,
        name: &str,
        there: impl IntoIterator<Item = &'n str>,
    ) -> Self {
        let near = nearest(name, there);
        let meant = match near.as_slice() {
            [] => String::new(),
            near => format!("; did you mean {}?", near.join(" or ")),
        };
        Self::new(format!("there is no {kind} `{name}` here{meant}"))
    }

    /// Says why on standard error.
    pub(crate) fn report(&self) -> ExitCode {
        for why in &self.0 {
            terminal::tell(&format!("gutta: {}", one_line(why)));
        }
        ExitCode::from(2)
    }
}

/// The text with every run of blanks and line ends made one blank.
fn one_line(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Help and version go to standard output; a wrong argument is said in one
/// line.
pub(crate) fn of_arguments(error: &clap::Error) -> ExitCode {
    match error.kind() {
        ErrorKind::DisplayHelp | ErrorKind::DisplayVersion => {
            let _ = error.print();
            ExitCode::SUCCESS
        }
        ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand => {
            let _ = error.print();
            ExitCode::from(2)
        }
        _ => {
            let text = error.render().to_string();
            let said = text.split("\n\nUsage:").next().unwrap_or(&text);
            let said = said
                .split("\n\nFor more information")
                .next()
                .unwrap_or(said);
            let said = said
                .trim_start_matches("error: ")
                .replace("\n\n  tip:", ";");
            Failure::new(format!("{}; see gutta --help", one_line(&said))).report()
        }
    }
}
