//! Every file of the repository that is written as it should be is read
//! whole, without a mark.

use std::fs;
use std::path::{Path, PathBuf};

use gutta_notation::{StanzaKind, Style, read};

fn files(below: &Path, into: &mut Vec<PathBuf>) {
    let Ok(entries) = fs::read_dir(below) else {
        return;
    };
    for entry in entries.flatten() {
        let path = entry.path();
        if path.is_dir() {
            files(&path, into);
        } else if path.extension().is_some_and(|kind| kind == "gtt") {
            into.push(path);
        }
    }
}

#[test]
fn every_example_is_read_whole() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("../..");
    let mut found = Vec::new();
    for folder in ["examples", "tests/outside", "grammar/checks/src"] {
        files(&root.join(folder), &mut found);
    }
    assert!(!found.is_empty(), "no example was found");
    let mut faults = String::new();
    for path in found {
        let text = fs::read_to_string(&path).expect("an example is a text");
        for placed in read(&text, Style::USUAL).stanzas {
            let stanza = &placed.stanza;
            if stanza.kind == StanzaKind::Specimen {
                continue;
            }
            if stanza.is_whole() && stanza.marks.is_empty() {
                continue;
            }
            for mark in &stanza.marks {
                let at = (placed.start + mark.span.start) as usize;
                let line = text[..at].lines().count();
                faults += &format!("{}:{line}: {:?}\n", path.display(), mark);
                faults += &format!(
                    "    {}\n",
                    text.lines().nth(line.saturating_sub(1)).unwrap_or("")
                );
            }
            if stanza.marks.is_empty() {
                faults += &format!("{}: {:?} is not whole\n", path.display(), stanza.name);
            }
        }
    }
    assert!(faults.is_empty(), "{faults}");
}
