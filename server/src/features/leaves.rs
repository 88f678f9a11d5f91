//! The pieces of a line that carry a meaning of their own, and where each
//! stands; what lies between them are the notation's words.

use gutta_notation::ast::{
    Conditions, Expect, ExpectMeasure, Never, NeverWhat, Repeat, Route, Waive,
};
use gutta_notation::{Fact, Line, Span, Spanned};

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
    /// A class of drugs.
    Class,
    Line,
    Phase,
    /// A phase that is mentioned.
    PhaseMention,
    Purpose,
}

/// Every piece of the line, in no order; spans count as the line's do.
pub(crate) fn leaves(line: &Line) -> Vec<(Span, Leaf)> {
    let mut found = LeafCollector(Vec::new());
    for written in line.fact.quantities() {
        found.push(written.span, Leaf::Quantity);
    }
    found.fact(&line.fact);
    found.0
}

/// What is not a quantity; the notation gives those of a line itself.
struct LeafCollector(Vec<(Span, Leaf)>);

impl LeafCollector {
    fn push(&mut self, span: Span, leaf: Leaf) {
        if !span.is_empty() {
            self.0.push((span, leaf));
        }
    }

    fn routes(&mut self, routes: &[Spanned<Route>]) {
        for route in routes {
            self.push(route.span, Leaf::Route);
        }
    }

    fn fact(&mut self, fact: &Fact) {
        match fact {
            Fact::Route(route) => {
                if route.value.is_some() {
                    self.push(route.span, Leaf::Route);
                }
            }
            Fact::Purpose(name) => self.push(name.span, Leaf::Purpose),
            Fact::Contains { substance, .. } => self.push(substance.span, Leaf::Substance),
            Fact::Also(names) => {
                for name in names {
                    self.push(name.span, Leaf::Also);
                }
            }
            Fact::Class(names) => {
                for name in names {
                    self.push(name.span, Leaf::Class);
                }
            }
            Fact::DosedIn(unit) => self.push(unit.span, Leaf::Unit),
            Fact::OnlyBy(routes) => self.routes(routes),
            Fact::Usual(usual) => {
                self.push(usual.limit.measure.span, Leaf::Measure);
                self.conditions(&usual.conditions);
            }
            Fact::Never(never) => self.never(never),
            Fact::Run(run) => {
                let every = run.every.as_ref();
                if let Some(Repeat::Doses(count)) = every.and_then(|every| every.repeat.as_ref()) {
                    self.push(count.span, Leaf::Quantity);
                }
            }
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
            Fact::Unreadable
            | Fact::PumpFlow { .. }
            | Fact::PumpVolume(_)
            | Fact::PumpBolus(_)
            | Fact::Accuracy(_)
            | Fact::DropFactor(_)
            | Fact::Priming(_)
            | Fact::Patient { .. }
            | Fact::DosingWeight(_)
            | Fact::Drug(_)
            | Fact::Area(_)
            | Fact::Pump(_)
            | Fact::GivingSet(_)
            | Fact::Ceiling(_)
            | Fact::BolusCeiling(_)
            | Fact::Fluid(_)
            | Fact::Osmolarity(_)
            | Fact::Supplied(_)
            | Fact::With(_)
            | Fact::NotWith(_)
            | Fact::Equals(_)
            | Fact::HangTime(_)
            | Fact::HighAlert
            | Fact::Bag(_)
            | Fact::Prime(_)
            | Fact::Bolus(_)
            | Fact::Adjust(_)
            | Fact::ChangeBag(_)
            | Fact::Flush { .. }
            | Fact::Then(_)
            | Fact::Include(_)
            | Fact::Load { .. } => {}
        }
    }

    fn conditions(&mut self, conditions: &Conditions) {
        self.routes(&conditions.routes);
        for purpose in &conditions.purposes {
            self.push(purpose.span, Leaf::Purpose);
        }
    }

    fn never(&mut self, never: &Never) {
        match &never.what {
            NeverWhat::Limit(limit) => self.push(limit.measure.span, Leaf::Measure),
            NeverWhat::By(routes) => self.routes(routes),
            NeverWhat::In(_) | NeverWhat::Undiluted => {}
        }
        self.conditions(&never.conditions);
        for conditions in never.except.iter().flat_map(|except| &except.value) {
            self.conditions(conditions);
        }
    }

    fn expect(&mut self, expect: &Expect) {
        if !matches!(expect.measure.value, ExpectMeasure::Substance(_)) {
            self.push(expect.measure.span, Leaf::Measure);
        }
        if let Some(phase) = &expect.phase {
            self.push(phase.span, Leaf::PhaseMention);
        }
    }

    fn waive(&mut self, waive: &Waive) {
        self.push(waive.rule.span, Leaf::Rule);
        if let Some(bound) = &waive.bound {
            self.push(bound.measure.span, Leaf::Measure);
        }
        if let Some(because) = &waive.because {
            self.push(because.span, Leaf::Text);
        }
        if let Some(until) = &waive.until {
            self.push(until.span, Leaf::Date);
        }
    }
}
