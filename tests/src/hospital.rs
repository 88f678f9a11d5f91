//! The invented hospital's files, as texts.

use std::fs;
use std::path::{Path, PathBuf};

/// A file in pieces.
pub struct Page {
    /// From the root of the examples.
    pub path: String,
    /// Its `use` lines.
    pub uses: Vec<String>,
    /// What stands below them.
    pub stanzas: Vec<Stanza>,
}

/// A stanza, line by line.
#[derive(Clone)]
pub struct Stanza {
    /// The comments above it.
    pub lead: Vec<String>,
    /// Its header, and the lines below it.
    pub lines: Vec<String>,
}

impl Stanza {
    /// `order`, `set`, …
    pub fn keyword(&self) -> &str {
        self.word(0)
    }

    /// What it is called.
    pub fn name(&self) -> &str {
        self.word(1)
    }

    fn word(&self, at: usize) -> &str {
        let header = self.lines.first().map_or("", String::as_str);
        header.split_whitespace().nth(at).unwrap_or("")
    }
}

impl Page {
    /// The folder that it lies in, from the root.
    pub fn folder(&self) -> &str {
        self.path.rsplit_once('/').map_or("", |(folder, _)| folder)
    }

    fn of(path: &str, text: &str) -> Self {
        let (mut uses, mut lead) = (Vec::new(), Vec::new());
        let mut stanzas: Vec<Stanza> = Vec::new();
        for line in text.lines().map(str::to_owned) {
            if line.starts_with(' ') {
                if let Some(stanza) = stanzas.last_mut() {
                    stanza.lines.push(line);
                }
            } else if line.starts_with("use ") {
                // What stood above it is about the whole file.
                lead.clear();
                uses.push(line);
            } else if line.starts_with('#') {
                lead.push(line);
            } else if !line.is_empty() {
                let lead = std::mem::take(&mut lead);
                let lines = vec![line];
                stanzas.push(Stanza { lead, lines });
            }
        }
        Self {
            path: path.to_owned(),
            uses,
            stanzas,
        }
    }
}

/// Every file of the examples, by its path from their root, with its text.
///
/// # Panics
///
/// Where the examples cannot be read.
pub fn files() -> Vec<(String, String)> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples");
    let mut files = Vec::new();
    let mut folders = vec![PathBuf::new()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(root.join(&folder)).expect("a folder") {
            let entry = entry.expect("an entry");
            let path = folder.join(entry.file_name());
            if entry.file_type().expect("a type").is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|ext| ext == "gtt") {
                let text = fs::read_to_string(entry.path()).expect("a text");
                files.push((path.to_str().expect("UTF-8").to_owned(), text));
            }
        }
    }
    files.sort();
    files
}

/// These files in pieces.
pub fn pages(files: &[(String, String)]) -> Vec<Page> {
    let page = |(path, text): &(String, String)| Page::of(path, text);
    files.iter().map(page).collect()
}
