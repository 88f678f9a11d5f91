//! Drugs, their values judged.

use gutta_notation::ast::{Equals, Route, Supplied, WrittenUnit};
use gutta_notation::{Fact, Span, Spanned, Stanza};
use gutta_quantity::{Exact, Unit};
use smol_str::SmolStr;

use crate::chemistry::{Composition, made};

use super::limit::{LimitBound, Prohibition, lower_never, lower_usual, strength};
use super::lower::{Lowering, is_amount, plain};
use super::problem::{Problem, ProblemKind};
use super::reference::{ContainedSubstance, content, is_whole_volume, name_of, osmolarity};
use super::size::{DrugKind, Form, Per};

/// Lines of `equals`: of each the same amount, counted in several ways, in base
/// units.
pub type Ties = [Vec<(DrugKind, Exact)>];

/// How a drug is supplied.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Supply {
    /// Drug per volume, in base units.
    pub strength: Exact,
    /// In what the drug is counted.
    pub kind: DrugKind,
    /// One container's volume, where stated, in base units.
    pub container: Option<Exact>,
    /// The line.
    pub span: Span,
}

/// A drug's own rules.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Drug {
    /// Its name.
    pub name: SmolStr,
    /// Its other names.
    pub also: Vec<SmolStr>,
    /// The classes of drugs that it belongs to.
    pub classes: Vec<SmolStr>,
    /// The salt or substance that its name, or else its title, speaks of.
    pub made: Option<Composition>,
    /// The unit its doses are given in.
    pub dosed_in: Option<(Unit, Span)>,
    /// How it is supplied.
    pub supplied: Option<Supply>,
    /// Diluents it may go with; `None`: not stated.
    pub with: Option<(Vec<SmolStr>, Span)>,
    /// What it must not meet.
    pub not_with: Vec<SmolStr>,
    /// The line that says so.
    pub not_with_span: Option<Span>,
    /// The only routes, where stated.
    pub only_by: Option<(Vec<Route>, Span)>,
    /// Its limits, each bound on its own.
    pub limits: Vec<LimitBound>,
    /// What is forbidden outright.
    pub prohibitions: Vec<Prohibition>,
    /// The same amount of it, counted in several ways: pairs of a counting and
    /// the value in its base units.
    pub equals: Vec<Vec<(DrugKind, Exact)>>,
    /// What the supplied solution brings.
    pub contains: Vec<ContainedSubstance>,
    /// The supplied solution's osmolarity, base units.
    pub osmolarity: Option<(Exact, Span)>,
    /// How long a bag may hang, base units of time.
    pub hang_time: Option<(Exact, Span)>,
    /// Whether it is a high-alert drug.
    pub high_alert: bool,
    /// What stands in the way of its meaning.
    pub problems: Vec<Problem>,
    /// Whether every line was read and judged.
    pub whole: bool,
}

impl Drug {
    /// Whether its own stanza says that it goes with the solution of this name:
    /// what is not known to does not.
    #[must_use]
    pub fn goes_with(&self, solution: &str) -> bool {
        let named = |names: &[SmolStr]| names.iter().any(|name| name == solution);
        self.with.as_ref().is_some_and(|(with, _)| named(with)) && !named(&self.not_with)
    }
}

/// A drug, from its stanza.
#[must_use]
pub fn drug(stanza: &Stanza) -> Drug {
    let mut lowering = Lowering::default();
    let mut drug = Drug {
        name: name_of(stanza),
        ..Drug::default()
    };
    for line in &stanza.lines {
        let span = line.span;
        match &line.fact {
            Fact::Also(names) => drug.also.extend(plain(names)),
            Fact::Class(names) => drug.classes.extend(plain(names)),
            Fact::DosedIn(unit) => drug.dosed_in = dosed_in(&mut lowering, unit),
            Fact::Supplied(supplied) => drug.supplied = supply(&mut lowering, supplied, span),
            Fact::With(names) => drug.with = Some((plain(names), span)),
            Fact::NotWith(names) => {
                drug.not_with = plain(names);
                drug.not_with_span = Some(span);
            }
            Fact::OnlyBy(routes) => {
                drug.only_by = Some((routes.iter().map(|route| route.value).collect(), span));
            }
            Fact::Usual(usual) => drug.limits.extend(
                lower_usual(&mut lowering, usual, span)
                    .into_iter()
                    .flatten(),
            ),
            Fact::Never(never) => match lower_never(&mut lowering, never, span) {
                Some(Ok(bounds)) => drug.limits.extend(bounds),
                Some(Err(prohibition)) => drug.prohibitions.push(prohibition),
                None => {}
            },
            Fact::Equals(written) => drug.equals.push(equals(&mut lowering, written)),
            Fact::Contains {
                substance,
                strength,
            } => {
                drug.contains
                    .extend(content(&mut lowering, &substance.value, strength, span));
            }
            Fact::Osmolarity(written) => {
                drug.osmolarity = osmolarity(&mut lowering, written).map(|value| (value, span));
            }
            Fact::HangTime(written) => {
                drug.hang_time = lowering.time(written).map(|time| (time.value, span))
            }
            Fact::HighAlert => drug.high_alert = true,
            _ => {}
        }
    }
    drug.made = made_of(&drug, stanza);
    drug.whole = stanza.is_whole() && lowering.problems.is_empty();
    drug.problems = lowering.problems;
    drug
}

