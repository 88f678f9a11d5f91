//! Judging quantities and ranges: a number and its unit, as one token.

use gutta_quantity::{Atom, Exact, Unit, units};

use super::places::{Percent, Place};
use super::pounds::decimal;
use super::{Reader, glued, number, unit};
use crate::parse::Token;
use crate::{Edit, MarkKind, NoValue, Phrase, Span, Why, Written, WrittenUnit};

/// A part of a quantity's token: a number, or a unit.
#[derive(Clone, Copy, Debug)]
pub(super) struct Part {
    pub(super) start: usize,
    pub(super) end: usize,
}

impl Reader<'_> {
    /// A quantity, from its token.
    pub(super) fn quantity(&mut self, token: Token, place: Place) -> Written {
        let source = std::mem::take(&mut self.source);
        let written = self.judge_quantity(&source, token, place);
        self.source = source;
        written
    }

    pub(super) fn judge_quantity(
        &mut self,
        source: &super::source::Source<'_>,
        token: Token,
        place: Place,
    ) -> Written {
        let text = source.text.get(token.start..token.end).unwrap_or("");
        let (number, unit, rest) = split(text);
        let at = |part: Part| source.span(token.start + part.start, token.start + part.end);
        let together = (number.end == unit.start)
            .then(|| glued::judge(&text[..number.end], &text[unit.start..unit.end]))
            .flatten();
        if let Some(glued) = together {
            let whole = source.span(token.start, token.start + unit.end);
            return self.glued(glued, whole);
        }
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
            text: format!(" {}", self.style.unit(*unit)),
        });
        let kind = MarkKind::MissingUnit {
            fits: place.fits.to_vec(),
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
        let fixes = decimal(&value, self.style).map(|number| Edit {
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
            self.pounds(written, verdict.unit);
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
            let fits = place.fits.iter();
            self.unreadable(
                span,
                fits.map(|unit| self.style.unit(*unit)).collect(),
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
                .and_then(|days| decimal(&days, self.style))
                .map(|days| Edit {
                    span: written.span,
                    text: format!("{days} days"),
                });
            written.unit = WrittenUnit::Unknown;
            self.unreadable(
                span,
                vec!["`days`".to_owned(), "`h`".to_owned()],
                Some(Why::Other(
                    "`weeks`, `months` and `years` are for ages only".to_owned(),
                )),
                fix.into_iter().collect(),
            );
        }
    }

    /// The unit of a verdict, with its marks.
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
            unit::Remark::Pounds => self.mark(MarkKind::Pounds, span, Vec::new()),
            unit::Remark::Unknown => {
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

    /// The quantity of the next token.
    pub(super) fn take_quantity(&mut self, place: Place) -> Option<Written> {
        let token = self.advance()?;
        Some(self.quantity(token, place))
    }
}

/// How a quantity's token divides: number, unit, and what is left.
pub(super) fn split(text: &str) -> (Part, Part, &str) {
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
