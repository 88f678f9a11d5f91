//! Judging compound times.

use gutta_quantity::{Atom, Dimension, Exact, Quantity, Unit};

use super::Reader;
use super::places::Place;
use super::pounds::in_kilograms;
use super::quantity::split;
use crate::parse::Token;
use crate::{Edit, MarkKind, NoValue, Why, Written, WrittenUnit};

impl Reader<'_> {
    /// A compound time: whole parts in falling units, counted in the last.
    pub(super) fn compound(
        &mut self,
        source: &super::source::Source<'_>,
        token: Token,
        place: Place,
    ) -> Written {
        let text = source.text.get(token.start..token.end).unwrap_or("");
        let whole = source.span(token.start, token.end);
        let mut offset = 0;
        let mut total: Option<(Exact, Unit)> = None;
        let mut sound = true;
        let mut pounds = Some(Exact::ZERO);
        let mut last: Option<Written> = None;
        while offset < text.len() {
            let rest = &text[offset..];
            let blanks = rest.len() - rest.trim_start_matches(' ').len();
            let start = offset + blanks;
            let (number, unit, _) = split(&text[start..]);
            if unit.end == 0 || start + unit.end > text.len() {
                break;
            }
            // A word that no number stands before: nothing is read into it.
            if number.end == 0 {
                if self.whole {
                    let span = source.span(token.start + start, token.start + start + unit.end);
                    self.unreadable(span, Vec::new(), None, Vec::new());
                }
                sound = false;
                break;
            }
            let part = Token {
                rule: token.rule,
                start: token.start + start,
                end: token.start + start + unit.end,
            };
            if last.is_some() && text[start..].starts_with('-') {
                self.dash(source, token, start);
                sound = false;
                break;
            }
            let marks = self.marks.len();
            let written = self.judge_quantity(source, part, place);
            match (pounds.take(), self.marks.last(), written.quantity()) {
                (Some(sum), Some(mark), Some(part)) if mark.kind == MarkKind::Pounds => {
                    pounds = part.as_weight().map(|weight| sum + weight);
                    self.marks.truncate(marks);
                }
                _ => {}
            }
            if pounds.is_none() {
                sound &= self.add_part(&mut total, &written);
            }
            offset = start + unit.end;
            last = Some(written);
        }
        let unit_span = last.as_ref().map_or(whole, |last| last.unit_span);
        let mut written = Written {
            value: None,
            decimals: 0,
            unit: last.map_or(WrittenUnit::Missing, |last| last.unit),
            span: whole,
            unit_span,
        };
        // `5 lb 8 oz` is one weight.
        if let (Some(sum), Some(unit)) = (pounds, written.unit.known())
            && let Some(value) = sum.checked_div(&Atom::factor_below(unit.top.unwrap_or(Atom::Lb)))
        {
            written.value = Some(value);
            let fix = written
                .quantity()
                .and_then(|weight| in_kilograms(&weight, self.style))
                .map(|kilograms| Edit {
                    span: whole,
                    text: format!("{kilograms} kg"),
                });
            self.mark(MarkKind::Pounds, whole, fix.into_iter().collect());
            return written;
        }
        match total {
            Some((value, unit)) if sound => {
                written.value = Some(value);
                written.unit = WrittenUnit::Known(unit);
            }
            _ if self.whole => self.no_value(NoValue::CompoundTime, whole),
            _ => {}
        }
        written
    }

    /// Adds a part of a compound time; whether it is one.
    pub(super) fn add_part(&mut self, total: &mut Option<(Exact, Unit)>, part: &Written) -> bool {
        let Some(Quantity { value, unit }) = part.quantity() else {
            return false;
        };
        if unit.dimension() != Dimension::TIME {
            return false;
        }
        if !value.is_whole() {
            return false;
        }
        match total.take() {
            None => *total = Some((value, unit)),
            Some((sum, above)) => {
                let Some(ratio) = above.factor().checked_div(&unit.factor()) else {
                    return false;
                };
                if ratio <= Exact::ONE || value >= ratio {
                    return false;
                }
                *total = Some((sum * ratio + value, unit));
            }
        }
        true
    }

    pub(super) fn dash(&mut self, source: &super::source::Source<'_>, token: Token, start: usize) {
        let text = source.text.get(token.start..token.end).unwrap_or("");
        let low = text[..start].trim_end();
        let high = text[start..].trim_start_matches(['-', ' ']);
        let span = source.span(token.start + start, token.start + start + 1);
        let fixes = if high.is_empty() {
            Vec::new()
        } else {
            vec![Edit {
                span: source.span(token.start, token.end),
                text: format!("{low} to {high}"),
            }]
        };
        self.unreadable(span, vec!["`to`".to_owned()], Some(Why::Dash), fixes);
    }
}
