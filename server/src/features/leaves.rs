//! The pieces of a line that carry a meaning of their own, and where each
//! stands; what lies between them are the notation's words.

use gutta_notation::ast::{
    Bag, BagInto, Bolus, Bound, Conditions, Dose, Expect, ExpectMeasure, Limit, Never, NeverWhat,
    Range, Repeat, Route, Run, Steps, Supplied, Then, Usual, Waive, Way, What, Window,
};
use gutta_notation::{Fact, Line, Span, Spanned, Written};

/// A piece. Names that are resolved among stanzas are not among them: the
/// workspace knows these (`Workspace::references`).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Leaf {
    /// A number with its unit.
    Quantity,
    /// A unit alone.
    Unit,
    Text,
    Date,
    Route,
    Measure,
    /// The name of a rule.
    Rule,
    /// A name that the line declares.
    Substance,
    Also,
    Line,
    Phase,
    /// A phase that is mentioned.
    PhaseMention,
    Purpose,
}

/// Every piece of the line, in no order; spans count as the line's do.
pub(crate) fn leaves(line: &Line) -> Vec<(Span, Leaf)> {
    let mut found = Found(Vec::new());
    found.fact(&line.fact);
    found.0
}

struct Found(Vec<(Span, Leaf)>);

impl Found {
    fn push(&mut self, span: Span, leaf: Leaf) {
        if !span.is_empty() {
            self.0.push((span, leaf));
        }
    }

    fn quantity(&mut self, written: &Written) {
        self.push(written.span, Leaf::Quantity);
    }

