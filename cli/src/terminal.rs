//! Standard output: its width, its colours, and what happens when it closes.
#![expect(
    clippy::disallowed_methods,
    reason = "the one place that writes to it, and takes nothing but an `Out`"
)]

use std::io::{IsTerminal, Write};
use std::process::ExitCode;

use clap::ValueEnum;
use clap::error::ErrorKind;

use crate::failure::{Failure, one_line};
use crate::out::{self, Out};

/// When to colour.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, ValueEnum)]
pub(crate) enum Colour {
    /// On a terminal, unless NO_COLOR is set
    #[default]
    Auto,
    /// Always
    Always,
    /// Never
    Never,
}

impl Colour {
    /// Whether standard output is to be coloured.
    pub(crate) fn on(self) -> bool {
        match self {
            Self::Always => true,
            Self::Never => false,
            Self::Auto => {
                let refused = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
                let dumb = std::env::var_os("TERM").is_some_and(|term| term == "dumb");
                !refused && !dumb && std::io::stdout().is_terminal()
            }
        }
    }
}

/// The columns to fill: the terminal's, up to 100, or 80 where there is none.
pub(crate) fn width() -> usize {
    if !std::io::stdout().is_terminal() {
        return 80;
    }
    terminal_size::terminal_size().map_or(80, |(width, _)| usize::from(width.0).clamp(40, 100))
}

/// Writes all of it to standard output. A reader that closed the pipe has
/// read enough: that is no failure.
pub(crate) fn print(out: Out) -> Result<(), Failure> {
    let person = std::io::stdout().is_terminal();
    let out = if person { out.for_a_person() } else { out };
    let mut to = std::io::stdout().lock();
    let done = to.write_all(out.bytes()).and_then(|()| to.flush());
    match done {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(Failure::system("cannot write to standard output", &error))
        }
        _ => Ok(()),
    }
}

/// Writes a line to standard error, for what is not the output itself.
pub(crate) fn tell(line: &str) {
    // A closed standard error leaves nobody to tell.
    let _ = std::io::stderr().write_all(out::line(line).bytes());
}

/// Says on standard error why a run could not be.
pub(crate) fn fail(failure: &Failure) -> ExitCode {
    failure.lines().for_each(|why| tell(&why));
    ExitCode::from(2)
}

/// Whether a person sees standard error.
pub(crate) fn is_watched() -> bool {
    std::io::stderr().is_terminal()
}

/// Clears the screen, where standard output is one.
pub(crate) fn clear() {
    let term = console::Term::stdout();
    if term.is_term() {
        let _ = term.clear_screen();
    }
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
            fail(&Failure::new(format!(
                "{}; see gutta --help",
                one_line(&said)
            )))
        }
    }
}
