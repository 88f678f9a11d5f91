//! Judging quantities and ranges: a number and its unit, as one token.

use std::cmp::Ordering;

use gutta_quantity::{Atom, Dimension, Exact, Quantity, Unit, units};

use super::places::{Percent, Place};
use super::{Reader, number, unit};
use crate::ast::Range;
use crate::parse::{Rule, Token};
use crate::{DigitGroups, Edit, MarkKind, NoValue, Phrase, Span, Why, Written, WrittenUnit};

/// A part of a quantity's token: a number, or a unit.
#[derive(Clone, Copy, Debug)]
struct Part {
    start: usize,
    end: usize,
}

impl Reader<'_> {
    /// A quantity, from its token.
    pub(super) fn quantity(&mut self, token: Token, place: Place) -> Written {
        let source = std::mem::take(&mut self.source);
        let written = self.judge_quantity(&source, token, place);
        self.source = source;
        written
    }

    fn judge_quantity(
        &mut self,
        source: &super::source::Source<'_>,
        token: Token,
        place: Place,
    ) -> Written {
        let text = source.text.get(token.start..token.end).unwrap_or("");
        let (number, unit, rest) = split(text);
        let at = |part: Part| source.span(token.start + part.start, token.start + part.end);
        if !rest.trim_start().is_empty() {
            return self.compound(source, token, place);
        }
        let number_span = at(number);
        let unit_span = at(unit);
        let number_text = &text[number.start..number.end];
        let unit_text = &text[unit.start..unit.end];
        let (value, decimals, ratio) = self.number(number_text, number_span, place);
        let mut written = Written {
            value,
            decimals,
            unit: WrittenUnit::Missing,
            span: if unit_text.is_empty() {
                number_span
            } else {
                number_span.to(unit_span)
            },
            unit_span: if unit_text.is_empty() {
                Span::new(number_span.end, number_span.end)
            } else {
                unit_span
            },
        };
        if let Some(many) = ratio {
            self.ratio(&mut written, many, place, unit_text.is_empty());
            return written;
        }
        if unit_text.is_empty() {
            if !place.bare {
                self.missing_unit(number_span, place);
            }
            return written;
        }
        if number.end == unit.start {
            let gap = Span::new(number_span.end, number_span.end);
            // Grouped by blanks, `10000mL` would be 10 and `000mL`.
            if let Some(mark) = self.marks.last_mut()
                && mark.kind == MarkKind::Thousands
                && mark.span == number_span
            {
                for fix in &mut mark.fixes {
                    fix.text.push(' ');
                }
            }
            self.mark(
                MarkKind::NoSpace,
                written.span,
                vec![Edit {
                    span: gap,
                    text: " ".to_owned(),
                }],
            );
        }
        self.unit_into(&mut written, unit_text, number_text, place);
        written
    }

    /// A number's value, its decimals, and what a ratio was a ratio of.
    pub(super) fn number(
        &mut self,
        text: &str,
        span: Span,
        place: Place,
    ) -> (Option<Exact>, u8, Option<u64>) {
        let mut verdict = number::judge(text, self.style.digit_groups);
        if let Some(fault) = verdict.fault {
            match fault {
                number::Fault::Comma => self.mark(MarkKind::DecimalComma, span, Vec::new()),
                number::Fault::Dash => {
                    let (low, high) = text.split_once('-').unwrap_or((text, ""));
                    let (low, high) = (low.trim(), high.trim());
                    let fixes = [low, high]
                        .iter()
                        .all(|end| number::judge(end, self.style.digit_groups).value.is_some())
                        .then(|| Edit {
                            span,
                            text: format!("{low} to {high}"),
                        });
                    self.unreadable(
                        span,
                        Vec::new(),
                        Some(Why::Dash),
                        fixes.into_iter().collect(),
                    );
                }
                number::Fault::Ratio(many) => return (None, 0, Some(many)),
                number::Fault::No(why) => self.mark(MarkKind::NoValue(why), span, Vec::new()),
            }
            self.whole = false;
            return (None, 0, None);
        }
        if let Some(from) = verdict.trailing_from
            && !place.zeros
        {
            let start = span.start + super::source::len32(from);
            self.mark(
                MarkKind::TrailingZero,
                span,
                vec![Edit {
                    span: Span::new(start, span.end),
                    text: String::new(),
                }],
            );
        }
        if verdict.bare_point {
            self.mark(
                MarkKind::BarePoint,
                span,
                vec![Edit {
                    span: Span::new(span.start, span.start),
                    text: "0".to_owned(),
                }],
            );
        }
        if let Some(text) = verdict.regrouped.take() {
            self.mark(MarkKind::Thousands, span, vec![Edit { span, text }]);
        }
        if !place.zero && verdict.value.as_ref().is_some_and(Exact::is_zero) {
            self.no_value(NoValue::Zero, span);
            verdict.value = None;
        }
        (verdict.value, verdict.decimals, None)
    }

    pub(super) fn missing_unit(&mut self, number: Span, place: Place) {
        self.whole = false;
        let fixes = place.fits.iter().map(|unit| Edit {
            span: Span::new(number.end, number.end),
            text: format!(" {unit}"),
        });
        let kind = MarkKind::MissingUnit {
            fits: place.fits.iter().map(|unit| (*unit).to_owned()).collect(),
        };
        self.mark(kind, number, fixes.collect());
    }

    fn ratio(&mut self, written: &mut Written, many: u64, place: Place, alone: bool) {
        let value = i64::try_from(many)
            .ok()
            .and_then(|many| Exact::ratio(1000, many));
        let (Percent::Strength, true, Some(value)) = (place.percent, alone, value) else {
            self.no_value(NoValue::Malformed, written.span);
            return;
        };
        let decimals = value.decimals().filter(|decimals| *decimals <= 12);
        let fixes = decimal(&value).map(|number| Edit {
            span: written.span,
            text: format!("{number} mg/mL"),
        });
        self.mark(
            MarkKind::RatioStrength,
            written.span,
            fixes.into_iter().collect(),
        );
        written.decimals = decimals
            .and_then(|decimals| u8::try_from(decimals).ok())
            .unwrap_or(0);
        written.value = Some(value);
        written.unit = WrittenUnit::Known(units::MG_PER_ML);
    }

    /// Judges a unit into `written`.
    fn unit_into(&mut self, written: &mut Written, text: &str, number: &str, place: Place) {
        let span = written.unit_span;
        let verdict = unit::judge(text, self.style);
        if verdict.remark == unit::Remark::Pounds {
            self.pounds(written, text);
            return;
        }
        let Some(unit) = self.judged_unit(verdict, span) else {
            written.unit = WrittenUnit::Unknown;
            return;
        };
        written.unit = WrittenUnit::Known(unit);
        let top = text.split('/').next().unwrap_or("");
        if matches!(
            top,
            "unit" | "milliunit" | "drop" | "day" | "week" | "month" | "year"
        ) && number != "1"
        {
            self.mark(
                MarkKind::Phrase(Phrase::Spelling),
                span,
                vec![Edit {
                    span: Span::new(
                        span.start + super::source::len32(top.len()),
                        span.start + super::source::len32(top.len()),
                    ),
                    text: "s".to_owned(),
                }],
            );
        }
        let percent = unit.top == Some(Atom::Percent);
        if percent && (place.percent == Percent::No || unit.per != [None, None]) {
            written.unit = WrittenUnit::Unknown;
            self.unreadable(
                span,
                place.fits.iter().map(|unit| (*unit).to_owned()).collect(),
                Some(Why::Other(
                    "`%` is a strength in `contains`, `supplied`, `premixed` and `strength`, \
                     and a share in `accuracy`"
                        .to_owned(),
                )),
                Vec::new(),
            );
        }
        let long = [unit.top, unit.per[0], unit.per[1]]
            .into_iter()
            .flatten()
            .any(|atom| matches!(atom, Atom::Weeks | Atom::Months | Atom::Years));
        if long && !place.age {
            let fix = (unit.top == Some(Atom::Weeks) && unit.per == [None, None])
                .then(|| written.value.as_ref().map(|value| value * &Exact::int(7)))
                .flatten()
                .and_then(|days| decimal(&days))
                .map(|days| Edit {
                    span: written.span,
                    text: format!("{days} days"),
                });
            written.unit = WrittenUnit::Unknown;
            self.unreadable(
                span,
                vec!["`days`".to_owned(), "`h`".to_owned()],
                Some(Why::Other(
                    "`weeks`, `months` and `years` belong to ages alone".to_owned(),
                )),
                fix.into_iter().collect(),
            );
        }
    }

    /// The unit of a verdict that is not pounds, with its marks.
    pub(super) fn judged_unit(&mut self, verdict: unit::Verdict, span: Span) -> Option<Unit> {
        let fixes: Vec<_> = verdict
            .safe
            .iter()
            .map(|safe| Edit {
                span,
                text: safe.clone(),
            })
            .collect();
        match verdict.remark {
            unit::Remark::None => {}
            unit::Remark::Spelling => {
                self.mark(MarkKind::Phrase(Phrase::Spelling), span, fixes.clone());
            }
            unit::Remark::Risky => {
                let safe = verdict.safe.clone().unwrap_or_default();
                self.mark(MarkKind::RiskyUnit { safe }, span, fixes.clone());
            }
            unit::Remark::Unknown | unit::Remark::Pounds => {
                self.whole = false;
                self.mark(MarkKind::UnknownUnit, span, fixes);
                return None;
            }
        }
        if verdict.order {
            self.mark(MarkKind::Phrase(Phrase::UnitOrder), span, fixes);
        }
        verdict.unit
    }

    /// Pounds and ounces have no value; what they are in kg is exact.
    fn pounds(&mut self, written: &mut Written, unit: &str) {
        self.whole = false;
        let fix = written
            .value
            .take()
            .and_then(|value| decimal(&(value * kilograms(unit)?)))
            .map(|value| Edit {
                span: written.span,
                text: format!("{value} kg"),
            });
        written.unit = WrittenUnit::Unknown;
        self.mark(MarkKind::Pounds, written.span, fix.into_iter().collect());
    }

    /// A compound time: whole parts in falling units, counted in the last.
    fn compound(
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
            let (_, unit, _) = split(&text[start..]);
            if unit.end == 0 || start + unit.end > text.len() {
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
            let weighed = &text[start + unit.start..start + unit.end];
            match (pounds.take(), self.marks.last()) {
                (Some(sum), Some(mark)) if mark.kind == MarkKind::Pounds => {
                    let number = &text[start..start + unit.start];
                    let number = number::judge(number.trim_end(), self.style.digit_groups);
                    pounds = number
                        .value
                        .and_then(|value| Some(sum + value * kilograms(weighed)?));
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
        if let Some(sum) = pounds {
            self.whole = false;
            written.unit = WrittenUnit::Unknown;
            let fix = decimal(&sum).map(|value| Edit {
                span: whole,
                text: format!("{value} kg"),
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
    fn add_part(&mut self, total: &mut Option<(Exact, Unit)>, part: &Written) -> bool {
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

    fn dash(&mut self, source: &super::source::Source<'_>, token: Token, start: usize) {
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

    fn two_sided(&mut self, first: Token, place: Place) -> Option<Range> {
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
                let unit = high.unit_span;
                let fix = mark.fixes.first().map(|fix| fix.text.clone());
                let unit = self.text_at(second, unit);
                let low = low
                    .value
                    .take()
                    .and_then(|value| decimal(&(value * kilograms(&unit)?)));
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
    fn fits_alone(&mut self, unit: Unit) {
        let unit = unit::spell(unit, self.style);
        if let Some(mark) = self.marks.last_mut()
            && let MarkKind::MissingUnit { fits } = &mut mark.kind
        {
            mark.fixes.truncate(1);
            for fix in &mut mark.fixes {
                fix.text = format!(" {unit}");
            }
            *fits = vec![unit];
        }
    }

    /// The text of a unit at the end of its token.
    fn text_at(&self, token: Token, unit: Span) -> String {
        let text = &self.source.text[token.start..token.end];
        let length = (unit.end - unit.start) as usize;
        text.get(text.len().saturating_sub(length)..)
            .unwrap_or("")
            .to_owned()
    }

    /// The quantity of the next token.
    pub(super) fn take_quantity(&mut self, place: Place) -> Option<Written> {
        let token = self.advance()?;
        Some(self.quantity(token, place))
    }
}

fn is_time(unit: WrittenUnit) -> bool {
    unit.known()
        .is_some_and(|unit| unit.dimension() == Dimension::TIME)
}

/// A number as plain decimal digits; `None` where they do not end, or are
/// more than a number may have.
fn decimal(value: &Exact) -> Option<String> {
    let decimals = value.decimals()?;
    let scaled = (value * &Exact::ten_to(i32::try_from(decimals).ok()?)).to_i64()?;
    let digits = scaled.to_string();
    let decimals = usize::try_from(decimals).ok()?;
    if digits.len().max(decimals + 1) > 12 || scaled < 0 {
        return None;
    }
    let padded = format!("{digits:0>width$}", width = decimals + 1);
    let (whole, fraction) = padded.split_at(padded.len() - decimals);
    Some(if fraction.is_empty() {
        whole.to_owned()
    } else {
        format!("{whole}.{fraction}")
    })
}

/// What one of the unit is in kilograms: the international pound is exactly
/// 0.45359237 kg, the ounce a sixteenth of it (agreement of 1959, from
/// memory).
fn kilograms(unit: &str) -> Option<Exact> {
    if unit.contains('/') {
        return None;
    }
    let pound = Exact::ratio(45_359_237, 100_000_000)?;
    if unit.to_ascii_lowercase().starts_with('o') {
        Some(pound * Exact::ratio(1, 16)?)
    } else {
        Some(pound)
    }
}

/// How a quantity's token divides: number, unit, and what is left.
fn split(text: &str) -> (Part, Part, &str) {
    let end = text.find(' ').unwrap_or(text.len());
    let first = &text[..end];
    let number = number::end(first);
    if number < first.len() {
        // A unit without a blank.
        let number_part = Part {
            start: 0,
            end: number,
        };
        let unit = Part { start: number, end };
        return (number_part, unit, &text[end..]);
    }
    let mut number_end = end;
    let mut at = end;
    loop {
        let rest = &text[at..];
        let start = at + rest.len() - rest.trim_start_matches(' ').len();
        if start == text.len() {
            let none = Part {
                start: number_end,
                end: number_end,
            };
            let number = Part {
                start: 0,
                end: number_end,
            };
            return (number, none, "");
        }
        let end = text[start..]
            .find(' ')
            .map_or(text.len(), |length| start + length);
        let part = &text[start..end];
        let numeric = part.starts_with(|c: char| c.is_ascii_digit() || c == '.' || c == '-');
        if numeric && number::end(part) == part.len() {
            number_end = end;
            at = end;
            continue;
        }
        let number = Part {
            start: 0,
            end: number_end,
        };
        return (number, Part { start, end }, &text[end..]);
    }
}
