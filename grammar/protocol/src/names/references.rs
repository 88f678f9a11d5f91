//! Every name that a stanza mentions, and what it must be a name of.

use gutta_notation::ast::{Bag, BagInto, Conditions, ExpectMeasure, Name, Never, NeverWhat, Then};
use gutta_notation::{Fact, Span, Stanza, StanzaKind};
use smol_str::SmolStr;

/// What a name is a name of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Space {
    /// A stanza of this kind.
    Stanza(StanzaKind),
    /// A substance that a `contains` line declares.
    Substance,
}

/// A name mentioned in a stanza.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reference {
    /// The name's place, from the stanza's start.
    pub span: Span,
    /// The name.
    pub name: SmolStr,
    /// What it may be a name of; any of these.
    pub spaces: &'static [Space],
    /// Whether something must declare it: `not with` may name what nothing
    /// declares.
    pub required: bool,
}

const DRUG: &[Space] = &[Space::Stanza(StanzaKind::Drug)];
const AREA: &[Space] = &[Space::Stanza(StanzaKind::Area)];
const PUMP: &[Space] = &[Space::Stanza(StanzaKind::Pump)];
const GIVING_SET: &[Space] = &[Space::Stanza(StanzaKind::GivingSet)];
const SOLUTION: &[Space] = &[Space::Stanza(StanzaKind::Solution)];
const ORDER: &[Space] = &[Space::Stanza(StanzaKind::Order)];
const SUBSTANCE: &[Space] = &[Space::Substance];
const MIXABLE: &[Space] = &[
    Space::Stanza(StanzaKind::Solution),
    Space::Stanza(StanzaKind::Drug),
];

/// A set's own keyword that needs no `contains` (ruling 39).
const GLUCOSE: &str = "glucose";

/// Adds every name that the stanza mentions.
pub(super) fn collect(stanza: &Stanza, out: &mut Vec<Reference>) {
    let mut found = ReferenceCollector { out };
    for line in &stanza.lines {
        found.fact(&line.fact);
    }
}

struct ReferenceCollector<'a> {
    out: &'a mut Vec<Reference>,
}

impl ReferenceCollector<'_> {
    fn push(&mut self, span: Span, name: &SmolStr, spaces: &'static [Space], required: bool) {
        self.out.push(Reference {
            span,
            name: name.clone(),
            spaces,
            required,
        });
    }

    fn name(&mut self, name: &Name, spaces: &'static [Space]) {
        self.push(name.span, &name.value, spaces, true);
    }

    fn names(&mut self, names: &[Name], spaces: &'static [Space]) {
        for name in names {
            self.name(name, spaces);
        }
    }

    fn fact(&mut self, fact: &Fact) {
        match fact {
            Fact::Drug(name) => self.name(name, DRUG),
            Fact::Area(area) => {
                if let Some(name) = &area.value {
                    self.push(area.span, name, AREA, true);
                }
            }
            Fact::Pump(name) => self.name(name, PUMP),
            Fact::GivingSet(name) => self.name(name, GIVING_SET),
            Fact::With(names) => self.names(names, MIXABLE),
            Fact::NotWith(names) => {
                for name in names {
                    self.push(name.span, &name.value, MIXABLE, false);
                }
            }
            Fact::Usual(usual) => self.conditions(&usual.conditions),
            Fact::Never(never) => self.never(never),
            Fact::Bag(bag) => self.bag(bag),
            Fact::Flush { solution, .. } => self.name(solution, SOLUTION),
            Fact::Then(then) => {
                if let Then::KeepOpen {
                    solution: Some(solution),
                    ..
                } = &**then
                {
                    self.name(solution, SOLUTION);
                }
            }
            Fact::Expect(expect) => {
                if let ExpectMeasure::Substance(name) = &expect.measure.value {
                    self.push(expect.measure.span, name, SUBSTANCE, true);
                }
            }
            Fact::Include(names) => self.names(names, ORDER),
            Fact::LineMembers { members, .. } => self.names(members, ORDER),
            Fact::Load { substance, .. } => self.push(
                substance.span,
                &substance.value,
                SUBSTANCE,
                substance.value != GLUCOSE,
            ),
            _ => {}
        }
    }

    fn conditions(&mut self, conditions: &Conditions) {
        self.names(&conditions.areas, AREA);
    }

    fn never(&mut self, never: &Never) {
        if let NeverWhat::In(areas) = &never.what {
            self.names(areas, AREA);
        }
        self.conditions(&never.conditions);
        for conditions in never.except.iter().flat_map(|except| &except.value) {
            self.conditions(conditions);
        }
    }

    fn bag(&mut self, bag: &Bag) {
        match bag {
            Bag::Mix { into, .. } => match into {
                BagInto::MadeUpTo { solution, .. } | BagInto::AddedTo { solution, .. } => {
                    self.name(solution, SOLUTION);
                }
            },
            Bag::Premixed { solution, .. } => {
                if let Some(solution) = solution {
                    self.name(solution, SOLUTION);
                }
            }
            Bag::Hang { solution, .. } => self.name(solution, SOLUTION),
            Bag::Undiluted { .. } => {}
        }
    }
}
