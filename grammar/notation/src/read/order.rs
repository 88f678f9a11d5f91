//! The facts of orders, sets, areas, pumps and solutions.

use super::Reader;
use super::places::Place;
use crate::ast::{Bag, BagInto, Dose, Fact, PatientKind, Range, Then, WordsKind};
use crate::parse::Rule;
use crate::{Edit, MarkKind, Phrase, Span, Spanned, Written, WrittenUnit};

impl Reader<'_> {
    /// `flow RANGE [in steps of Q]`.
    pub(super) fn pump_flow(&mut self) -> Option<Fact> {
        let range = Box::new(self.range(Place::FLOW, false)?);
        let step = if self.skip(Rule::in_steps_of) {
            Some(Box::new(self.take_quantity(Place::FLOW)?))
        } else {
            None
        };
        Some(Fact::PumpFlow { range, step })
    }

    /// `area NAME`, `area any`.
    pub(super) fn area(&mut self) -> Option<Fact> {
        let token = self.advance()?;
        let span = self.place(token);
        let area = match token.rule {
            Rule::any => None,
            _ => Some(self.name(token).value),
        };
        Some(Fact::Area(Spanned::new(area, span)))
    }

    /// `route ROUTE`, `route any`.
    pub(super) fn route_line(&mut self) -> Option<Fact> {
        let token = self.advance()?;
        Some(match token.rule {
            Rule::any => Fact::Route(Spanned::new(None, self.place(token))),
            _ => {
                let route = self.route(token)?;
                Fact::Route(Spanned::new(Some(route.value), route.span))
            }
        })
    }

    pub(super) fn premixed(&mut self) -> Option<Fact> {
        let amount = self.take_quantity(Place::SUPPLIED)?;
        self.skip(Rule::in_);
        let volume = self.take_quantity(Place::VOLUME)?;
        let solution = if self.skip(Rule::of) {
            Some(self.take_name()?)
        } else {
            None
        };
        Some(bag(Bag::Premixed {
            amount,
            volume,
            solution,
        }))
    }

    pub(super) fn hang(&mut self) -> Option<Fact> {
        let volume = self.take_quantity(Place::VOLUME)?;
        self.skip(Rule::of);
        let solution = self.take_drug_name()?;
        Some(bag(Bag::Hang { volume, solution }))
    }

    pub(super) fn undiluted(&mut self) -> Option<Fact> {
        let volume = self.take_quantity(Place::VOLUME)?;
        Some(bag(Bag::Undiluted { volume }))
    }

    pub(super) fn change_bag(&mut self) -> Option<Fact> {
        self.skip(Rule::every);
        Some(Fact::ChangeBag(self.take_quantity(Place::TIME)?))
    }

    pub(super) fn flush(&mut self) -> Option<Fact> {
        let volume = Box::new(self.take_quantity(Place::VOLUME)?);
        self.skip(Rule::with);
        let solution = self.take_name()?;
        Some(Fact::Flush { volume, solution })
    }

    pub(super) fn phase(&mut self) -> Option<Fact> {
        let token = self.advance()?;
        Some(Fact::Phase {
            name: self.phase_name(token),
            title: self.take_text().map(Box::new),
        })
    }

    pub(super) fn line_members(&mut self) -> Option<Fact> {
        let line = Box::new(self.take_name()?);
        self.skip(Rule::colon);
        let members = self.take_names(Self::name);
        Some(Fact::LineMembers { line, members })
    }

    pub(super) fn load(&mut self) -> Option<Fact> {
        let substance = self.take_name()?;
        let range = Box::new(self.range(Place::LOAD, false)?);
        Some(Fact::Load { substance, range })
    }

    pub(super) fn words(&mut self, kind: WordsKind) -> Option<Fact> {
        let text = self.take_text()?;
        Some(Fact::Words { kind, text })
    }

    /// A range that can only be `up to Q`.
    pub(super) fn up_to(&mut self, place: Place) -> Option<Box<Range>> {
        let range = self.range(place, false)?;
        if let Some(low) = range.low.as_ref().filter(|_| self.whole) {
            let span = low.span;
            let fixes = match &range.high {
                Some(high) => vec![Edit {
                    span: Span::new(range.span.start, high.span.start),
                    text: "up to ".to_owned(),
                }],
                None => Vec::new(),
            };
            self.unreadable(span, vec!["`up to`".to_owned()], None, fixes);
        }
        Some(Box::new(range))
    }

    pub(super) fn drop_factor(&mut self) -> Option<Written> {
        let token = self.advance()?;
        let mut written = self.quantity(token, Place::DROPS);
        let per = self.next_if(Rule::per);
        let Some(per) = per else {
            match written.unit {
                WrittenUnit::Missing => {
                    self.missing_unit(written.span, Place::DROPS);
                }
                WrittenUnit::Known(unit) if unit == gutta_quantity::units::DROPS_PER_ML => {
                    let fix = Edit {
                        span: written.unit_span,
                        text: "per mL".to_owned(),
                    };
                    self.mark(
                        MarkKind::Phrase(Phrase::WordOrder),
                        written.unit_span,
                        vec![fix],
                    );
                }
                _ if self.whole => self.not_per_ml(written.unit_span),
                _ => {}
            }
            return Some(written);
        };
        let volume = self.advance()?;
        let span = self.place(volume);
        let verdict = super::unit::judge(self.token_text(volume), self.style);
        let unit = self.judged_unit(verdict, span);
        let spare = written.unit != WrittenUnit::Missing
            && written.unit.known() != Some(gutta_quantity::units::DROPS);
        if spare || (unit.is_some() && unit != Some(gutta_quantity::units::ML)) {
            self.not_per_ml(if spare { written.unit_span } else { span });
        }
        written.unit = match unit {
            Some(_) if self.whole => WrittenUnit::Known(gutta_quantity::units::DROPS_PER_ML),
            _ => WrittenUnit::Unknown,
        };
        written.unit_span = self.place(per).to(span);
        written.span = written.span.to(span);
        Some(written)
    }

    fn not_per_ml(&mut self, span: Span) {
        self.unreadable(span, vec!["`per mL`".to_owned()], None, Vec::new());
    }

    pub(super) fn patient(&mut self) -> Option<Fact> {
        let token = self.advance()?;
        let (kind, place) = match token.rule {
            Rule::weight => (PatientKind::Weight, Place::WEIGHT),
            Rule::surface => (PatientKind::Surface, Place::SURFACE),
            _ => (PatientKind::Age, Place::AGE),
        };
        let range = Box::new(self.range(place, true)?);
        Some(Fact::Patient { kind, range })
    }

    pub(super) fn mix(&mut self) -> Option<Fact> {
        let amount = self.take_quantity(Place::AMOUNT)?;
        let mut lids = self.lids(true);
        let after = self.tokens.get(self.next)?.start;
        let made_up = self.skip(Rule::made_up_to);
        if !made_up && !self.skip(Rule::added_to) {
            return None;
        }
        let volume = self.take_quantity(Place::VOLUME)?;
        if !matches!(self.advance()?.rule, Rule::with | Rule::of) {
            return None;
        }
        let solution = self.take_drug_name()?;
        self.skip(Rule::comma);
        let counted_as = if self.skip(Rule::counted_as) {
            Some(self.take_quantity(Place::VOLUME)?)
        } else {
            // The comma was a lid's.
            if self.tokens.get(self.next).is_some() {
                self.next -= usize::from(self.tokens[self.next - 1].rule == Rule::comma);
            }
            None
        };
        let late = self.lids(false);
        for lid in late {
            self.move_lid(&lid, after, ", ");
            lids.push(lid);
        }
        let lid = self.single_lid(lids);
        let into = if made_up {
            BagInto::MadeUpTo { volume, solution }
        } else {
            BagInto::AddedTo {
                volume,
                solution,
                counted_as,
            }
        };
        Some(bag(Bag::Mix {
            drug: Dose { amount, lid },
            into,
        }))
    }

    pub(super) fn then(&mut self) -> Option<Fact> {
        let token = self.advance()?;
        let then = match token.rule {
            Rule::stop => Then::Stop,
            Rule::renew => Then::Renew {
                lasting: if self.skip(Rule::for_) {
                    Some(self.take_quantity(Place::TIME)?)
                } else {
                    None
                },
            },
            _ => Then::KeepOpen {
                flow: self.take_quantity(Place::RATE)?,
                solution: if self.skip(Rule::with) {
                    Some(self.take_name()?)
                } else {
                    None
                },
            },
        };
        Some(Fact::Then(Box::new(then)))
    }
}

fn bag(bag: Bag) -> Fact {
    Fact::Bag(Box::new(bag))
}
