//! What is found, and what would mend it.

use serde_json::Value;

use super::{Written, texts};
use crate::styles::HOUSES;

#[test]
fn findings_are_told_as_the_house_writes() {
    for house in HOUSES {
        let mut written = Written::new(house);
        let found = written.folder.run(&["check", "--format", "json", "."]);
        let document = found.json();
        let findings = document["findings"].as_array().unwrap();
        assert!(findings.len() > 500, "{}", findings.len());
        for finding in findings {
            let rule = finding["rule"].as_str().unwrap();
            let mut all = Vec::new();
            for part in ["message", "related", "notes", "fixes"] {
                texts(&finding[part], part, &mut all);
            }
            for (_, text) in all {
                written.look(rule, text);
            }
        }
        written.run(&["check", "--all", "."]);
        written.run(&["check", "--all", "--format", "sarif", "large.gtt"]);
        written.end();
    }
}

/// Each correction on offer is made, and what was not remarked before is not
/// remarked then.
#[test]
fn every_correction_reads_in_its_house() {
    for house in HOUSES {
        let mut written = Written::new(house);
        let found = written.folder.run(&["check", "--format", "json", "."]);
        let document = found.json();
        let mut made = 0;
        for finding in document["findings"].as_array().unwrap() {
            for fix in finding["fixes"].as_array().unwrap() {
                let edits = fix["edits"].as_array().unwrap();
                let path = edits[0]["file"].as_str().unwrap().to_owned();
                let before = String::from_utf8(written.folder.read(&path)).unwrap();
                let after = corrected(&before, edits);
                // What is to be filled in is not read until it is.
                let open = edits
                    .iter()
                    .any(|edit| edit["text"].as_str().unwrap().contains('?'));
                if let Some(worse) = house.reads_worse(&before, &after).filter(|_| !open) {
                    let (rule, title) = (&finding["rule"], &fix["title"]);
                    let line = format!("{rule} {title} in {path}: {worse}\n");
                    written.faults.push_str(&line);
                }
                made += 1;
            }
        }
        assert!(made > 50, "{made}");
        written.end();
    }
}

/// The text with the edits made, the last first.
fn corrected(text: &str, edits: &[Value]) -> String {
    let offset = |place: &Value| {
        let [line, column] =
            ["line", "column"].map(|part| usize::try_from(place[part].as_u64().unwrap()).unwrap());
        let start: usize = text
            .split_inclusive('\n')
            .take(line - 1)
            .map(str::len)
            .sum();
        let rest = &text[start..];
        let column = rest.char_indices().nth(column - 1);
        start + column.map_or(rest.len(), |(at, _)| at)
    };
    let mut edits: Vec<_> = edits
        .iter()
        .map(|edit| {
            let (start, end) = (offset(&edit["start"]), offset(&edit["end"]));
            (start, end, edit["text"].as_str().unwrap())
        })
        .collect();
    edits.sort_unstable();
    let mut text = text.to_owned();
    for (start, end, new) in edits.into_iter().rev() {
        text.replace_range(start..end, new);
    }
    text
}
