//! Through the facts, piece by piece.

use super::super::{
    Bag, BagInto, Bound, Conditions, Dose, Expect, ExpectMeasure, Fact, Limit, Name, Never,
    NeverWhat, Range, Repeat, Route, Run, Steps, Supplied, Then, Waive, What, Window, Written,
};
use super::{NameOf, Piece};
use crate::Spanned;

pub(super) struct Pieces<F>(pub(super) F);

impl<'a, F: FnMut(Piece<'a>)> Pieces<F> {
    fn push(&mut self, piece: Piece<'a>) {
        self.0(piece);
    }

    fn one(&mut self, written: &'a Written) {
        self.push(Piece::Quantity(written));
    }

    fn maybe(&mut self, written: Option<&'a Written>) {
        if let Some(written) = written {
            self.one(written);
        }
    }

    fn all(&mut self, written: &'a [Written]) {
        written.iter().for_each(|written| self.one(written));
    }

    fn name(&mut self, of: NameOf, name: &'a Name) {
        self.push(Piece::Name(of, name.span, &name.value));
    }

    fn names(&mut self, of: NameOf, names: &'a [Name]) {
        names.iter().for_each(|name| self.name(of, name));
    }

    fn routes(&mut self, routes: &[Spanned<Route>]) {
        routes
            .iter()
            .for_each(|route| self.push(Piece::Route(route.span)));
    }

    fn range(&mut self, range: &'a Range) {
        self.maybe(range.low.as_ref());
        // The ends of a single quantity are one.
        let low = range.low.as_ref().map(|low| low.span);
        self.maybe(range.high.as_ref().filter(|high| low != Some(high.span)));
    }

    fn dose(&mut self, dose: &'a Dose) {
        self.one(&dose.amount);
        self.maybe(dose.lid.as_ref());
    }

    fn conditions(&mut self, conditions: &'a Conditions) {
        let Conditions {
            routes,
            areas,
            patients,
            aged,
            purposes,
            after_first,
        } = conditions;
        self.routes(routes);
        self.names(NameOf::Area, areas);
        for range in [patients, aged].into_iter().flatten() {
            self.range(range);
        }
        self.names(NameOf::Purpose, purposes);
        self.maybe(after_first.as_ref());
    }

    fn limit(&mut self, limit: &'a Limit) {
        self.push(Piece::Measure(limit.measure.span));
        match &limit.bound {
            Bound::Within(range) => self.range(range),
            Bound::NotAbove(written) | Bound::NotBelow(written) => self.one(written),
        }
        if let Some(window) = &limit.window
            && let Window::InAny(time) = &window.value
        {
            self.one(time);
        }
    }

    fn never(&mut self, never: &'a Never) {
        match &never.what {
            NeverWhat::Limit(limit) => self.limit(limit),
            NeverWhat::By(routes) => self.routes(routes),
            NeverWhat::In(areas) => self.names(NameOf::Area, areas),
            NeverWhat::Undiluted => {}
        }
        self.conditions(&never.conditions);
        let except = never.except.iter().flat_map(|except| &except.value);
        except.for_each(|conditions| self.conditions(conditions));
    }

    fn bag(&mut self, bag: &'a Bag) {
        match bag {
            Bag::Mix { drug, into } => {
                self.dose(drug);
                match into {
                    BagInto::MadeUpTo { volume, solution } => {
                        self.one(volume);
                        self.name(NameOf::Solution, solution);
                    }
                    BagInto::AddedTo {
                        volume,
                        solution,
                        counted_as,
                    } => {
                        self.one(volume);
                        self.name(NameOf::Solution, solution);
                        self.maybe(counted_as.as_ref());
                    }
                }
            }
            Bag::Premixed {
                amount,
                volume,
                solution,
            } => {
                self.one(amount);
                self.one(volume);
                if let Some(solution) = solution {
                    self.name(NameOf::Solution, solution);
                }
            }
            Bag::Hang { volume, solution } => {
                self.one(volume);
                self.name(NameOf::Solution, solution);
            }
            Bag::Undiluted { volume } => self.one(volume),
        }
    }

    fn run(&mut self, run: &'a Run) {
        if let Some(What::Amount(dose)) = &run.what {
            self.dose(dose);
        }
        run.ways.iter().for_each(|way| self.one(way.written()));
        self.maybe(run.dose_lid.as_ref());
        let Some(every) = &run.every else { return };
        self.one(&every.interval);
        match &every.repeat {
            Some(Repeat::For(time)) => self.one(time),
            Some(Repeat::Doses(count)) => self.push(Piece::Count(count.span)),
            None => {}
        }
    }

    fn expect(&mut self, expect: &'a Expect) {
        let span = expect.measure.span;
        self.push(match &expect.measure.value {
            ExpectMeasure::Substance(name) => Piece::Name(NameOf::Substance, span, name),
            _ => Piece::Measure(span),
        });
        self.one(&expect.value);
        self.all(&expect.at);
        if let Some(phase) = &expect.phase {
            self.name(NameOf::PhaseMention, phase);
        }
    }

