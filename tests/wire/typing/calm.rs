//! An author who types a line sees what is wrong with that line, and no storm.

use serde_json::Value;

use super::{examples, setup, some};
use crate::support::Client;

/// Errors and warnings, by where they stand.
struct Seen {
    /// On the line being typed.
    here: Vec<String>,
    /// Elsewhere in the file, which were not there when the file was whole.
    elsewhere: Vec<String>,
}

/// What may stand elsewhere while a line cannot be read: that nothing could be
/// checked or summed up, and what spoke of the line.
const GROUNDLESS: [&str; 5] = [
    "set.",
    "limit.not-checked",
    "expect.not-found",
    "name.unknown",
    "text.twice",
];

/// So many findings a line may raise elsewhere, once it is read, beside the
/// worked examples that hang on it: without its area, an order's drug and each
/// substance that an ingredient limits cannot be judged.
const MOST: usize = 8;

fn see(client: &mut Client, path: &str, line: usize, usual: &[String]) -> Seen {
    let mut seen = Seen {
        here: Vec::new(),
        elsewhere: Vec::new(),
    };
    for found in client.findings(path) {
        if found["severity"].as_u64() > Some(2) {
            continue;
        }
        let told = told(&found);
        if found["range"]["start"]["line"] == line {
            seen.here.push(told);
        } else if !usual.contains(&told) {
            seen.elsewhere.push(told);
        }
    }
    seen
}

fn told(found: &Value) -> String {
    format!("{} at {}", found["code"], found["range"]["start"]["line"])
}

/// Each line is taken out and typed anew. It shows three errors and warnings at
/// most; while it cannot be read, the rest of the file shows nothing but that
/// limits could not be checked, and what the missing line leaves without
/// ground.
#[test]
fn a_line_being_typed_raises_no_storm() {
    let files = examples();
    let mut client = setup(&files).start();
    // A specimen is wrong on purpose: what it expects stands bare meanwhile.
    let right = |(path, _): &&(String, String)| !path.starts_with("specimens/");
    for (path, text) in some(&files, 6).into_iter().filter(right) {
        client.open(path);
        let usual: Vec<String> = client.findings(path).iter().map(told).collect();
        for (number, line) in text.lines().enumerate() {
            if !line.starts_with(' ') || line.trim_start().starts_with('#') {
                continue;
            }
            let start = text.lines().take(number).map(|line| line.len() + 1).sum();
            client.edit(path, start..start + line.len(), "");
            for (at, character) in line.char_indices() {
                let at = start + at;
                client.edit(path, at..at, &character.to_string());
                let seen = see(&mut client, path, number, &usual);
                let typed = &client.text(path)[start..at + character.len_utf8()];
                assert!(seen.here.len() <= 3, "{path}: {typed:?}: {:?}", seen.here);
                if seen.here.iter().any(|told| told.contains("unreadable")) {
                    // What the line will waive is not waived yet.
                    let named = |told: &str| {
                        told.split('"')
                            .nth(1)
                            .is_some_and(|rule| line.contains(rule))
                    };
                    let ground = |told: &&String| {
                        !named(told) && !GROUNDLESS.iter().any(|rule| told.contains(rule))
                    };
                    let storm: Vec<_> = seen.elsewhere.iter().filter(ground).collect();
                    assert!(storm.is_empty(), "{path}: {typed:?}: {storm:?}");
                }
                let examples =
                    |told: &&String| told.contains("expect.") || told.contains("name.unknown");
                let besides = seen.elsewhere.iter().filter(|told| !examples(told));
                assert!(
                    besides.count() <= MOST,
                    "{path}: {typed:?}: {:?}",
                    seen.elsewhere
                );
            }
        }
        client.close(path);
    }
}
