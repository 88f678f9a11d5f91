//! The one way out. What the command writes is an [`Out`], and an [`Out`] is
//! made here alone, a function a form: whatever others wrote (texts, comments,
//! the names of files) is harmless in it. Clippy forbids every other way to
//! standard output and standard error (`clippy.toml`).
//!
//! What cannot be seen is shown as `<U+202E>`; JSON has it as `\u202e`.

pub(crate) mod csv;
pub(crate) mod github;
mod net;

use gutta_views::html::Html;
use net::{Net, caught};
use serde::Serialize;

use crate::failure::Failure;

/// What may be written.
#[derive(Debug)]
pub(crate) struct Out {
    bytes: Vec<u8>,
    /// A file's own text, which is the file's for a program, and is made
    /// visible for a person at a terminal.
    exact: bool,
}

impl Out {
    fn of(text: &str, net: Net) -> Self {
        Self {
            bytes: caught(text, net).into_owned().into_bytes(),
            exact: false,
        }
    }

    /// For people; coloured with our own colours, if it is.
    pub(crate) fn text(text: impl AsRef<str>, coloured: bool) -> Self {
        let net = if coloured { Net::Coloured } else { Net::Text };
        Self::of(text.as_ref(), net)
    }

    /// In Markdown: what others wrote is made inert by
    /// [`gutta_checks::markdown`] where it is put in.
    pub(crate) fn markdown(text: &str) -> Self {
        Self::of(text, Net::Text)
    }

    /// A value as indented JSON, with a line end.
    pub(crate) fn json(value: &impl Serialize) -> Result<Self, Failure> {
        let mut text = serde_json::to_string_pretty(value).map_err(|error| wrong(&error))?;
        text.push('\n');
        Ok(Self::of(&text, Net::Json))
    }

    /// A value as JSON on one line: where there is much of it, since blanks are
    /// half of what is indented.
    pub(crate) fn json_line(value: &impl Serialize) -> Result<Self, Failure> {
        let mut text = serde_json::to_string(value).map_err(|error| wrong(&error))?;
        text.push('\n');
        Ok(Self::of(&text, Net::Json))
    }

    /// Each value as JSON on a line of its own, then the summary.
    pub(crate) fn jsonl<T: Serialize>(
        values: impl Iterator<Item = T>,
        summary: &impl Serialize,
    ) -> Result<Self, Failure> {
        let mut text = String::new();
        for value in values {
            text.push_str(&serde_json::to_string(&value).map_err(|error| wrong(&error))?);
            text.push('\n');
        }
        let summary = serde_json::json!({ "summary": summary });
        text.push_str(&summary.to_string());
        text.push('\n');
        Ok(Self::of(&text, Net::Json))
    }

    /// XML, whose writer has escaped it.
    pub(crate) fn xml(bytes: Vec<u8>) -> Self {
        Self::of(&String::from_utf8_lossy(&bytes), Net::Markup)
    }

    /// A page of HTML, escaped where it was made.
    pub(crate) fn html(page: Html) -> Self {
        Self::of(&page.into_string(), Net::Markup)
    }

    /// A table whose cells are of [`csv::Cell`].
    pub(crate) fn csv(table: csv::Table) -> Result<Self, Failure> {
        Ok(Self::of(&table.finish()?, Net::Text))
    }

    /// Workflow commands of GitHub.
    pub(crate) fn commands(commands: &[github::Command]) -> Self {
        let lines = commands.iter().map(github::Command::line);
        Self::of(&lines.collect::<String>(), Net::Commands)
    }

    /// The text of a file, for whatever asked for it on standard input.
    pub(crate) fn file(text: String) -> Self {
        Self {
            bytes: text.into_bytes(),
            exact: true,
        }
    }

    /// What this program has of itself: a manual page, a shell's script.
    pub(crate) fn own(bytes: Vec<u8>) -> Self {
        Self {
            bytes,
            exact: false,
        }
    }

    /// The bytes, as a file or a pipe gets them.
    pub(crate) fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// The bytes, as a person at a terminal gets them.
    pub(crate) fn for_a_person(self) -> Self {
        if !self.exact {
            return self;
        }
        Self::of(&String::from_utf8_lossy(&self.bytes), Net::Text)
    }
}

/// One line for standard error, with its line end.
pub(crate) fn line(text: &str) -> Out {
    let line = gutta_notation::visible_line(text);
    Out::of(&format!("{line}\n"), Net::Text)
}

fn wrong(error: &serde_json::Error) -> Failure {
    Failure::new(format!("cannot write JSON: {error}"))
}
