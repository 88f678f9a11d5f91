//! Whole stanzas as they are read.

use std::fmt::Write as _;

use gutta_notation::{Style, read};

#[test]
fn a_right_text_is_read_whole() {
    let text = include_str!("right.gtt.txt");
    let mut out = String::new();
    for placed in read(text, Style::default()).stanzas {
        let stanza = &placed.stanza;
        assert!(
            stanza.marks.is_empty() && stanza.is_whole(),
            "{:?}",
            stanza.marks
        );
        let name = stanza.name.as_ref().map_or("", |name| name.value.as_str());
        let _ = writeln!(out, "{:?} {name} {:?}", stanza.kind, stanza.title);
        for line in &stanza.lines {
            let keyword = line.keyword.shifted(placed.start).text(text);
            let _ = writeln!(out, "  {keyword} | {:?}", line.fact);
        }
    }
    insta::assert_snapshot!(without_places(&out));
}

/// Places are checked elsewhere; here they would bury the values.
fn without_places(text: &str) -> String {
    let mut parts = text.split("Span {");
    let mut out = parts.next().unwrap_or_default().to_owned();
    for part in parts {
        out.push('@');
        out += part.split_once('}').map_or("", |(_, rest)| rest);
    }
    out
}
