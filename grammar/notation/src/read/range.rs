//! Judging ranges.

use std::cmp::Ordering;

use gutta_quantity::{Dimension, Unit};

use super::Reader;
use super::places::Place;
use super::pounds::in_kilograms;
use crate::ast::Range;
use crate::parse::{Rule, Token};
use crate::{DigitGroups, Edit, MarkKind, NoValue, Span, Why, WrittenUnit};

impl Reader<'_> {
    /// A range, from the tokens that follow.
    pub(super) fn range(&mut self, place: Place, single: bool) -> Option<Range> {
        let start = self.tokens.get(self.next).copied()?;
        let begin = self.source.span(start.start, start.end);
        let one_sided = |reader: &mut Self, excluded| {
            let high = reader.take_quantity(place)?;
            Some(Range {
                span: begin.to(high.span),
                low: None,
                high: Some(high),
                high_excluded: excluded,
            })
        };
        if self.skip(Rule::up_to) {
            return one_sided(self, false);
        }
        if self.skip(Rule::below) {
            let range = one_sided(self, true);
            if !place.below {
                let word = self.place(start);
                let fix = Edit {
                    span: word,
                    text: "up to".to_owned(),
                };
                self.unreadable(word, vec!["`up to`".to_owned()], None, vec![fix]);
            }
            return range;
        }
        let first = self.advance()?;
        if self.skip(Rule::to) {
            return self.two_sided(first, place);
        }
        let low = self.quantity(first, place);
        let or_more = self.peek(Rule::or_more);
        if let Some(token) = or_more {
            self.next += 1;
            let text = self.source.text[token.start..token.end].trim_end().len();
            let end = self.source.span(token.start, token.start + text);
            return Some(Range {
                span: low.span.to(end),
                low: Some(low),
                high: None,
                high_excluded: false,
            });
        }
        if !single && self.whole {
            let insert = Span::new(low.span.start, low.span.start);
            self.unreadable(
                low.span,
                vec!["a range".to_owned()],
                Some(Why::RangeWanted),
                vec![Edit {
                    span: insert,
                    text: "up to ".to_owned(),
                }],
            );
        }
        Some(Range {
            span: low.span,
            high: Some(low.clone()),
            low: Some(low),
            high_excluded: false,
        })
    }

    pub(super) fn two_sided(&mut self, first: Token, place: Place) -> Option<Range> {
        let second = self.advance()?;
        let marks = self.marks.len();
        let mut low = self.quantity(first, place.low());
        let between = self.marks.len();
        let high = self.quantity(second, place);
        let span = low.span.to(high.span);
        if let (WrittenUnit::Known(unit), WrittenUnit::Missing) = (low.unit, high.unit) {
            self.fits_alone(unit);
        }
        if low.unit == WrittenUnit::Missing {
            let pounds = self
                .marks
                .get(between)
                .filter(|mark| mark.kind == MarkKind::Pounds);
            if let Some(mark) = pounds {
                // Both ends are in pounds: one fix for both.
                let fix = mark.fixes.first().map(|fix| fix.text.clone());
                low.unit = high.unit;
                let low = low
                    .quantity()
                    .and_then(|low| in_kilograms(&low, self.style));
                let fixes = match (low, fix) {
                    (Some(low), Some(high)) => vec![Edit {
                        span,
                        text: format!("{low} to {high}"),
                    }],
                    _ => Vec::new(),
                };
                self.marks.truncate(marks);
                self.mark(MarkKind::Pounds, span, fixes);
            }
            low.unit = high.unit;
            let compound = high.span.start != high.unit_span.start
                && self.source.text[second.start..second.end]
                    .split(' ')
                    .filter(|part| !part.is_empty())
                    .count()
                    > 2
                && self.style.digit_groups == DigitGroups::Comma;
            if compound && self.whole && high.value.is_some() && is_time(high.unit) {
                self.missing_unit(low.span, place);
            }
        }
        if let (Some(a), Some(b)) = (low.quantity(), high.quantity())
            && self.whole
        {
            match a.compare(&b) {
                None => self.no_value(NoValue::MixedRange, span),
                Some(Ordering::Greater) => self.no_value(NoValue::FallingRange, span),
                Some(_) => {}
            }
            if !self.whole {
                low.value = None;
            }
        }
        Some(Range {
            low: Some(low),
            high: Some(high),
            high_excluded: false,
            span,
        })
    }

    /// Of the units that the last mark says are missing, this one alone fits.
    pub(super) fn fits_alone(&mut self, unit: Unit) {
        let text = self.style.unit(unit);
        if let Some(mark) = self.marks.last_mut()
            && let MarkKind::MissingUnit { fits } = &mut mark.kind
        {
            mark.fixes.truncate(1);
            for fix in &mut mark.fixes {
                fix.text = format!(" {text}");
            }
            *fits = vec![unit];
        }
    }
}

fn is_time(unit: WrittenUnit) -> bool {
    unit.known()
        .is_some_and(|unit| unit.dimension() == Dimension::TIME)
}
