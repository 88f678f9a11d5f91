//! A text as an editor counts it, made without the server's own code.

use std::collections::BTreeMap;
use std::ops::Range;

use memchr::memchr2_iter;
use serde_json::{Value, json};

use super::Client;

/// A text, and what its columns count.
#[derive(Clone, Debug)]
pub(crate) struct Text {
    text: String,
    encoding: &'static str,
    /// The bytes of each line, without its end: LF, CRLF and CR end one.
    lines: Vec<Range<usize>>,
}

impl Text {
    pub(crate) fn new(text: &str, encoding: &'static str) -> Self {
        Self {
            lines: lines(text),
            text: text.to_owned(),
            encoding,
        }
    }

    pub(crate) fn as_str(&self) -> &str {
        &self.text
    }

    pub(crate) fn replace(&mut self, bytes: Range<usize>, with: &str) {
        self.text.replace_range(bytes, with);
        self.lines = lines(&self.text);
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
        let line = self.lines.partition_point(|line| line.start <= at) - 1;
        let Range { start, end } = self.lines[line];
        // Between a CR and its LF there is no place: it is the line's end.
        let column = self.width(&self.text[start..at.min(end)]);
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
        let Some(line) = self.lines.get(line) else {
            return false;
        };
        let line = &self.text[line.clone()];
        let mut ends = line.char_indices().map(|(at, found)| at + found.len_utf8());
        column == 0 || ends.any(|end| self.width(&line[..end]) == column)
    }
}

fn lines(text: &str) -> Vec<Range<usize>> {
    let bytes = text.as_bytes();
    let mut lines = Vec::new();
    let mut start = 0;
    for end in memchr2_iter(b'\n', b'\r', bytes) {
        // The LF of a CRLF.
        if end < start {
            continue;
        }
        lines.push(start..end);
        let crlf = bytes[end..].starts_with(b"\r\n");
        start = end + if crlf { 2 } else { 1 };
    }
    lines.push(start..text.len());
    lines
}

/// The texts that a message speaks of.
pub(crate) struct Texts<'a> {
    client: &'a Client,
    read: BTreeMap<String, Option<Text>>,
}

impl<'a> Texts<'a> {
    pub(crate) const fn of(client: &'a Client) -> Self {
        Self {
            client,
            read: BTreeMap::new(),
        }
    }

    /// The text of a URL: what is open, else what is on the disk.
    fn get(&mut self, url: &str) -> Option<&Text> {
        if !self.read.contains_key(url) {
            self.read.insert(url.to_owned(), self.client.text_of(url));
        }
        self.read[url].as_ref()
    }

    /// Checks every position in a message against the text that it speaks of.
    pub(crate) fn check(&mut self, url: &str, value: &Value) {
        match value {
            Value::Array(items) => {
                for item in items {
                    self.check(url, item);
                }
            }
            Value::Object(fields) => {
                if let (Some(line), Some(column)) = (fields.get("line"), fields.get("character")) {
                    let (line, column) = (line.as_u64().unwrap(), column.as_u64().unwrap());
                    if let Some(text) = self.get(url) {
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
                            self.check(url, edits);
                        }
                    } else {
                        self.check(of, value);
                    }
                }
            }
            _ => {}
        }
    }
}
