#![doc = include_str!("load.md")]

use gutta_protocol::curve::Curve;
use gutta_protocol::derive::{At, Values};
use gutta_protocol::model::limit::Side;
use gutta_protocol::model::set::LoadOf;
use gutta_protocol::model::size::Per;
use gutta_protocol::sets::{MemberValues, Segment, SetBound, Sum, SumUnknown, Together};
use gutta_quantity::{Exact, Quantity, Unit};

use super::together;
use crate::beyond::Beyond;
use crate::telling::told;
use crate::words::all_of;
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "set.load",
    severity: Severity::Error,
    locked: false,
    page: include_str!("load.md"),
    check: Check::Stanza(check),
};

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let Some(set) = together(context) else { return };
    let bounds = set.bounds();
    if bounds.is_empty() {
        return;
    }
    if !set.unknown.is_empty() || !context.stanza().is_whole() {
        let why = match set.unknown.first() {
            Some(name) => format!("it is not known what `{}` is", name.value),
            None => "a line of the set could not be read".to_owned(),
        };
        findings.push(unchecked(context, &bounds[0], &why));
        return;
    }
    let derived = set.derived();
    let mut told_unknown = Vec::new();
    for bound in &bounds {
        for side in [Side::Low, Side::High] {
            let end = match side {
                Side::Low => &bound.load.extent.low,
                Side::High => &bound.load.extent.high,
            };
            let Some(end) = end else { continue };
            match beyond(&set, &derived, &Sum::of_load(&bound.load), side, end) {
                Ok(None) => {}
                Ok(Some(load)) => findings.push(report(context, &set, bound, &load)),
                Err(unknown) => {
                    let why = why(&set, &bound.load.of, &unknown);
                    if !told_unknown.contains(&why) {
                        findings.push(unchecked(context, bound, &why));
                        told_unknown.push(why);
                    }
                }
            }
        }
    }
}

/// A sum out of its range, at the setting at which it first is.
pub(super) struct Load {
    pub(super) at: At,
    pub(super) segments: Vec<Segment>,
    pub(super) beyond: Beyond,
}

pub(super) fn beyond(
    set: &Together,
    derived: &MemberValues,
    sum: &Sum<'_>,
    side: Side,
    end: &Exact,
) -> Result<Option<Load>, SumUnknown> {
    let reached = match side {
        Side::Low => At::Low,
        Side::High => At::High,
    };
    let settings = if set.is_adjusted() {
        vec![At::Start, reached]
    } else {
        vec![At::Start]
    };
    for at in settings {
        let segments = set.sum(derived, sum, side, at)?;
        let mut worst: Option<Beyond> = None;
        for (index, segment) in segments.iter().enumerate() {
            let level = Curve::constant(segment.sum.span().clone(), end.clone());
            let found = match side {
                Side::Low => Beyond::below(index, &segment.sum, &level),
                Side::High => Beyond::above(index, &segment.sum, &level),
            };
            if let Some(found) = found
                && worst
                    .as_ref()
                    .is_none_or(|known| found.excess() > known.excess())
            {
                worst = Some(found);
            }
        }
        if let Some(beyond) = worst {
            return Ok(Some(Load {
                at,
                segments,
                beyond,
            }));
        }
    }
    Ok(None)
}

fn report(context: &StanzaContext<'_>, set: &Together, bound: &SetBound, load: &Load) -> Finding {
    let unit = bound.load.unit;
    let style = context.style();
    let end = style.quantity(&Quantity::from_base(load.beyond.bound.clone(), unit));
    let whose = match bound.area {
        Some(_) => set.area.as_ref().map_or_else(String::new, |area| {
            format!("the {end} allowed in `{}`", area.value.name)
        }),
        None => format!("the {end} stated in the set"),
    };
    let what = what(&bound.load.of);
    let subject = match load.at {
        At::Start => format!("{what} of all orders together"),
        At::High => format!("{what} of all orders together, each at its highest step,"),
        At::Low => format!("{what} of all orders together, each at its lowest step,"),
    };
    let values = load.values();
    let message = load.beyond.told(&values, &subject, &whose, unit, style);
    let finding = match bound.area {
        None => context.finding(&RULE, bound.load.span, message),
        Some(area) => context
            .finding(&RULE, context.stanza().header, message)
            .related(
                context.workspace.place(area, bound.load.span),
                "the limit of the area, since the set states none",
            ),
    };
    with_parts(context, set, load, unit, finding)
        .note("Decide which order to change; or state another limit, if a source allows it.")
}

