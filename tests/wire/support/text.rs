//! A text as an editor counts it, made without the server's own code.

use serde_json::{Value, json};

use super::Client;

/// A text, and what its columns count.
#[derive(Clone, Debug)]
pub(crate) struct Text {
    text: String,
    encoding: &'static str,
}

impl Text {
    pub(crate) fn new(text: &str, encoding: &'static str) -> Self {
        Self {
            text: text.to_owned(),
            encoding,
        }
    }

    pub(crate) fn as_str(&self) -> &str {
        &self.text
    }

    pub(crate) fn replace(&mut self, bytes: std::ops::Range<usize>, with: &str) {
        self.text.replace_range(bytes, with);
    }

    /// Its lines, without their ends: LF, CRLF and CR end one.
    pub(crate) fn lines(&self) -> Vec<&str> {
        let mut lines = Vec::new();
        let mut rest = self.text.as_str();
        while let Some(end) = rest.find(['\n', '\r']) {
            lines.push(&rest[..end]);
            let len = if rest[end..].starts_with("\r\n") {
                2
            } else {
                1
            };
            rest = &rest[end + len..];
        }
        lines.push(rest);
        lines
    }

    pub(crate) fn width(&self, text: &str) -> usize {
        match self.encoding {
            "utf-8" => text.len(),
            "utf-16" => text.encode_utf16().count(),
            _ => text.chars().count(),
        }
    }

    /// Where the byte stands.
    pub(crate) fn position(&self, at: usize) -> Value {
        let before = Self::new(&self.text[..at], self.encoding);
        let lines = before.lines();
        // Between a CR and its LF there is no place: it is the line's end.
        let line = lines.len() - 1;
        let column = before.width(lines[line]);
        json!({ "line": line, "character": column })
    }

    /// The byte at a position that the server sent.
    pub(crate) fn byte(&self, position: &Value) -> usize {
        let mut borders = self.text.char_indices().map(|(at, _)| at);
        let end = std::iter::once(self.text.len());
        borders
            .by_ref()
            .chain(end)
            .find(|at| self.position(*at) == *position)
            .unwrap_or_else(|| panic!("{position} is nowhere"))
    }

    /// Whether the position lies inside, and at a character's border.
    pub(crate) fn holds(&self, line: usize, column: usize) -> bool {
        let lines = self.lines();
        let Some(line) = lines.get(line) else {
            return false;
        };
        let mut ends = line.char_indices().map(|(at, found)| at + found.len_utf8());
        column == 0 || ends.any(|end| self.width(&line[..end]) == column)
    }
}

/// Checks every position in a message against the text that it speaks of.
pub(crate) fn check_positions(client: &Client, url: &str, value: &Value) {
    match value {
        Value::Array(items) => {
            for item in items {
                check_positions(client, url, item);
            }
        }
        Value::Object(fields) => {
            if let (Some(line), Some(column)) = (fields.get("line"), fields.get("character")) {
                let (line, column) = (line.as_u64().unwrap(), column.as_u64().unwrap());
                if let Some(text) = client.text_of(url) {
                    let inside = text.holds(line as usize, column as usize);
                    assert!(inside, "{line}:{column} is not in {url}");
                }
                return;
            }
            let named = |key: &str| fields.get(key).and_then(Value::as_str);
            let document = fields.get("textDocument").and_then(|of| of["uri"].as_str());
            let own = named("uri").or(document).unwrap_or(url);
            for (key, value) in fields {
                let target = key.starts_with("target");
                let of = if target {
                    named("targetUri").unwrap_or(own)
                } else {
                    own
                };
                if key == "changes" {
                    for (url, edits) in value.as_object().into_iter().flatten() {
                        check_positions(client, url, edits);
                    }
                } else {
                    check_positions(client, of, value);
                }
            }
        }
        _ => {}
    }
}
