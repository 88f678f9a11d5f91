#![doc = include_str!("substance.md")]

use gutta_notation::ast::LimitMeasure;
use gutta_protocol::StanzaId;
use gutta_protocol::derive::At;
use gutta_protocol::limits::{Limiting, limiting};
use gutta_protocol::model::limit::{LimitBound, Side};
use gutta_protocol::model::set::LoadOf;
use gutta_protocol::sets::{MemberValues, Over, Sum, SumUnknown, Together};
use gutta_quantity::Quantity;
use smol_str::SmolStr;

use super::{load, together};
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "set.substance",
    severity: Severity::Error,
    locked: true,
    page: include_str!("substance.md"),
    check: Check::Stanza(check),
};

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    beyond(context, &RULE, false, findings);
}

/// What all orders together bring of each substance beyond a `usual` or else a
/// `never`, where it takes more than one of them: of one alone the order's own
/// finding tells.
pub(super) fn beyond(
    context: &StanzaContext<'_>,
    rule: &'static Rule,
    usual: bool,
    findings: &mut Vec<Finding>,
) {
    let Some(set) = together(context) else { return };
    let derived = set.derived();
    for name in brought(&set, &derived) {
        // The measures of which an `ingredient` has said what is never right.
        let mut said: Vec<LimitMeasure> = Vec::new();
        for (id, by) in limiting(
            context.workspace,
            context.library,
            context.stanza.file,
            &name,
        ) {
            let judged = Judged {
                context,
                rule,
                set: &set,
                derived: &derived,
                by: &by,
                id,
                name: &name,
            };
            let is_drug = matches!(by, Limiting::Drug(_));
            let bounds = by.limits().iter().filter(|bound| by.judges(bound));
            let bounds = bounds.filter(|bound| !is_drug || !said.contains(&bound.measure));
            let bounds: Vec<_> = bounds.collect();
            let (nevers, usuals): (Vec<&LimitBound>, _) =
                bounds.into_iter().partition(|bound| !bound.usual);
            let never = judged.worst(&nevers);
            // What is never to be is not told again as unusual.
            let found = match (usual, never.0.is_empty()) {
                (true, false) => continue,
                (true, true) => judged.worst(&usuals),
                (false, _) => never,
            };
            findings.extend(found.0);
            if !is_drug {
                said.extend(found.1);
            }
        }
    }
}

/// The substances that two of the orders or more bring.
fn brought(set: &Together, derived: &MemberValues) -> Vec<SmolStr> {
    let (mut once, mut again) = (Vec::new(), Vec::new());
    for (place, member) in set.members.iter().enumerate() {
        let view = derived.of(place).and_then(|values| values.views.first());
        let order = &member.order;
        let all = view.map_or_else(Vec::new, |view| view.substances(order));
        let mut own: Vec<SmolStr> = all.into_iter().map(|(name, _)| name).collect();
        own.sort();
        own.dedup();
        for name in own {
            if !once.contains(&name) {
                once.push(name);
            } else if !again.contains(&name) {
                again.push(name);
            }
        }
    }
    again
}

/// A substance of a set, and what limits it.
struct Judged<'a> {
    context: &'a StanzaContext<'a>,
    rule: &'static Rule,
    set: &'a Together,
    derived: &'a MemberValues,
    by: &'a Limiting,
    id: StanzaId,
    name: &'a SmolStr,
}

/// A sum beyond a bound.
struct SumBeyond<'a> {
    bound: &'a LimitBound,
    over: Over,
    load: load::Load,
}

impl SumBeyond<'_> {
    /// Whether it is of the measure of the other, and of all its patients.
    fn tells(&self, other: &Self) -> bool {
        let measure = |of: &Self| (of.bound.measure, of.bound.over.clone());
        measure(self) == measure(other) && self.load.beyond.covers(&other.load.beyond)
    }
}

