//! Whatever line is taken out, the comparison tells it.

use std::collections::BTreeSet;

use gutta_notation::lines::LineKind;
use gutta_notation::{Style, read};

use super::compared;

const EVERY: &str = include_str!("../../../../../tests/command/every.gtt");

#[test]
fn every_kind_of_line_is_told_where_it_is_taken_out() {
    let mut told = BTreeSet::new();
    for placed in read(EVERY, Style::USUAL).stanzas {
        for line in &placed.stanza.lines {
            let Some(kind) = line.fact.kind() else {
                continue;
            };
            let span = line.span.shifted(placed.start);
            let mut without = EVERY.to_owned();
            without.replace_range(span.start as usize..span.end as usize, "# gone");
            let comparison = compared(EVERY, &without);
            let mut subjects = comparison.subjects.iter();
            if subjects.any(|subject| !subject.changes.is_empty()) {
                told.insert(kind);
            }
        }
    }
    // What the house does not say of an order, the area or the drug may say:
    // then nothing is otherwise. Of each kind one line at least tells.
    let kinds = LineKind::ALL.iter().copied();
    let passed: Vec<_> = kinds
        .filter(|kind| kind.is_read() && !told.contains(kind))
        .collect();
    assert_eq!(passed, [], "taken out, and nothing is told");
}
