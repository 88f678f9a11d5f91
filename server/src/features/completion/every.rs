//! Every kind of line can be completed from its keyword to its last piece, and
//! read of.

use gutta_notation::ast::{NameOf, Piece};
use gutta_notation::lines::LINES;
use gutta_notation::words::STANZAS;
use gutta_notation::{Span, StanzaKind, Style, read};

use super::{About, complete, documentation};
use crate::features::harness::Fixture;

const EVERY: &str = include_str!("../../../../tests/command/every.gtt");

/// The labels at the end of `head`, `rest` being what stands below it.
fn offered(head: &str, rest: &str) -> Vec<String> {
    let desk = Fixture::of(&format!("{head}|{rest}"));
    let offer = complete(&desk.site(), desk.cursor());
    let items = offer.map_or_else(Vec::new, |offer| offer.items);
    items.into_iter().map(|item| item.label).collect()
}

#[test]
fn every_keyword_is_offered_and_explained_in_each_of_its_stanzas() {
    let desk = Fixture::of(EVERY);
    let mut missed = String::new();
    for line in LINES.iter().filter(|line| line.kind.is_read()) {
        let words = line.words;
        for stanza in STANZAS.iter().filter(|stanza| line.homes.has(stanza.kind)) {
            let home = stanza.word;
            let there = offered(&format!("{home} a \"A\"\n  "), "\n");
            if !there.iter().any(|label| label == words) {
                missed.push_str(&format!("`{words}` is not offered in `{home}`\n"));
            }
            let about = About::Line(words.into(), home.into());
            let read = documentation(&desk.site(), &about).unwrap_or_default();
            let named = [format!("`{words}`"), format!("`{words} ")];
            if !named.iter().any(|name| read.contains(name)) {
                missed.push_str(&format!(
                    "grammar/reference/notation.md explains no `{words}` of `{home}`\n"
                ));
            }
        }
    }
    assert!(missed.is_empty(), "{missed}");
}

/// Where the cursor stands before what is to be offered, and that.
fn wanted<'a>(
    piece: Piece<'_>,
    shifted: impl Fn(Span) -> Span,
    text: &'a str,
) -> Option<(u32, &'a str)> {
    let span = match piece {
        // The unit, behind its number.
        Piece::Quantity(written) if written.unit_span.start > written.span.start => {
            written.unit_span
        }
        Piece::Unit(span) | Piece::Route(span) | Piece::Measure(span) | Piece::Rule(span) => span,
        Piece::Name(of, span, _) => match of {
            // What the line itself names.
            NameOf::Content | NameOf::Also | NameOf::Line | NameOf::Phase => return None,
            _ => span,
        },
        Piece::Quantity(_) | Piece::Count(_) | Piece::Text(_) | Piece::Date(_) => return None,
    };
    let span = shifted(span);
    // An end of a range may leave its unit to the other.
    (!span.is_empty()).then(|| (span.start, span.text(text)))
}

#[test]
fn every_piece_of_every_line_is_offered_in_its_place() {
    let mut missed = String::new();
    for placed in read(EVERY, Style::USUAL).stanzas {
        for line in &placed.stanza.lines {
            let mut pieces = Vec::new();
            line.fact.each_piece(|piece| {
                // A drug's limits are where a house names its purposes.
                let named = matches!(piece, Piece::Name(NameOf::Purpose, ..));
                if !(named && placed.stanza.kind == StanzaKind::Drug) {
                    pieces.extend(wanted(piece, |span| span.shifted(placed.start), EVERY));
                }
            });
            let end = line.span.shifted(placed.start).end as usize;
            for (start, piece) in pieces {
                let there = offered(&EVERY[..start as usize], &EVERY[end..]);
                // Of `per mL` its first word.
                let first = piece.split(' ').next().unwrap_or(piece);
                if !there.iter().any(|label| label == piece || label == first) {
                    let line = line.span.shifted(placed.start).text(EVERY);
                    missed.push_str(&format!("{line}: no `{piece}` among {there:?}\n"));
                }
            }
        }
    }
    assert!(missed.is_empty(), "{missed}");
}