/// Says of a sum what each order brings of it.
pub(super) fn with_parts(
    context: &StanzaContext<'_>,
    set: &Together,
    load: &Load,
    unit: Unit,
    mut finding: Finding,
) -> Finding {
    let (values, style) = (load.values(), context.style());
    let mut shares = Vec::new();
    if let Some(segment) = load.segments.get(load.beyond.view) {
        for (place, share) in &segment.shares {
            let value = share
                .at(&load.beyond.x)
                .filter(|value| *value != Exact::ZERO);
            if let (Some(value), Some(member)) = (value, set.members.get(*place)) {
                let value = told(&value, unit, style);
                finding =
                    finding.related(context.place(member.name.span), format!("gives {value}"));
                shares.push(format!("`{}` {value}", member.name.value));
            }
        }
    }
    let where_ = load
        .beyond
        .patient(&values, style)
        .map_or_else(String::new, |patient| format!(" At {patient}"));
    let parts = if shares.is_empty() {
        "No order of the set gives any of it.".to_owned()
    } else if where_.is_empty() {
        format!("This is the sum of {}.", all_of(&shares))
    } else {
        format!("{}, by order: {}.", where_.trim_start(), all_of(&shares))
    };
    finding.note(parts)
}

impl Load {
    /// The stretches of patients, as views.
    pub(super) fn values(&self) -> Values {
        let views = self.segments.iter().map(|segment| segment.view.clone());
        Values {
            views: views.collect(),
        }
    }
}

fn what(of: &LoadOf) -> String {
    match of {
        LoadOf::Fluid => "the fluid".to_owned(),
        LoadOf::Substance(name) => format!("the {name}"),
    }
}

pub(super) fn why(set: &Together, of: &LoadOf, unknown: &SumUnknown) -> String {
    let name = |place: usize| {
        set.members
            .get(place)
            .map_or_else(String::new, |member| member.name.value.to_string())
    };
    let substance = match of {
        LoadOf::Fluid => "fluid",
        LoadOf::Substance(name) => name.as_str(),
    };
    match unknown {
        SumUnknown::Incomplete(place) => {
            format!(
                "nothing is calculated from `{}`, which has findings of its own",
                name(*place)
            )
        }
        SumUnknown::Patient(Per::Surface) => {
            "it is by body surface area, and neither the set nor its orders state one".to_owned()
        }
        SumUnknown::Patient(_) => {
            "it is by weight, and neither the set nor its orders state one".to_owned()
        }
        SumUnknown::Counting(place, kind) => format!(
            "`{}` states {substance} by {}, and the limit does not",
            name(*place),
            kind.word()
        ),
        SumUnknown::Share(place) => format!(
            "it is not stated how much {substance} is in the bag of `{}` (what is its drug `supplied` as?)",
            name(*place)
        ),
        SumUnknown::Value => "it cannot be calculated".to_owned(),
    }
}

/// A bound that nothing was held against must not look like one that is kept.
fn unchecked(context: &StanzaContext<'_>, bound: &SetBound, why: &str) -> Finding {
    let message = format!(
        "{} of all orders together was not checked: {why}.",
        crate::telling::sentence(&what(&bound.load.of))
    );
    let note = "Correct that; then it is checked.";
    match bound.area {
        None => context.finding(&RULE, bound.load.span, message),
        Some(area) => context
            .finding(&RULE, context.stanza().header, message)
            .related(
                context.workspace.place(area, bound.load.span),
                "the limit that was not checked",
            ),
    }
    .note(note)
}
