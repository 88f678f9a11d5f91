//! How a session begins.

use serde_json::{Value, json};

use super::Client;

/// How a session begins.
pub(crate) struct Setup {
    pub(super) files: Vec<(String, String)>,
    pub(crate) encoding: &'static str,
    pub(crate) pulls: bool,
    pub(crate) options: Value,
    /// Whether the client answers what the server asks.
    pub(crate) answers: bool,
    /// Whether the user has a folder for what can be made again.
    pub(super) home: bool,
    /// The process with which the server is to end.
    pub(super) process: u32,
    /// Whether the client watches files for the server.
    pub(crate) watches: bool,
    /// The folders that the client has open, from its own temporary one.
    pub(super) folders: Vec<&'static str>,
    /// What the client cannot do: a section of its capabilities, and a key.
    pub(crate) lacks: Vec<(&'static str, &'static str)>,
    /// What it can do besides.
    pub(super) has: Vec<(&'static str, &'static str, Value)>,
}

impl Setup {
    /// A folder with these files; a client that is pushed to, counts in
    /// UTF-16 and can do everything else.
    pub(crate) fn new<'a>(files: impl IntoIterator<Item = (&'a str, &'a str)>) -> Self {
        let own = |(path, text): (&str, &str)| (path.to_owned(), text.to_owned());
        Self {
            files: files.into_iter().map(own).collect(),
            encoding: "utf-16",
            pulls: false,
            options: json!({ "today": "2026-11-25" }),
            answers: true,
            home: true,
            process: std::process::id(),
            watches: true,
            folders: vec![""],
            lacks: Vec::new(),
            has: Vec::new(),
        }
    }

    /// A client that cannot do this: a section of its capabilities (a JSON
    /// pointer), and the key that is missing there.
    pub(crate) fn lacking(mut self, section: &'static str, key: &'static str) -> Self {
        self.lacks.push((section, key));
        self
    }

    /// A client that can do this besides: a section of its capabilities, and
    /// the key.
    pub(crate) fn with(self, section: &'static str, key: &'static str) -> Self {
        self.saying(section, key, json!(true))
    }

    /// A client that says something else of itself: a section of its
    /// capabilities, the key, and what it says there.
    pub(crate) fn saying(mut self, section: &'static str, key: &'static str, value: Value) -> Self {
        self.has.push((section, key, value));
        self
    }

    /// A client that has these folders open, of the temporary one.
    pub(crate) fn with_folders(mut self, folders: &[&'static str]) -> Self {
        self.folders = folders.to_vec();
        self
    }

    /// A user without a home; `TMPDIR` is the session's folder.
    pub(crate) fn homeless(mut self) -> Self {
        self.home = false;
        self
    }

    pub(crate) fn of_process(mut self, process: u32) -> Self {
        self.process = process;
        self
    }

    pub(crate) fn pulling(mut self) -> Self {
        self.pulls = true;
        self
    }

    pub(crate) fn encoding(mut self, encoding: &'static str) -> Self {
        self.encoding = encoding;
        self
    }

    /// Begins the session, over an own temporary folder.
    pub(crate) fn start(self) -> Client {
        let folder = tempfile::tempdir().unwrap();
        for (path, text) in &self.files {
            let path = folder.path().join(path);
            std::fs::create_dir_all(path.parent().unwrap()).unwrap();
            std::fs::write(path, text).unwrap();
        }
        Client::start(folder, &self)
    }
}
