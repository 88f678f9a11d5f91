//! Workflow commands of GitHub Actions, as in
//! <https://docs.github.com/en/actions/reference/workflows-and-actions/workflow-commands>.

use std::fmt::Write;

use gutta_notation::visible;

/// One command.
#[derive(Debug)]
pub(crate) struct Command(String);

impl Command {
    /// A command with its properties and its message: a line, whatever stands
    /// in them.
    pub(crate) fn new(name: &str, properties: &[(&str, String)], message: &str) -> Self {
        let mut line = format!("::{name} ");
        for (index, (key, value)) in properties.iter().enumerate() {
            let comma = if index > 0 { "," } else { "" };
            let _ = write!(line, "{comma}{key}={}", property(value));
        }
        let _ = writeln!(line, "::{}", data(message));
        Self(line)
    }

    pub(super) fn line(&self) -> &str {
        &self.0
    }
}

/// A message, escaped: a line end would end the command.
fn data(text: &str) -> String {
    visible(text)
        .replace('%', "%25")
        .replace('\r', "%0D")
        .replace('\n', "%0A")
}

/// A property's value, escaped.
fn property(text: &str) -> String {
    data(text).replace(':', "%3A").replace(',', "%2C")
}
