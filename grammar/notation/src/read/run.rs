//! How an order runs: `run`, `bolus`, `adjust`.

use super::Reader;
use super::lid::Lid;
use super::places::Place;
use crate::ast::{Adjust, Bolus, Dose, Every, Fact, Repeat, Run, Steps, Way, What};
use crate::parse::{Rule, Token};
use crate::{Edit, MarkKind, NoValue, Spanned, Why, Written, WrittenUnit, words};

impl Reader<'_> {
    pub(super) fn way(&mut self) -> Option<Way> {
        if self.skip(Rule::at) {
            return Some(Way::At(self.take_quantity(Place::RATE)?));
        }
        if self.skip(Rule::over) {
            return Some(Way::Over(self.take_quantity(Place::TIME)?));
        }
        None
    }

    pub(super) fn run(&mut self) -> Option<Fact> {
        let mut amount = None;
        let mut all = None;
        if let Some(token) = self.next_if(Rule::all) {
            all = Some(self.place(token));
        } else if self.peek(Rule::amount).is_some() {
            amount = Some(self.take_quantity(Place::AMOUNT)?);
        }
        let early = self.lids(true);
        let way_start = self.tokens.get(self.next)?.start;
        let mut ways = Vec::with_capacity(1);
        let mut late: Vec<Lid> = Vec::new();
        while let Some(way) = self.way() {
            ways.push(way);
            late.extend(self.lids(false));
        }
        let ways_end = self.end_of_ways(&late);
        let every = self.every()?;
        let last = self.lids(false);
        let mut amount_lids = Vec::new();
        let mut dose_lids = Vec::new();
        let on_dose = |lid: &Lid| {
            lid.written
                .unit
                .known()
                .is_some_and(|unit| unit.dimension().time < 0)
        };
        let room = amount.is_some();
        for lid in early {
            if on_dose(&lid) || !room {
                self.misplaced(&lid);
                dose_lids.push(lid);
            } else {
                amount_lids.push(lid);
            }
        }
        for (lid, repeated) in late
            .into_iter()
            .map(|lid| (lid, false))
            .chain(last.into_iter().map(|lid| (lid, true)))
        {
            if on_dose(&lid) || !room {
                if repeated && every.is_some() {
                    self.move_lid(&lid, ways_end, " ");
                }
                dose_lids.push(lid);
            } else {
                self.move_lid(&lid, way_start, ", ");
                amount_lids.push(lid);
            }
        }
        let lid = self.single_lid(amount_lids);
        let dose_lid = self.single_lid(dose_lids);
        let what = match (all, amount) {
            (Some(span), _) => Some(What::All(span)),
            (None, Some(amount)) => Some(What::Amount(Dose { amount, lid })),
            (None, None) => None,
        };
        Some(Fact::Run(Box::new(Run {
            what,
            ways,
            dose_lid,
            every,
        })))
    }

    /// Where the ways of a run end, in the line's text.
    pub(super) fn end_of_ways(&self, lids: &[Lid]) -> usize {
        let before = self
            .tokens
            .get(self.next.wrapping_sub(1))
            .map_or(0, |token| token.end);
        lids.first().map_or(before, |lid| lid.text.0)
    }

    /// `every TIME [for …]`; the outer `None` is a mismatch.
    pub(super) fn every(&mut self) -> Option<Option<Every>> {
        if let Some(token) = self.next_if(Rule::daily) {
            let span = self.place(token);
            let safe = "every 24 h".to_owned();
            let fix = Edit {
                span,
                text: safe.clone(),
            };
            self.mark(MarkKind::RiskyUnit { safe }, span, vec![fix]);
            let interval = Written {
                value: Some(gutta_quantity::Exact::int(24)),
                decimals: 0,
                unit: WrittenUnit::Known(gutta_quantity::units::H),
                span,
                unit_span: span,
            };
            return Some(Some(Every {
                interval,
                repeat: None,
                span,
            }));
        }
        let Some(token) = self.next_if(Rule::every) else {
            return Some(None);
        };
        let interval = self.take_quantity(Place::TIME)?;
        let mut span = self.place(token).to(interval.span);
        let mut repeat = None;
        if self.skip(Rule::for_) {
            let token = self.advance()?;
            let place = self.place(token);
            span = span.to(place);
            let text = self.token_text(token).to_owned();
            repeat = Some(match text.split_once(' ') {
                Some((number, word)) if words::DOSES.contains(&word.trim()) => {
                    Repeat::Doses(Spanned::new(self.doses(number, token), place))
                }
                _ => Repeat::For(self.quantity(token, Place::TIME)),
            });
        }
        Some(Some(Every {
            interval,
            repeat,
            span,
        }))
    }

    /// `N` of `for N doses`: whole, at least 1.
    pub(super) fn doses(&mut self, number: &str, token: Token) -> Option<u32> {
        let span = self.at(token.start, token.start + number.len());
        let (value, ..) = self.number(number, span, Place::COUNT);
        let value = value?;
        let count = value
            .to_i64()
            .and_then(|count| u32::try_from(count).ok())
            .filter(|count| *count > 0);
        if count.is_none() {
            self.no_value(NoValue::Malformed, span);
        }
        count
    }

    pub(super) fn bolus(&mut self) -> Option<Fact> {
        let amount = self.take_quantity(Place::AMOUNT)?;
        let mut lids = self.lids(true);
        let way = self.way()?;
        lids.extend(self.lids(false));
        self.skip(Rule::comma);
        let each = self.next_if(Rule::each_time);
        if let Some(word) = each {
            let before = self.source.text[..word.start].trim_end();
            if !before.ends_with(',') {
                self.no_comma(word);
            }
        } else if self.next > 0 && self.tokens[self.next - 1].rule == Rule::comma {
            self.next -= 1;
        }
        let last = self.lids(false);
        for lid in last {
            if let Some(each) = each {
                let stop = self.source.text[..each.start]
                    .trim_end_matches([',', ' '])
                    .len();
                self.move_lid(&lid, stop, "");
            }
            lids.push(lid);
        }
        let lid = self.single_lid(lids);
        Some(Fact::Bolus(Box::new(Bolus {
            dose: Dose { amount, lid },
            way,
            each_time: each.is_some(),
        })))
    }

    pub(super) fn adjust(&mut self) -> Option<Fact> {
        let first = self.advance()?;
        let steps = if self.skip(Rule::to) {
            self.next -= 2;
            let range = self.range(Place::RATE, false)?;
            self.skip(Rule::by);
            let step = self.take_quantity(Place::RATE)?;
            Steps::By { range, step }
        } else {
            let mut tokens = vec![first];
            while self.skip(Rule::comma) {
                tokens.push(self.advance()?);
            }
            let steps = self.steps(&tokens);
            if let ([only], true) = (steps.as_slice(), self.whole) {
                let expected = vec!["`to`".to_owned(), "a comma and the next step".to_owned()];
                self.unreadable(only.span, expected, Some(Why::RangeWanted), Vec::new());
            }
            Steps::List(steps)
        };
        self.skip(Rule::every);
        let every = self.take_quantity(Place::TIME)?;
        Some(Fact::Adjust(Box::new(Adjust { steps, every })))
    }

    pub(super) fn steps(&mut self, tokens: &[Token]) -> Vec<Written> {
        let last = tokens.len().saturating_sub(1);
        let mut steps: Vec<Written> = Vec::with_capacity(tokens.len());
        for (place, token) in tokens.iter().enumerate() {
            let at = Place {
                bare: place < last,
                ..Place::RATE
            };
            steps.push(self.quantity(*token, at));
        }
        let unit = steps.last().map(|step| step.unit);
        for step in &mut steps {
            if let (WrittenUnit::Missing, Some(unit)) = (step.unit, unit) {
                step.unit = unit;
            }
        }
        let rising = steps
            .windows(2)
            .all(|pair| match (pair[0].quantity(), pair[1].quantity()) {
                (Some(low), Some(high)) => low.compare(&high) == Some(std::cmp::Ordering::Less),
                _ => true,
            });
        if !rising && let (Some(first), Some(last)) = (steps.first(), steps.last()) {
            let span = first.span.to(last.span);
            self.no_value(NoValue::FallingList, span);
        }
        steps
    }
}