impl Judged<'_> {
    /// The bounds that are passed furthest, each of a measure and of patients
    /// that none before it is of, or else the first that could not be held
    /// against the sum; and the measures that were.
    fn worst(&self, bounds: &[&LimitBound]) -> (Vec<Finding>, Vec<LimitMeasure>) {
        let mut passed: Vec<SumBeyond<'_>> = Vec::new();
        let mut lacking: Option<Finding> = None;
        let mut said = Vec::new();
        for bound in bounds {
            let Some(sum) = Sum::of_bound(self.name, self.by, bound) else {
                continue;
            };
            if !self.holds(&sum) {
                continue;
            }
            match load::beyond(self.set, self.derived, &sum, Side::High, &bound.bound) {
                Err(unknown) => lacking = lacking.or_else(|| self.unchecked(bound, &unknown)),
                Ok(found) => {
                    said.push(bound.measure);
                    let over = sum.over;
                    passed.extend(found.filter(is_of_several).map(|load| SumBeyond {
                        bound,
                        over,
                        load,
                    }));
                }
            }
        }
        let share = |of: &SumBeyond<'_>| {
            let beyond = &of.load.beyond;
            beyond.value.checked_div(&beyond.bound)
        };
        passed.sort_by_key(|found| std::cmp::Reverse(share(found)));
        let mut worst: Vec<&SumBeyond<'_>> = Vec::new();
        for found in &passed {
            if !worst.iter().any(|known| known.tells(found)) {
                worst.push(found);
            }
        }
        let mut told: Vec<_> = worst.into_iter().map(|found| self.report(found)).collect();
        if told.is_empty() {
            told.extend(lacking);
        }
        (told, said)
    }

    /// Whether an order counts at all.
    fn holds(&self, sum: &Sum<'_>) -> bool {
        self.set.members.iter().enumerate().any(|(place, member)| {
            let views = self.derived.of(place).map(|values| &values.views);
            let mut views = views.into_iter().flatten();
            views.any(|view| sum.counts_somewhere(&member.order, view))
        })
    }

    fn report(&self, found: &SumBeyond<'_>) -> Finding {
        let (context, bound, load) = (self.context, found.bound, &found.load);
        let unit = bound.unit;
        let style = context.style();
        let most = style.quantity(&Quantity::from_base(load.beyond.bound.clone(), unit));
        let step = match load.at {
            At::Start => "",
            At::Low | At::High => ", each at its highest step,",
        };
        let window = match &found.over {
            Over::Moment => String::new(),
            Over::In { window, .. } => format!(" in {}", crate::telling::clock(window, style)),
        };
        let subject = format!("the {} of all orders together{window}{step}", self.name);
        let values = load.values();
        let message = match bound.usual {
            true => load
                .beyond
                .told_usual(&values, &subject, &most, unit, style),
            false => load
                .beyond
                .told_never(&values, &subject, &most, unit, style),
        };
        let place = context.workspace.place(self.id, bound.span);
        let finding = context
            .finding(self.rule, context.stanza().header, message)
            .related(place, self.whose());
        let finding = load::with_parts(context, self.set, load, unit, finding);
        finding.note("Decide which order to change.")
    }

    fn whose(&self) -> String {
        match self.by {
            Limiting::Ingredient(_) => "the limit of the ingredient".to_owned(),
            Limiting::Drug(drug) => format!("the limit of {}", drug.name),
        }
    }

    /// An order that is incomplete tells so itself.
    fn unchecked(&self, bound: &LimitBound, unknown: &SumUnknown) -> Option<Finding> {
        if bound.usual || matches!(unknown, SumUnknown::Incomplete(_)) {
            return None;
        }
        let context = self.context;
        let why = load::why(self.set, &LoadOf::Substance(self.name.clone()), unknown);
        let place = context.workspace.place(self.id, bound.span);
        let message = format!(
            "The {} of all orders together was not checked: {why}.",
            self.name
        );
        let finding = context.finding(self.rule, context.stanza().header, message);
        Some(
            finding
                .severity(Severity::Warning)
                .related(place, self.whose())
                .note("Correct that; then it is checked."),
        )
    }
}

/// Whether more than one order has a part in it.
fn is_of_several(found: &load::Load) -> bool {
    let Some(segment) = found.segments.get(found.beyond.view) else {
        return false;
    };
    let parts = segment.shares.iter().filter(|(_, share)| {
        let value = share.at(&found.beyond.x);
        value.is_some_and(|value| value.is_positive())
    });
    parts.count() > 1
}

#[cfg(test)]
mod tests;
