//! What the formatter must not change.

use std::fmt::Write;

use crate::{StanzaKind, Style};

/// Whether both texts say the same: the same stanzas with the same facts, and
/// the same comments in the same order, wherever they stand.
#[must_use]
pub fn says_the_same(before: &str, after: &str, style: &Style) -> bool {
    before == after
        || (meaning(before, *style) == meaning(after, *style)
            && comments(before) == comments(after))
}

/// What was read, without where it stands and without what was remarked.
pub(super) fn meaning(text: &str, style: Style) -> String {
    let mut said = String::new();
    for placed in crate::read(text, style).stanzas {
        let stanza = &placed.stanza;
        // Comments and blank lines above the first stanza say nothing.
        if stanza.kind == StanzaKind::Preamble && stanza.lines.is_empty() {
            continue;
        }
        // With `-` a span tells no place.
        let _ = write!(
            said,
            "{:?} {:-?} {:-?}",
            stanza.kind, stanza.name, stanza.title
        );
        for line in &stanza.lines {
            let _ = write!(said, "\n  {} {:-?}", line.whole, line.fact);
        }
        said.push('\n');
    }
    said
}

/// The comments of a text, in order, without the blanks around them.
pub(super) fn comments(text: &str) -> Vec<&str> {
    let mut found = Vec::new();
    for line in text.split(['\n', '\r']) {
        let mut quoted = false;
        let start = line.char_indices().find(|(_, c)| {
            quoted ^= *c == '"';
            *c == '#' && !quoted
        });
        found.extend(start.map(|(start, _)| line[start..].trim_matches([' ', '\t'])));
    }
    found
}

#[cfg(test)]
mod tests {
    use super::says_the_same;
    use crate::Style;

    #[test]
    fn a_change_of_meaning_is_seen() {
        let text = "order a \"A\" # c\n  run 5 mL at 10 mL/h\n  note \"x\"\n";
        let same = |after: &str| says_the_same(text, after, &Style::USUAL);
        assert!(same(text));
        assert!(same(
            "\n# c\norder a   \"A\"\n    run  5 mL  at 10 mL/h\n  note   \"x\"\n"
        ));
        for other in [
            text.replace("5 mL", "50 mL"),
            text.replace("5 mL", "5.0 mL"),
            text.replace("10 mL/h", "10 mL/kg/h"),
            text.replace("\"x\"", "\"y\""),
            text.replace("\"A\"", "\"B\""),
            text.replace("order", "specimen"),
            text.replace("# c", "# d"),
            text.replace(" # c", ""),
            text.replace("run", "rum"),
            text.replace("  note \"x\"\n", ""),
            format!("{text}order b\n"),
        ] {
            assert!(!same(&other), "{other}");
        }
    }
}
