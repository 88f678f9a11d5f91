//! Standard output: its width, its colours, and what happens when it closes.

use std::io::{IsTerminal, Write};

use clap::ValueEnum;

use crate::failure::Failure;
use crate::prose::one_line;

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
pub(crate) fn print(bytes: impl AsRef<[u8]>) -> Result<(), Failure> {
    let mut out = std::io::stdout().lock();
    let done = out.write_all(bytes.as_ref()).and_then(|()| out.flush());
    match done {
        Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(Failure::system("cannot write to standard output", &error))
        }
        _ => Ok(()),
    }
}

/// Writes a line to standard error, for what is not the output itself.
pub(crate) fn tell(line: &str) {
    let _ = writeln!(std::io::stderr(), "{}", one_line(line));
}

/// Clears the screen, where standard output is one.
pub(crate) fn clear() {
    let term = console::Term::stdout();
    if term.is_term() {
        let _ = term.clear_screen();
    }
}

/// Writes a value as indented JSON.
pub(crate) fn print_json(value: &impl serde::Serialize) -> Result<(), Failure> {
    print(json(value)?)
}

/// A value as indented JSON, with a line end.
pub(crate) fn json(value: &impl serde::Serialize) -> Result<String, Failure> {
    let mut text = serde_json::to_string_pretty(value)
        .map_err(|error| Failure::new(format!("cannot write JSON: {error}")))?;
    text.push('\n');
    Ok(text)
}

/// Writes each value as JSON on a line of its own, then the summary.
pub(crate) fn print_jsonl<T: serde::Serialize>(
    values: impl Iterator<Item = T>,
    summary: &impl serde::Serialize,
) -> Result<(), Failure> {
    let mut text = String::new();
    let wrong = |error| Failure::new(format!("cannot write JSON: {error}"));
    for value in values {
        text.push_str(&serde_json::to_string(&value).map_err(wrong)?);
        text.push('\n');
    }
    let summary = serde_json::json!({ "summary": summary });
    text.push_str(&summary.to_string());
    text.push('\n');
    print(text)
}
