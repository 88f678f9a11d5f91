//! Right orders: those of the examples, and generated ones.

use std::fs;
use std::path::{Path, PathBuf};

use gutta_quantity::Exact;

/// An order as it should be.
pub(crate) struct Right {
    /// Its name.
    pub(crate) name: String,
    /// The folder of its file, from the root.
    pub(crate) folder: String,
    /// The `use` lines it stands below.
    pub(crate) uses: String,
    /// The stanza without its `expect` lines.
    pub(crate) lines: Vec<String>,
    /// What is known of it besides, where it was generated.
    pub(crate) known: Option<Known>,
    /// The flow that belongs to its dose, in mL/h.
    pub(crate) flow: Option<String>,
}

/// What a generated order was made from.
pub(crate) struct Known {
    /// What its drug's `usual dose` allows, in the unit of its run.
    pub(crate) usual: (Exact, Exact),
    /// Its weights in kg.
    pub(crate) weights: (Exact, Exact),
}

impl Right {
    /// The file in which it is checked.
    pub(crate) fn file(&self) -> String {
        format!("{}/slip.gtt", self.folder)
    }

    /// The text of that file with these lines in its place.
    pub(crate) fn text(&self, lines: &[String]) -> String {
        format!("{}\n{}\n", self.uses, lines.join("\n"))
    }
}

pub(crate) fn examples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples")
}

/// Every file of the examples, by its path from their root.
pub(crate) fn files() -> Vec<(String, String)> {
    let mut files = Vec::new();
    let mut folders = vec![PathBuf::new()];
    while let Some(folder) = folders.pop() {
        for entry in fs::read_dir(examples().join(&folder)).expect("a folder") {
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

/// The orders of these files.
pub(crate) fn orders(files: &[(String, String)]) -> Vec<Right> {
    let mut orders = Vec::new();
    for (path, text) in files {
        let uses: String = text
            .lines()
            .filter(|line| line.starts_with("use "))
            .map(|line| format!("{line}\n"))
            .collect();
        let mut lines: Vec<String> = Vec::new();
        let mut flow = None;
        let mut finish = |lines: &mut Vec<String>, flow: &mut Option<String>| {
            let lines = std::mem::take(lines);
            let flow = flow.take();
            if let Some(header) = lines.first() {
                let name = header.split_whitespace().nth(1).expect("a name").to_owned();
                orders.push(Right {
                    name,
                    folder: path.rsplit_once('/').expect("a folder").0.to_owned(),
                    uses: uses.clone(),
                    lines,
                    known: None,
                    flow,
                });
            }
        };
        let mut inside = false;
        for line in text.lines() {
            if line.starts_with(' ') {
                let mut words = line.split_whitespace();
                if words.next() == Some("expect") {
                    // `expect flow 3.15 mL/h at 70 kg`
                    let words: Vec<_> = words.collect();
                    if words.first() == Some(&"flow") && !words.contains(&"in") {
                        flow.get_or_insert_with(|| words[1].replace(',', ""));
                    }
                } else if inside {
                    lines.push(line.split(" #").next().unwrap_or(line).to_owned());
                }
            } else if !line.is_empty() && !line.starts_with('#') {
                finish(&mut lines, &mut flow);
                inside = line.starts_with("order ");
                if inside {
                    // The order itself stands in the workspace as well.
                    lines.push(line.replacen(" \"", "-here \"", 1));
                }
                flow = None;
            }
        }
        finish(&mut lines, &mut flow);
    }
    orders
}
