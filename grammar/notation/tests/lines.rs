//! Every kind of line, as `every.gtt` has it: read, taken to pieces, laid out.

use std::collections::BTreeSet;

use gutta_notation::ast::Piece;
use gutta_notation::lines::{LineKind, Often, Reach, keyword_of};
use gutta_notation::words::{AFTER_NAMES, DOSES, OWN};
use gutta_notation::{Fact, Line, Placed, StanzaKind, Style, format, read};

const EVERY: &str = include_str!("../../../tests/command/every.gtt");
const GRAMMAR: &str = include_str!("../src/notation.pest");

/// Each line, its stanza and its text.
fn lines(text: &str) -> Vec<(Placed, Line, String)> {
    let mut all = Vec::new();
    for placed in read(text, Style::USUAL).stanzas {
        for line in &placed.stanza.lines {
            let own = line.span.shifted(placed.start).text(text).to_owned();
            all.push((placed.clone(), line.clone(), own));
        }
    }
    all
}

#[test]
fn every_kind_has_a_line() {
    let there: BTreeSet<_> = lines(EVERY)
        .iter()
        .filter_map(|(_, line, _)| line.fact.kind())
        .collect();
    let kinds = LineKind::ALL.iter().copied();
    let missing: Vec<_> = kinds
        .filter(|kind| kind.is_read() && !there.contains(kind))
        .collect();
    assert_eq!(
        missing,
        [],
        "tests/command/every.gtt wants a line of each kind"
    );
}

#[test]
fn each_is_read_as_what_its_keyword_says() {
    for (placed, line, text) in lines(EVERY) {
        assert!(line.whole, "{text}: {:?}", placed.stanza.marks);
        assert_eq!(placed.stanza.marks, [], "{text}");
        let keyword = keyword_of(&text, placed.stanza.kind);
        let kind = keyword.map_or(LineKind::Load, |(word, _)| word.kind);
        assert_eq!(line.fact.kind(), Some(kind), "{text}");
        assert_eq!(
            kind.is_bag(),
            matches!(line.fact, Fact::Bag(_)),
            "{text}: `LineKind::is_bag`"
        );
    }
}

/// The words that the grammar spells, each by itself.
fn spelt() -> BTreeSet<&'static str> {
    let quoted = GRAMMAR
        .lines()
        .flat_map(|line| line.split('"').skip(1).step_by(2));
    let own = OWN.iter().chain(AFTER_NAMES).chain(&DOSES).copied();
    quoted.chain(own).collect()
}

#[test]
fn between_the_pieces_stand_the_notations_words_alone() {
    let spelt = spelt();
    for (placed, line, text) in lines(EVERY) {
        let end = keyword_of(&text, placed.stanza.kind).map_or(0, |(_, end)| end);
        let mut rest = text.clone().into_bytes();
        rest[..end].fill(b' ');
        line.fact.each_piece(|piece| {
            let span = match piece {
                Piece::Quantity(written) => written.span,
                Piece::Count(span)
                | Piece::Unit(span)
                | Piece::Text(span)
                | Piece::Date(span)
                | Piece::Route(span)
                | Piece::Measure(span)
                | Piece::Rule(span)
                | Piece::Name(_, span, _) => span,
            };
            let at = |place: u32| (place - line.span.start) as usize;
            rest[at(span.start)..at(span.end)].fill(b' ');
        });
        let rest = String::from_utf8(rest).unwrap();
        let mut words = rest.split([' ', ',', ':']).filter(|word| !word.is_empty());
        let other = words.find(|word| !spelt.contains(word));
        assert_eq!(other, None, "{text}: no piece, and no word of the notation");
    }
}

#[test]
fn each_is_laid_out_as_it_stands() {
    assert_eq!(format(EVERY, &Style::USUAL), EVERY);
    let squeezed: String = EVERY
        .lines()
        .map(|line| {
            let indent = if line.starts_with(' ') { " " } else { "" };
            let words: Vec<_> = line.split_whitespace().collect();
            format!("{indent}{}\n", words.join(" "))
        })
        .collect();
    assert_eq!(format(&squeezed, &Style::USUAL), EVERY);
}

#[test]
fn a_line_stands_as_often_as_its_row_says() {
    for (placed, line, text) in lines(EVERY) {
        let row = line.fact.kind().unwrap().row();
        let header = placed.stanza.header.shifted(placed.start).text(EVERY);
        let second = |between: &str| {
            let twice = format!("{header}\n  {text}\n{between}  {text}\n");
            lines(&twice).last().unwrap().1.whole
        };
        let any = row.often == Often::Any;
        assert_eq!(second(""), any, "{text}");
        if placed.stanza.kind == StanzaKind::Order {
            let own = row.reach != Reach::Stanza;
            assert_eq!(second("  phase next\n"), any || own, "{text}");
        }
    }
}
