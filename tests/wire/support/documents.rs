//! What the client has open, and where in it something stands.

use serde_json::{Value, json};

use super::text::Texts;
use super::{Client, Text};

impl Client {
    /// Opens a file with the text that is on the disk.
    pub(crate) fn open(&mut self, path: &str) {
        let text = std::fs::read_to_string(self.folder.join(path)).unwrap();
        self.open_with(path, &text);
    }

    /// Opens a file with this text.
    pub(crate) fn open_with(&mut self, path: &str, text: &str) {
        let url = self.url(path);
        self.open
            .insert(path.to_owned(), (Text::new(text, self.encoding), 1));
        self.notify(
            "textDocument/didOpen",
            json!({ "textDocument": {
                "uri": url, "languageId": "gutta", "version": 1, "text": text,
            } }),
        );
    }

    /// Replaces bytes of an open file.
    pub(crate) fn edit(&mut self, path: &str, bytes: std::ops::Range<usize>, with: &str) {
        let url = self.url(path);
        let (text, version) = self.open.get_mut(path).unwrap();
        *version += 1;
        let range = json!({
            "start": text.position(bytes.start), "end": text.position(bytes.end),
        });
        text.replace(bytes, with);
        let version = *version;
        self.notify(
            "textDocument/didChange",
            json!({
                "textDocument": { "uri": url, "version": version },
                "contentChanges": [{ "range": range, "text": with }],
            }),
        );
    }

    /// Replaces the first `old` of an open file by `new`.
    pub(crate) fn replace(&mut self, path: &str, old: &str, new: &str) {
        let at = self.text(path).find(old).unwrap();
        self.edit(path, at..at + old.len(), new);
    }

    pub(crate) fn close(&mut self, path: &str) {
        self.open.remove(path);
        let url = self.url(path);
        self.notify(
            "textDocument/didClose",
            json!({ "textDocument": { "uri": url } }),
        );
    }

    /// Changes the settings, as a client that is asked for them does.
    pub(crate) fn set(&mut self, settings: Value) {
        self.settings = settings;
        self.notify(
            "workspace/didChangeConfiguration",
            json!({ "settings": null }),
        );
    }

    /// The open file's text.
    pub(crate) fn text(&self, path: &str) -> &str {
        self.open[path].0.as_str()
    }

    /// The position of the `|` in `marked`, whose other characters stand in
    /// the open file (the first such place).
    pub(crate) fn position(&self, path: &str, marked: &str) -> Value {
        let (before, after) = marked.split_once('|').expect("a mark");
        let text = &self.open[path].0;
        let wanted = format!("{before}{after}");
        let at = text.as_str().find(&wanted);
        let at = at.unwrap_or_else(|| panic!("{wanted:?} is not in {path}"));
        text.position(at + before.len())
    }

    /// The parameters of a request at a place of an open file.
    pub(crate) fn place(&self, path: &str, marked: &str) -> Value {
        json!({
            "textDocument": { "uri": self.url(path) },
            "position": self.position(path, marked),
        })
    }

    /// Checks that every position in the answer lies inside its text.
    pub(crate) fn check(&self, path: &str, answer: &Value) {
        Texts::of(self).check(&self.url(path), answer);
    }

    /// The text of a URL: what is open, else what is on the disk.
    pub(crate) fn text_of(&self, url: &str) -> Option<Text> {
        let path = url.strip_prefix(&format!("{}/", self.folder_url()))?;
        if let Some((text, _)) = self.open.get(path) {
            return Some(text.clone());
        }
        let held = std::fs::read_to_string(self.folder.join(path)).ok()?;
        Some(Text::new(&held, self.encoding))
    }
}
