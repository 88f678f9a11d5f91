//! Lids: `at most Q`, where it should stand and elsewhere.

use super::Reader;
use super::places::Place;
use crate::parse::{Rule, Token};
use crate::{Edit, MarkKind, Phrase, Why, Written};

/// A lid, and where it stands.
pub(super) struct Lid {
    pub(super) written: Written,
    /// Comma or word, to the quantity's end, in the line's text.
    pub(super) text: (usize, usize),
    pub(super) comma: bool,
}

impl Reader<'_> {
    /// The lids that stand next, each with its comma marked where missing.
    /// Inside a line (`inner`) a comma stands after each too.
    pub(super) fn lids(&mut self, inner: bool) -> Vec<Lid> {
        let mut lids = Vec::new();
        loop {
            let comma = self.peek(Rule::comma);
            let at = usize::from(comma.is_some());
            let Some(word) = self
                .tokens
                .get(self.next + at)
                .copied()
                .filter(|token| token.rule == Rule::at_most)
            else {
                if inner {
                    self.stray_comma();
                }
                return lids;
            };
            self.next += at + 1;
            let Some(token) = self.advance() else {
                return lids;
            };
            let written = self.quantity(token, Place::AMOUNT);
            if comma.is_none() {
                self.no_comma(word);
            }
            // A comma after it, before what the line goes on with.
            if inner && self.peek(Rule::comma).is_none() {
                let fix = Edit {
                    span: self.at(token.end, token.end),
                    text: ",".to_owned(),
                };
                self.mark(MarkKind::Phrase(Phrase::Lid), written.span, vec![fix]);
            }
            if inner {
                self.skip_spare_comma();
            }
            lids.push(Lid {
                written,
                text: (comma.map_or(word.start, |comma| comma.start), token.end),
                comma: comma.is_some(),
            });
        }
    }

    /// A comma before what the line goes on with, and no lid that it would
    /// end: read, with the comma's removal as its fix.
    fn stray_comma(&mut self) {
        let Some(comma) = self.peek(Rule::comma) else {
            return;
        };
        self.next += 1;
        let span = self.at(comma.start, comma.start + 1);
        let fix = Edit {
            span,
            text: String::new(),
        };
        self.mark(MarkKind::Phrase(Phrase::Comma), span, vec![fix]);
    }

    /// Passes a comma that no lid and no `each time` follows.
    pub(super) fn skip_spare_comma(&mut self) {
        let follows = self.tokens.get(self.next + 1).map(|token| token.rule);
        if self.peek(Rule::comma).is_some()
            && !matches!(
                follows,
                Some(Rule::at_most | Rule::each_time | Rule::counted_as)
            )
        {
            self.next += 1;
        }
    }

    /// A lid or `each time` without its comma.
    pub(super) fn no_comma(&mut self, word: Token) {
        let before = self.source.text[..word.start].trim_end().len();
        let fix = Edit {
            span: self.at(before, before),
            text: ",".to_owned(),
        };
        let span = self.place(word);
        self.mark(MarkKind::Phrase(Phrase::Lid), span, vec![fix]);
    }

    /// A lid that stands elsewhere than it should: `to`, in the line's text.
    pub(super) fn move_lid(&mut self, lid: &Lid, to: usize, then: &str) {
        let text = &self.source.text;
        let stop = text[..to].trim_end().len();
        let spot = lid.text.0.min(text.len());
        let words = text
            .get(lid.text.0..lid.text.1)
            .unwrap_or("")
            .trim_start_matches([',', ' '])
            .trim_end()
            .to_owned();
        let between = text.get(to..spot).unwrap_or("").trim_end();
        let between = between.trim();
        let joint = if between.is_empty() { "" } else { then };
        let fixed = format!(", {words}{joint}{between}");
        let fix = Edit {
            span: self.at(stop, lid.text.1),
            text: fixed,
        };
        let span = lid.written.span;
        self.marks.retain(|mark| {
            !(mark.kind == MarkKind::Phrase(Phrase::Lid)
                && !lid.comma
                && mark.span.end <= span.start
                && mark.span.end + 2 > span.start)
        });
        self.mark(MarkKind::Phrase(Phrase::Lid), span, vec![fix]);
    }

    /// The one lid that may stand there.
    pub(super) fn single_lid(&mut self, lids: Vec<Lid>) -> Option<Written> {
        let mut lids = lids.into_iter();
        let first = lids.next()?.written;
        if let Some(second) = lids.next() {
            self.unreadable(
                second.written.span,
                Vec::new(),
                Some(Why::Other(
                    "only one `at most` is allowed on the amount, and one on the dose".to_owned(),
                )),
                Vec::new(),
            );
        }
        Some(first)
    }

    /// A lid on the dose that stands before the way.
    pub(super) fn misplaced(&mut self, lid: &Lid) {
        let text = self.source.text.clone();
        let words = text[lid.text.0..lid.text.1]
            .trim_start_matches([',', ' '])
            .to_owned();
        // The first way goes to the next lid, `every`, or the line's end.
        let rest = text[lid.text.1..].trim_start_matches([',', ' ']);
        let stop = rest
            .find(", ")
            .into_iter()
            .chain(rest.find(" every "))
            .min()
            .unwrap_or(rest.len());
        let (way, _) = rest.split_at(stop);
        let end = text.len() - rest.len() + stop;
        let start = text[..lid.text.0].trim_end().len();
        let fix = Edit {
            span: self.at(start, end),
            text: format!(" {way}, {words}"),
        };
        self.mark(MarkKind::Phrase(Phrase::Lid), lid.written.span, vec![fix]);
    }
}
