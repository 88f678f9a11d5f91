//! What the bench compares reading with: the bare parse of the same lines.

use crate::parse::{Rule, bare};
use crate::{StanzaKind, Style, read};

/// A line, ready to be parsed.
#[derive(Debug)]
pub struct BareLine<'a> {
    rule: Rule,
    text: &'a str,
}

/// The lines of a right text, each with its rule.
#[must_use]
pub fn lines(text: &str) -> Vec<BareLine<'_>> {
    let mut lines = Vec::new();
    for placed in read(text, Style::USUAL).stanzas {
        let kind = placed.stanza.kind;
        if kind != StanzaKind::Use {
            let header = placed.stanza.header.shifted(placed.start).text(text);
            let text = header.split_once(' ').map_or("", |(_, rest)| rest);
            let rule = Rule::header_line;
            lines.push(BareLine { rule, text });
        }
        for line in &placed.stanza.lines {
            let text = line.span.shifted(placed.start).text(text);
            if let Some((rule, text)) = crate::read::bare_line(text, kind) {
                lines.push(BareLine { rule, text });
            }
        }
    }
    lines
}

/// Parses each line and keeps nothing; how many could be parsed.
#[must_use]
pub fn parse(lines: &[BareLine<'_>]) -> usize {
    lines
        .iter()
        .filter(|line| bare(line.rule, line.text))
        .count()
}