    fn quantities<'a>(&mut self, written: impl IntoIterator<Item = &'a Written>) {
        written.into_iter().for_each(|one| self.quantity(one));
    }

    fn range(&mut self, range: &Range) {
        self.quantities(range.low.iter().chain(&range.high));
    }

    fn dose(&mut self, dose: &Dose) {
        self.quantity(&dose.amount);
        self.quantities(&dose.lid);
    }

    fn routes(&mut self, routes: &[Spanned<Route>]) {
        for route in routes {
            self.push(route.span, Leaf::Route);
        }
    }

    fn fact(&mut self, fact: &Fact) {
        match fact {
            Fact::Unreadable
            | Fact::Drug(_)
            | Fact::Area(_)
            | Fact::Pump(_)
            | Fact::GivingSet(_)
            | Fact::With(_)
            | Fact::NotWith(_)
            | Fact::HighAlert
            | Fact::Include(_) => {}
            Fact::PumpFlow { range, step } => {
                self.range(range);
                self.quantities(step.as_deref());
            }
            Fact::PumpVolume(range)
            | Fact::PumpBolus(range)
            | Fact::Patient { range, .. }
            | Fact::DosingWeight(range)
            | Fact::Fluid(range)
            | Fact::Load { range, .. } => self.range(range),
            Fact::Accuracy(written)
            | Fact::DropFactor(written)
            | Fact::Priming(written)
            | Fact::Ceiling(written)
            | Fact::BolusCeiling(written)
            | Fact::Osmolarity(written)
            | Fact::HangTime(written)
            | Fact::Prime(written)
            | Fact::ChangeBag(written) => self.quantity(written),
            Fact::Flush { volume, .. } => self.quantity(volume),
            Fact::Route(route) => {
                if route.value.is_some() {
                    self.push(route.span, Leaf::Route);
                }
            }
            Fact::Purpose(name) => self.push(name.span, Leaf::Purpose),
            Fact::Contains {
                substance,
                strength,
            } => {
                self.push(substance.span, Leaf::Substance);
                self.quantity(strength);
            }
            Fact::Also(names) => {
                for name in names {
                    self.push(name.span, Leaf::Also);
                }
            }
            Fact::DosedIn(unit) => self.push(unit.span, Leaf::Unit),
            Fact::Supplied(supplied) => match &**supplied {
                Supplied::Amount { amount, volume } => self.quantities([amount, volume]),
                Supplied::Strength { strength, volume } => {
                    self.quantity(strength);
                    self.quantities(volume);
                }
            },
            Fact::OnlyBy(routes) => self.routes(routes),
            Fact::Usual(usual) => self.usual(usual),
            Fact::Never(never) => self.never(never),
            Fact::Equals(equals) => self.quantities(&equals.0),
            Fact::Bag(bag) => self.bag(bag),
            Fact::Run(run) => self.run(run),
            Fact::Bolus(bolus) => self.bolus(bolus),
            Fact::Adjust(adjust) => {
                match &adjust.steps {
                    Steps::By { range, step } => {
                        self.range(range);
                        self.quantity(step);
                    }
                    Steps::List(steps) => self.quantities(steps),
                }
                self.quantity(&adjust.every);
            }
            Fact::Then(then) => match &**then {
                Then::Stop => {}
                Then::Renew { lasting } => self.quantities(lasting),
                Then::KeepOpen { flow, .. } => self.quantity(flow),
            },
            Fact::Phase { name, title } => {
                self.push(name.span, Leaf::Phase);
                if let Some(title) = title {
                    self.push(title.span, Leaf::Text);
                }
            }
            Fact::Expect(expect) => self.expect(expect),
            Fact::ExpectFinding(name) => self.push(name.span, Leaf::Rule),
            Fact::LineMembers { line, .. } => self.push(line.span, Leaf::Line),
            Fact::Waive(waive) => self.waive(waive),
            Fact::Words { text, .. } => self.push(text.span, Leaf::Text),
            Fact::ReviewBy(date) => self.push(date.span, Leaf::Date),
        }
    }

    fn limit(&mut self, limit: &Limit) {
        self.push(limit.measure.span, Leaf::Measure);
        match &limit.bound {
            Bound::Within(range) => self.range(range),
            Bound::NotAbove(written) | Bound::NotBelow(written) => self.quantity(written),
        }
        if let Some(window) = &limit.window
            && let Window::InAny(time) = &window.value
        {
            self.quantity(time);
        }
    }

    fn conditions(&mut self, conditions: &Conditions) {
        self.routes(&conditions.routes);
        let ranges = conditions.patients.iter().chain(&conditions.aged);
        ranges.for_each(|range| self.range(range));
        for purpose in &conditions.purposes {
            self.push(purpose.span, Leaf::Purpose);
        }
        self.quantities(&conditions.after_first);
    }

    fn usual(&mut self, usual: &Usual) {
        self.limit(&usual.limit);
        self.conditions(&usual.conditions);
    }

    fn never(&mut self, never: &Never) {
        match &never.what {
            NeverWhat::Limit(limit) => self.limit(limit),
            NeverWhat::By(routes) => self.routes(routes),
            NeverWhat::In(_) | NeverWhat::Undiluted => {}
        }
        self.conditions(&never.conditions);
        for conditions in never.except.iter().flat_map(|except| &except.value) {
            self.conditions(conditions);
        }
    }

    fn bag(&mut self, bag: &Bag) {
        match bag {
            Bag::Mix { drug, into } => {
                self.dose(drug);
                match into {
                    BagInto::MadeUpTo { volume, .. } => self.quantity(volume),
                    BagInto::AddedTo {
                        volume, counted_as, ..
                    } => {
                        self.quantity(volume);
                        self.quantities(counted_as);
                    }
                }
            }
            Bag::Premixed { amount, volume, .. } => self.quantities([amount, volume]),
            Bag::Hang { volume, .. } | Bag::Undiluted { volume } => self.quantity(volume),
        }
    }

    fn run(&mut self, run: &Run) {
        if let Some(What::Amount(dose)) = &run.what {
            self.dose(dose);
        }
        self.quantities(run.ways.iter().map(Way::written));
        self.quantities(&run.dose_lid);
        if let Some(every) = &run.every {
            self.quantity(&every.interval);
            match &every.repeat {
                Some(Repeat::Doses(count)) => self.push(count.span, Leaf::Quantity),
                Some(Repeat::For(time)) => self.quantity(time),
                None => {}
            }
        }
    }

    fn bolus(&mut self, bolus: &Bolus) {
        self.dose(&bolus.dose);
        self.quantity(bolus.way.written());
    }

    fn expect(&mut self, expect: &Expect) {
        if !matches!(expect.measure.value, ExpectMeasure::Substance(_)) {
            self.push(expect.measure.span, Leaf::Measure);
        }
        self.quantity(&expect.value);
        self.quantities(&expect.at);
        if let Some(phase) = &expect.phase {
            self.push(phase.span, Leaf::PhaseMention);
        }
    }

    fn waive(&mut self, waive: &Waive) {
        self.push(waive.rule.span, Leaf::Rule);
        if let Some(bound) = &waive.bound {
            self.push(bound.measure.span, Leaf::Measure);
            self.quantity(&bound.quantity);
        }
        if let Some(because) = &waive.because {
            self.push(because.span, Leaf::Text);
        }
        if let Some(until) = &waive.until {
            self.push(until.span, Leaf::Date);
        }
    }
}
