//! The facts of a drug, and waivers.

use super::Reader;
use super::places::Place;
use crate::ast::{
    Bound, Conditions, Equals, Fact, Limit, LimitMeasure, Never, NeverWhat, Supplied, Usual, Waive,
    WaiveBound, Window,
};
use crate::parse::{Rule, Token};
use crate::words::EXPECT_MEASURES;
use crate::{Edit, MarkKind, Phrase, Spanned, Why, WrittenUnit};

impl Reader<'_> {
    /// `contains SUBSTANCE STRENGTH`.
    pub(super) fn contains(&mut self) -> Option<Fact> {
        let substance = self.take_drug_name()?;
        let is_measure = |(word, _): &(&str, _)| *word == substance.value;
        if EXPECT_MEASURES.iter().any(is_measure) {
            self.unreadable(
                substance.span,
                vec!["a substance".to_owned()],
                Some(Why::Other(format!(
                    "`{}` is a measure, and cannot be the name of a substance",
                    substance.value
                ))),
                Vec::new(),
            );
        }
        let strength = Box::new(self.take_quantity(Place::STRENGTH)?);
        Some(Fact::Contains {
            substance,
            strength,
        })
    }

    /// `dosed in UNIT`.
    pub(super) fn dosed_in(&mut self) -> Option<Fact> {
        let token = self.advance()?;
        let span = self.place(token);
        let verdict = super::unit::judge(self.token_text(token), self.style);
        let unit = self.judged_unit(verdict, span);
        let unit = unit.map_or(WrittenUnit::Unknown, WrittenUnit::Known);
        Some(Fact::DosedIn(Spanned::new(unit, span)))
    }

    /// `equals Q, Q, …`.
    pub(super) fn equals(&mut self) -> Option<Fact> {
        let mut amounts = vec![self.take_quantity(Place::AMOUNT)?];
        while self.skip(Rule::comma) {
            amounts.push(self.take_quantity(Place::AMOUNT)?);
        }
        Some(Fact::Equals(Equals(amounts)))
    }

    pub(super) fn supplied(&mut self) -> Option<Supplied> {
        let first = self.take_quantity(Place::SUPPLIED)?;
        let volume = if self.skip(Rule::in_) {
            Some(self.take_quantity(Place::VOLUME)?)
        } else {
            None
        };
        let per_volume = first
            .unit
            .known()
            .is_some_and(|unit| unit.dimension().volume < 0);
        Some(match volume {
            Some(volume) if !per_volume => Supplied::Amount {
                amount: first,
                volume,
            },
            None if !per_volume && self.whole => {
                self.unreadable(
                    first.span,
                    vec!["`in` and the container's volume".to_owned()],
                    Some(Why::Other(
                        "an amount by itself does not state the volume in which it is supplied"
                            .to_owned(),
                    )),
                    Vec::new(),
                );
                return None;
            }
            volume => Supplied::Strength {
                strength: first,
                volume,
            },
        })
    }

    fn measure(&mut self, token: Token) -> Option<Spanned<LimitMeasure>> {
        let words = self
            .token_text(token)
            .split(' ')
            .filter(|word| !word.is_empty());
        let measure = LimitMeasure::ALL
            .into_iter()
            .find(|measure| words.clone().eq(measure.phrase().split(' ')))?;
        Some(Spanned::new(measure, self.place(token)))
    }

    pub(super) fn usual(&mut self) -> Option<Usual> {
        let token = self.advance()?;
        let measure = self.measure(token)?;
        let range = self.range(limit_place(measure.value), true)?;
        let mut limit = Limit {
            measure,
            bound: Bound::Within(range),
            window: None,
        };
        self.window(&mut limit)?;
        let conditions = self.conditions()?;
        Some(Usual { limit, conditions })
    }

    pub(super) fn never(&mut self) -> Option<Never> {
        let what = match self.tokens.get(self.next)?.rule {
            Rule::by => {
                self.next += 1;
                NeverWhat::By(self.take_routes())
            }
            Rule::in_ => {
                self.next += 1;
                NeverWhat::In(self.take_names(Self::name))
            }
            Rule::undiluted => {
                self.next += 1;
                NeverWhat::Undiluted
            }
            _ => {
                let token = self.advance()?;
                let measure = self.measure(token)?;
                let above = self.skip(Rule::above);
                if !above {
                    self.skip(Rule::below);
                }
                let value = self.take_quantity(limit_place(measure.value))?;
                let mut limit = Limit {
                    measure,
                    bound: if above {
                        Bound::NotAbove(value)
                    } else {
                        Bound::NotBelow(value)
                    },
                    window: None,
                };
                self.window(&mut limit)?;
                NeverWhat::Limit(limit)
            }
        };
        let conditions = self.conditions()?;
        let except = match self.next_if(Rule::except) {
            Some(token) => Some(self.exceptions(token)?),
            None => None,
        };
        Some(Never {
            what,
            conditions,
            except,
        })
    }

    fn exceptions(&mut self, word: Token) -> Option<Spanned<Vec<Conditions>>> {
        let mut alternatives = vec![self.conditions()?];
        while self.skip(Rule::comma) {
            alternatives.push(self.conditions()?);
        }
        let end = self
            .tokens
            .iter()
            .rev()
            .find(|token| token.rule != Rule::end)?;
        let span = self.place(word).to(self.place(*end));
        Some(Spanned::new(alternatives, span))
    }

    /// `per day`, `in any TIME`, and what is read in their place.
    fn window(&mut self, limit: &mut Limit) -> Option<()> {
        let start = self.next;
        let window = match self.tokens.get(self.next)?.rule {
            Rule::per_day => {
                let token = self.advance()?;
                Some(Spanned::new(Window::PerDay, self.place(token)))
            }
            Rule::daily => {
                let token = self.advance()?;
                let span = self.place(token);
                let safe = "per day".to_owned();
                let fix = Edit {
                    span,
                    text: safe.clone(),
                };
                self.mark(MarkKind::RiskyUnit { safe }, span, vec![fix]);
                Some(Spanned::new(Window::PerDay, span))
            }
            Rule::in_any => {
                let token = self.advance()?;
                let time = self.take_quantity(Place::TIME)?;
                let span = self.place(token).to(time.span);
                Some(Spanned::new(Window::InAny(time), span))
            }
            _ => None,
        };
        limit.window = window;
        self.total_by_unit(limit);
        if limit.window.is_none() || limit.measure.value == LimitMeasure::Total {
            return Some(());
        }
        if limit.measure.value == LimitMeasure::Dose
            && !matches!(&limit.window, Some(window) if matches!(window.value, Window::InAny(_)))
        {
            // `dose … per day` is a total.
            let fix = Edit {
                span: limit.measure.span,
                text: "total".to_owned(),
            };
            self.mark(
                MarkKind::Phrase(Phrase::PerDay),
                limit.measure.span,
                vec![fix],
            );
            limit.measure.value = LimitMeasure::Total;
            return Some(());
        }
        let token = self.tokens.get(start).copied()?;
        let span = limit
            .window
            .as_ref()
            .map_or_else(|| self.place(token), |window| window.span);
        self.unreadable(
            span,
            Vec::new(),
            Some(Why::Other(
                "`per day` and `in any TIME` are for `total` only".to_owned(),
            )),
            Vec::new(),
        );
        Some(())
    }

    /// `total … g/day` is read as `total … g per day`.
    fn total_by_unit(&mut self, limit: &mut Limit) {
        if limit.measure.value != LimitMeasure::Total {
            return;
        }
        let mut ends: Vec<&mut crate::Written> = match &mut limit.bound {
            Bound::Within(range) => [range.low.as_mut(), range.high.as_mut()]
                .into_iter()
                .flatten()
                .collect(),
            Bound::NotAbove(value) | Bound::NotBelow(value) => vec![value],
        };
        let mut found = None;
        for end in &mut ends {
            if let WrittenUnit::Known(unit) = end.unit
                && let Some(unit) = super::unit::without_day(unit)
            {
                end.unit = WrittenUnit::Known(unit);
                found = Some((unit, end.unit_span));
                if !end.unit_span.is_empty() {
                    let say = limit.window.is_none();
                    let end = (**end).clone();
                    self.per_day_mark(&end, unit, say && found.is_some());
                }
            }
        }
        if let Some((_, span)) = found
            && limit.window.is_none()
        {
            limit.window = Some(Spanned::new(Window::PerDay, span));
        }
    }

    fn conditions(&mut self) -> Option<Conditions> {
        let mut conditions = Conditions::default();
        while let Some(token) = self.tokens.get(self.next).copied() {
            let again = match token.rule {
                Rule::by => !conditions.routes.is_empty(),
                Rule::in_ => !conditions.areas.is_empty(),
                Rule::for_ => conditions.patients.is_some(),
                Rule::aged => conditions.aged.is_some(),
                Rule::as_ => !conditions.purposes.is_empty(),
                Rule::after_the_first => conditions.after_first.is_some(),
                _ => break,
            };
            self.next += 1;
            if again {
                let span = self.place(token);
                self.unreadable(
                    span,
                    Vec::new(),
                    Some(Why::Other(
                        "only one condition of each kind is allowed in a line".to_owned(),
                    )),
                    Vec::new(),
                );
            }
            match token.rule {
                Rule::by => conditions.routes = self.take_routes(),
                Rule::in_ => conditions.areas = self.take_names(Self::name),
                Rule::for_ => conditions.patients = Some(self.range(Place::PATIENT.band(), false)?),
                Rule::aged => conditions.aged = Some(self.range(Place::AGE.band(), false)?),
                Rule::as_ => conditions.purposes = self.take_names(Self::name),
                _ => conditions.after_first = Some(self.take_quantity(Place::TIME)?),
            }
        }
        Some(conditions)
    }

    pub(super) fn waive(&mut self) -> Option<Waive> {
        let token = self.advance()?;
        let rule = self.rule_name(token);
        let mut waive = Waive {
            rule,
            bound: None,
            because: None,
            until: None,
        };
        if self.skip(Rule::of) {
            let token = self.advance()?;
            let measure = self.measure(token)?;
            let up = self.skip(Rule::up_to);
            if !up {
                self.skip(Rule::down_to);
            }
            let quantity = self.take_quantity(limit_place(measure.value))?;
            waive.bound = Some(WaiveBound {
                measure,
                up,
                quantity,
            });
        }
        if self.skip(Rule::because) {
            waive.because = self.take_reason();
        }
        if self.skip(Rule::until) {
            waive.until = Some(self.take_date()?);
        }
        Some(waive)
    }
}

/// What stands after a limit's measure.
const fn limit_place(measure: LimitMeasure) -> Place {
    use LimitMeasure as M;
    match measure {
        M::Dose => Place::DOSE,
        M::Flow => Place::FLOW,
        M::SingleDose | M::Bolus | M::Total => Place::AMOUNT,
        M::Interval | M::BolusTime | M::Time => Place::TIME,
        M::Strength => Place::STRENGTH,
        M::Osmolarity => Place::OSMOLARITY,
        M::BolusRate => Place::RATE,
    }
}
