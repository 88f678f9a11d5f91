//! What meets in one line.

use gutta_notation::ast::Name;
use gutta_quantity::work;
use rustc_hash::FxHashMap;
use smol_str::SmolStr;

use super::{Member, Together};
use crate::StanzaId;
use crate::model::drug::Drug;
use crate::model::order::{Named, Order};
use crate::model::reference::Solution;

/// Two orders of a set that share a line.
#[derive(Clone, Debug)]
pub struct Meeting<'a> {
    /// The line.
    pub line: &'a Name,
    /// The two, as the line names them.
    pub names: [&'a Name; 2],
    /// What is known of them.
    pub word: Word,
}

/// What is known of two orders that share a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Word {
    /// One drug's rules speak against the other.
    Against(Objection),
    /// Nothing speaks for the two.
    Unknown(Objection),
    /// All that meets is known to go together.
    For,
}

/// Whose rules speak, and of what.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Objection {
    /// The drug whose rules these are.
    pub drug: SmolStr,
    /// Its stanza.
    pub id: StanzaId,
    /// The line that speaks against it, where one does.
    pub span: Option<gutta_notation::Span>,
    /// The other drug or solution.
    pub other: SmolStr,
}

impl Together {
    /// Every two orders that share a line of the set.
    #[must_use]
    pub fn meetings(&self) -> Vec<Meeting<'_>> {
        let mut by_name = FxHashMap::default();
        for member in &self.members {
            by_name.entry(&member.name.value).or_insert(member);
        }
        let mut meetings = Vec::new();
        for (line, names) in &self.set.lines {
            for (at, one) in names.iter().enumerate() {
                // Each meets each.
                work::charge_each(names.len() - at);
                for other in names.iter().skip(at + 1) {
                    let both = (by_name.get(&one.value), by_name.get(&other.value));
                    if let (Some(a), Some(b)) = both
                        && one.value != other.value
                    {
                        meetings.push(Meeting {
                            line,
                            names: [one, other],
                            word: word(a, b),
                        });
                    }
                }
            }
        }
        meetings
    }
}

fn word(a: &Member, b: &Member) -> Word {
    let mut unknown = None;
    for (one, other) in [(&a.order, &b.order), (&b.order, &a.order)] {
        let Some(drug) = &one.drug else { continue };
        for thing in things(other) {
            let against = thing
                .names()
                .iter()
                .chain(thing.classes())
                .any(|name| drug.value.not_with.contains(name));
            let what = |span| Objection {
                drug: drug.value.name.clone(),
                id: drug.id,
                span,
                other: thing.name(),
            };
            if against {
                return Word::Against(what(drug.value.not_with_span));
            }
            if !thing.goes_with(drug) && unknown.is_none() {
                unknown = Some(what(None));
            }
        }
    }
    unknown.map_or(Word::For, Word::Unknown)
}

/// A drug or a solution that comes through a line.
enum Thing<'a> {
    Drug(&'a Named<Drug>),
    Solution(&'a Named<Solution>),
}

impl Thing<'_> {
    fn name(&self) -> SmolStr {
        match self {
            Self::Drug(drug) => drug.value.name.clone(),
            Self::Solution(solution) => solution.value.name.clone(),
        }
    }

    /// The classes that a `not with` may name instead.
    fn classes(&self) -> &[SmolStr] {
        match self {
            Self::Drug(drug) => &drug.value.classes,
            Self::Solution(_) => &[],
        }
    }

    /// All names it goes by.
    fn names(&self) -> Vec<SmolStr> {
        let also: &[SmolStr] = match self {
            Self::Drug(drug) => &drug.value.also,
            Self::Solution(_) => &[],
        };
        std::iter::once(self.name())
            .chain(also.iter().cloned())
            .collect()
    }

    /// Whether a drug is known to go with it: by its own word, or by the
    /// other drug's.
    fn goes_with(&self, drug: &Named<Drug>) -> bool {
        let says = |of: &Drug, names: &[SmolStr]| {
            let with = of.with.as_ref().map(|(with, _)| with);
            with.is_some_and(|with| names.iter().any(|name| with.contains(name)))
        };
        match self {
            // The same drug twice is another finding.
            Self::Drug(other) if other.id == drug.id => true,
            Self::Drug(other) => {
                let own: Vec<_> = std::iter::once(drug.value.name.clone())
                    .chain(drug.value.also.iter().cloned())
                    .collect();
                says(&drug.value, &self.names()) || says(&other.value, &own)
            }
            Self::Solution(_) => says(&drug.value, &self.names()),
        }
    }
}

/// Everything of an order that comes through its line.
fn things(order: &Order) -> Vec<Thing<'_>> {
    let mut things: Vec<_> = order.drug.iter().map(Thing::Drug).collect();
    things.extend(order.solutions().map(Thing::Solution));
    things
}