    fn waive(&mut self, waive: &'a Waive) {
        let Waive {
            rule,
            bound,
            because,
            until,
        } = waive;
        self.push(Piece::Rule(rule.span));
        if let Some(bound) = bound {
            self.push(Piece::Measure(bound.measure.span));
            self.one(&bound.quantity);
        }
        if let Some(because) = because {
            self.push(Piece::Text(because.span));
        }
        if let Some(until) = until {
            self.push(Piece::Date(until.span));
        }
    }

    pub(super) fn fact(&mut self, fact: &'a Fact) {
        match fact {
            Fact::Unreadable | Fact::HighAlert => {}
            Fact::PumpFlow { range, step } => {
                self.range(range);
                self.maybe(step.as_deref());
            }
            Fact::PumpVolume(range)
            | Fact::PumpBolus(range)
            | Fact::Patient { range, .. }
            | Fact::DosingWeight(range)
            | Fact::Fluid(range) => self.range(range),
            Fact::Load { substance, range } => {
                self.name(NameOf::Load, substance);
                self.range(range);
            }
            Fact::Accuracy(written)
            | Fact::DropFactor(written)
            | Fact::Priming(written)
            | Fact::Ceiling(written)
            | Fact::BolusCeiling(written)
            | Fact::Osmolarity(written)
            | Fact::HangTime(written)
            | Fact::Prime(written)
            | Fact::ChangeBag(written) => self.one(written),
            Fact::Drug(name) => self.name(NameOf::Drug, name),
            Fact::Area(area) => {
                if let Some(name) = &area.value {
                    self.push(Piece::Name(NameOf::Area, area.span, name));
                }
            }
            Fact::Route(route) => {
                if route.value.is_some() {
                    self.push(Piece::Route(route.span));
                }
            }
            Fact::Pump(name) => self.name(NameOf::Pump, name),
            Fact::GivingSet(name) => self.name(NameOf::GivingSet, name),
            Fact::Purpose(name) => self.name(NameOf::Purpose, name),
            Fact::Contains {
                substance,
                strength,
            } => {
                self.name(NameOf::Content, substance);
                self.one(strength);
            }
            Fact::Also(names) => self.names(NameOf::Also, names),
            Fact::Class(names) => self.names(NameOf::Class, names),
            Fact::DosedIn(unit) => self.push(Piece::Unit(unit.span)),
            Fact::Supplied(supplied) => match &**supplied {
                Supplied::Amount { amount, volume } => {
                    self.one(amount);
                    self.one(volume);
                }
                Supplied::Strength { strength, volume } => {
                    self.one(strength);
                    self.maybe(volume.as_ref());
                }
            },
            Fact::With(names) => self.names(NameOf::With, names),
            Fact::NotWith(names) => self.names(NameOf::NotWith, names),
            Fact::OnlyBy(routes) => self.routes(routes),
            Fact::Usual(usual) => {
                self.limit(&usual.limit);
                self.conditions(&usual.conditions);
            }
            Fact::Never(never) => self.never(never),
            Fact::Equals(equals) => self.all(&equals.0),
            Fact::Bag(bag) => self.bag(bag),
            Fact::Run(run) => self.run(run),
            Fact::Bolus(bolus) => {
                self.dose(&bolus.dose);
                self.one(bolus.way.written());
            }
            Fact::Adjust(adjust) => {
                match &adjust.steps {
                    Steps::By { range, step } => {
                        self.range(range);
                        self.one(step);
                    }
                    Steps::List(list) => self.all(list),
                }
                self.one(&adjust.every);
            }
            Fact::Flush { volume, solution } => {
                self.one(volume);
                self.name(NameOf::Solution, solution);
            }
            Fact::Then(then) => match &**then {
                Then::Stop => {}
                Then::Renew { lasting } => self.maybe(lasting.as_ref()),
                Then::KeepOpen { flow, solution } => {
                    self.one(flow);
                    if let Some(solution) = solution {
                        self.name(NameOf::Solution, solution);
                    }
                }
            },
            Fact::Phase { name, title } => {
                self.name(NameOf::Phase, name);
                if let Some(title) = title {
                    self.push(Piece::Text(title.span));
                }
            }
            Fact::Expect(expect) => self.expect(expect),
            Fact::ExpectFinding(name) => self.push(Piece::Rule(name.span)),
            Fact::Include(names) => self.names(NameOf::Order, names),
            Fact::LineMembers { line, members } => {
                self.name(NameOf::Line, line);
                self.names(NameOf::Order, members);
            }
            Fact::Waive(waive) => self.waive(waive),
            Fact::Words { text, .. } => self.push(Piece::Text(text.span)),
            Fact::ReviewBy(date) => self.push(Piece::Date(date.span)),
        }
    }
}
