//! What holds of every row.

use std::collections::BTreeSet;

use super::{LINES, LineKind, Often, Reach, keyword_of};
use crate::parse::{Rule, parse};
use crate::{StanzaKind, Style, read};

const EVERY: &str = include_str!("../../../../tests/command/every.gtt");

#[test]
fn each_row_stands_in_its_kinds_place() {
    for kind in LineKind::ALL {
        assert_eq!(kind.row().kind, *kind);
        for line in kind.row().words {
            assert_eq!(line.kind, *kind, "{}", line.words);
        }
    }
}

#[test]
fn the_lines_of_an_order_each_have_a_place() {
    let mut places = BTreeSet::new();
    for line in LINES {
        let row = line.kind.row();
        let of_order = line.homes.has(StanzaKind::Order) && line.kind.is_read();
        assert_eq!(row.place != 0, of_order, "{}", line.words);
        assert!(!of_order || places.insert(row.place), "{}", line.words);
        // Only orders have phases.
        assert!(of_order || row.reach == Reach::Stanza, "{}", line.words);
    }
    assert!(places.len() > 30);
}

#[test]
fn of_two_keywords_that_begin_alike_the_longer_stands_first() {
    for (at, line) in LINES.iter().enumerate() {
        for above in &LINES[..at] {
            let meet = |kind: StanzaKind| above.homes.has(kind) && line.homes.has(kind);
            let hides = line.words.starts_with(&format!("{} ", above.words));
            let together = crate::words::STANZAS.iter().any(|stanza| meet(stanza.kind));
            assert!(!(hides && together), "{} hides {}", above.words, line.words);
        }
    }
}

#[test]
fn bags_may_stand_once_and_are_the_first_phases() {
    let bags = LineKind::ALL.iter().filter(|kind| kind.is_bag());
    for kind in bags {
        let row = kind.row();
        assert_eq!((row.often, row.reach), (Often::Once, Reach::FirstPhase));
    }
}

/// What stands in a line of one part: that part, again after a comma, or the
/// ends of a range.
fn is_glue(rule: Rule) -> bool {
    let range = [Rule::to, Rule::up_to, Rule::or_more, Rule::below];
    range.contains(&rule) || matches!(rule, Rule::comma | Rule::any | Rule::end)
}

#[test]
fn a_line_of_several_parts_has_a_shape() {
    for placed in read(EVERY, Style::USUAL).stanzas {
        for line in &placed.stanza.lines {
            let text = line.span.shifted(placed.start).text(EVERY);
            let Some((word, end)) = keyword_of(text, placed.stanza.kind) else {
                continue;
            };
            let row = word.kind.row();
            let mut tokens = Vec::new();
            parse(row.rule, text[end..].trim_start(), 0, &mut tokens).unwrap();
            let parts: BTreeSet<_> = tokens.iter().map(|token| token.rule).collect();
            let parts = parts.into_iter().filter(|rule| !is_glue(*rule)).count();
            let shaped = row
                .shapes
                .iter()
                .any(|shape| shape.homes.has(placed.stanza.kind));
            assert!(parts < 2 || shaped, "{text}: `shapes` of {:?}", row.kind);
        }
    }
}
