//! Whole stanzas as they are read.

use std::fmt::Write as _;

use gutta_notation::{MarkKind, Style, read};

#[test]
fn a_right_text_is_read_whole() {
    let text = include_str!("right.gtt.txt");
    let mut out = String::new();
    for placed in read(text, Style::USUAL).stanzas {
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

/// Comments above a header are no lines of the stanza's: only what follows the
/// header counts towards its length.
#[test]
fn comments_above_a_header_make_no_stanza_too_long() {
    let many = "# c\n".repeat(3_000);
    let order = "order a \"A\"\n  run all over 1 h\n";
    let too_long = |text: &str| {
        let file = read(text, Style::USUAL);
        let last = file.stanzas.last().unwrap();
        last.stanza
            .marks
            .iter()
            .any(|mark| matches!(&mark.kind, MarkKind::Unreadable(_)))
    };
    assert!(!too_long(&format!("{many}{order}")));
    assert!(too_long(&format!("{order}{many}  then stop\n")));
}
