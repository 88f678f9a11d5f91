//! Worked examples.

use smol_str::SmolStr;

use super::Reader;
use super::places::Place;
use crate::ast::{Expect, ExpectMeasure, Fact};
use crate::parse::{Rule, Token};
use crate::words::EXPECT_MEASURES;
use crate::{Edit, MarkKind, Phrase, Spanned, Written, WrittenUnit};

impl Reader<'_> {
    pub(super) fn expect(&mut self) -> Option<Fact> {
        if self.skip(Rule::finding) {
            let token = self.advance()?;
            return Some(Fact::ExpectFinding(self.rule_name(token)));
        }
        let first = self.advance()?;
        let last = self.next_if(Rule::word).unwrap_or(first);
        let measure = self.expect_measure(first, last);
        let place = expect_place(&measure.value).expected();
        let mut expect = Expect {
            measure,
            value: self.take_quantity(place)?,
            per_day: false,
            at: Vec::new(),
            phase: None,
        };
        while let Some(token) = self.advance() {
            match token.rule {
                Rule::per_day => expect.per_day = true,
                Rule::at => {
                    let at = self.take_quantity(Place::PATIENT.expected())?;
                    expect.at.reserve_exact(1);
                    expect.at.push(at);
                }
                Rule::in_ => {
                    let token = self.advance()?;
                    expect.phase = Some(self.phase_name(token));
                }
                _ => {}
            }
        }
        self.total_per_day(&mut expect);
        Some(Fact::Expect(Box::new(expect)))
    }

    /// `expect total 2 g/day`: read as `2 g per day`.
    pub(super) fn total_per_day(&mut self, expect: &mut Expect) {
        let day = match (&expect.measure.value, expect.value.unit) {
            (ExpectMeasure::Total, WrittenUnit::Known(unit)) => super::unit::without_day(unit),
            _ => None,
        };
        if let Some(unit) = day {
            self.per_day_mark(&expect.value, unit, !expect.per_day);
            expect.value.unit = WrittenUnit::Known(unit);
            expect.per_day = true;
        }
    }

    /// `…/day` where `per day` is meant.
    pub(super) fn per_day_mark(&mut self, value: &Written, unit: gutta_quantity::Unit, say: bool) {
        let mut text = self.style.unit(unit);
        if say {
            text.push_str(" per day");
        }
        let fix = Edit {
            span: value.unit_span,
            text,
        };
        self.mark(MarkKind::Phrase(Phrase::PerDay), value.unit_span, vec![fix]);
    }

    pub(super) fn expect_measure(&mut self, first: Token, last: Token) -> Spanned<ExpectMeasure> {
        let span = self.place(first).to(self.place(last));
        let text = self.source.text[first.start..last.end].to_owned();
        let words: Vec<_> = text.split(' ').filter(|word| !word.is_empty()).collect();
        let phrase = words.join(" ");
        let known = |same: fn(&str, &str) -> bool| {
            EXPECT_MEASURES
                .iter()
                .find(|(measure, _)| same(measure, &phrase))
        };
        if let Some((_, measure)) = known(str::eq) {
            return Spanned::new(measure.clone(), span);
        }
        if let Some((text, measure)) = known(str::eq_ignore_ascii_case) {
            let fix = Edit {
                span,
                text: (*text).to_owned(),
            };
            self.mark(MarkKind::Phrase(Phrase::Capital), span, vec![fix]);
            return Spanned::new(measure.clone(), span);
        }
        if first.start == last.start {
            let name = self.name(first);
            return Spanned::new(ExpectMeasure::Substance(name.value), span);
        }
        let fixes = super::near::nearest(&phrase, EXPECT_MEASURES.iter().map(|(word, _)| *word))
            .map(|near| Edit {
                span,
                text: near.to_owned(),
            })
            .into_iter()
            .collect();
        self.unreadable(span, vec!["a measure".to_owned()], None, fixes);
        Spanned::new(ExpectMeasure::Substance(SmolStr::new(phrase)), span)
    }
}

fn expect_place(measure: &ExpectMeasure) -> Place {
    use ExpectMeasure as M;
    match measure {
        M::Flow | M::PumpFlow => Place::FLOW,
        M::Strength | M::TrueStrength | M::Substance(_) => Place::STRENGTH,
        M::Drops | M::Dose => Place::RATE,
        M::Time | M::BolusTime => Place::TIME,
        M::Draw | M::Volume | M::Fluid => Place::VOLUME,
        M::Bolus | M::Total => Place::AMOUNT,
    }
}