/// The same amount, counted in several ways.
pub(super) fn equals(lowering: &mut Lowering, equals: &Equals) -> Vec<(DrugKind, Exact)> {
    let ways = equals.0.iter().filter_map(|written| {
        let whole = |form: &Form| is_amount(form) && form.per == Per::Patient;
        let size = lowering.size(written, "an amount of drug", whole)?;
        Some((size.form.drug()?, size.value))
    });
    ways.collect()
}

/// What its names, or else its title, say that it is.
fn made_of(drug: &Drug, stanza: &Stanza) -> Option<Composition> {
    let title = stanza.title.as_ref().map(|title| &title.value);
    let mut names = [&drug.name].into_iter().chain(&drug.also).chain(title);
    names.find_map(|name| made(name))
}

fn dosed_in(lowering: &mut Lowering, unit: &Spanned<WrittenUnit>) -> Option<(Unit, Span)> {
    let known = unit.value.known()?;
    if known.dimension().is_dose() {
        return Some((known, unit.span));
    }
    let found = known.dimension().name();
    let wanted = "a dose (drug per time)";
    lowering.problem(unit.span, ProblemKind::WrongKind { found, wanted });
    None
}

fn supply(lowering: &mut Lowering, supplied: &Supplied, span: Span) -> Option<Supply> {
    match supplied {
        Supplied::Amount { amount, volume } => {
            let whole = |form: &Form| is_amount(form) && form.per == Per::Patient;
            let amount = lowering.size(amount, "an amount of drug", whole)?;
            let volume = lowering.size(volume, "a volume", is_whole_volume)?;
            let strength = amount.value.checked_div(&volume.value)?;
            Some(Supply {
                strength,
                kind: amount.form.drug()?,
                container: Some(volume.value),
                span,
            })
        }
        Supplied::Strength {
            strength: written,
            volume,
        } => {
            let (strength, kind) = strength(lowering, written)?;
            let container = match volume {
                Some(volume) => Some(lowering.size(volume, "a volume", is_whole_volume)?.value),
                None => None,
            };
            Some(Supply {
                strength,
                kind,
                container,
                span,
            })
        }
    }
}

/// What 1 base unit of drug counted one way is, counted another way.
#[must_use]
pub fn equivalence(drug: Option<&Drug>, from: DrugKind, to: DrugKind) -> Option<Exact> {
    tied(drug.map_or(&[], |drug| &drug.equals), from, to)
}

/// The same by these `equals` lines.
pub(crate) fn tied(equals: &Ties, from: DrugKind, to: DrugKind) -> Option<Exact> {
    if from == to {
        return Some(Exact::ONE);
    }
    // Breadth first over the `equals` lines: a chain of them may be needed.
    let mut known = vec![(from, Exact::ONE)];
    let mut next = 0;
    while let Some((kind, value)) = known.get(next).cloned() {
        next += 1;
        for group in equals {
            let Some((_, base)) = group.iter().find(|(other, _)| *other == kind) else {
                continue;
            };
            for (other, amount) in group {
                if known.iter().any(|(seen, _)| seen == other) {
                    continue;
                }
                let factor = &amount.checked_div(base)? * &value;
                if *other == to {
                    return Some(factor);
                }
                known.push((*other, factor));
            }
        }
    }
    None
}
