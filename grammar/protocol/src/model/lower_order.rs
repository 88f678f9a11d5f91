//! From an order's lines to what they mean.

use gutta_notation::ast::{Expect, PatientKind};
use gutta_notation::{Fact, Line, Mark, MarkKind, Span, Spanned, Stanza, StanzaKind};
use gutta_quantity::{Dimension, work};

use super::drug::Drug;
use super::ingredient::Ingredient;
use super::library::Library;
use super::lower::Lowering;
use super::lower_phase::{Equipment, PhaseLines};
use super::order::{Answer, Expectation, Named, Order, States};
use super::problem::ProblemKind;
use super::reference::Area;
use super::resolve::Resolver;
use super::size::{Extent, Scalar};
use crate::{Space, StanzaId, Workspace};

/// The order of a stanza (an `order` or a `specimen`).
#[must_use]
pub fn order(workspace: &Workspace, library: &Library, id: StanzaId) -> Order {
    let stanza = workspace.stanza(id);
    work::charge_each(stanza.lines.len());
    let resolver = Resolver {
        workspace,
        library,
        file: id.file,
    };
    let mut lowering = Lowering::default();
    let mut order = Order {
        id,
        name: stanza
            .name
            .as_ref()
            .map(|name| name.value.clone())
            .unwrap_or_default(),
        header: stanza.header,
        specimen: stanza.kind == StanzaKind::Specimen,
        drug: None,
        ingredients: Vec::new(),
        area: Answer::Unanswered,
        areas_in_scope: Vec::new(),
        weight: None,
        surface: None,
        age: None,
        states: States::default(),
        dosing_weight: None,
        high_alert: false,
        phases: Vec::new(),
        expects: Vec::new(),
        problems: Vec::new(),
    };
    for line in stanza.lines.iter().filter(|line| !line.whole) {
        let twice = |mark: &&Mark| matches!(mark.kind, MarkKind::Twice { .. });
        let twice = stanza.marks.iter().filter(twice);
        let kind = match twice.map(|mark| mark.span).find(|span| *span == line.span) {
            Some(_) => ProblemKind::Twice,
            None => ProblemKind::Unread,
        };
        lowering.problem(line.span, kind);
    }
    if stanza.name.is_none() {
        lowering.problem(stanza.header, ProblemKind::Unread);
    }
    whole_order_lines(&mut order, &mut lowering, &resolver, stanza);
    answer_area(&mut order, &mut lowering, &resolver);
    fill_patient(&mut order);
    let defaults = equipment(&order, &mut lowering, &resolver);
    order.phases = phases(&order, &mut lowering, &resolver, stanza, &defaults);
    order.ingredients = ingredients(&order, &resolver);
    order.high_alert |= order
        .drug
        .as_ref()
        .is_some_and(|drug| drug.value.high_alert);
    order.problems = lowering.problems;
    order
}

/// What limits the substances that the order brings.
fn ingredients(order: &Order, resolver: &Resolver<'_>) -> Vec<Named<Ingredient>> {
    let mut all: Vec<Named<Ingredient>> = Vec::new();
    for content in order.contents() {
        let name = &content.substance;
        if all.iter().any(|known| known.name == *name) {
            continue;
        }
        let stanzas = resolver.workspace.ingredients(name).into_iter();
        let named = stanzas.filter_map(|id| {
            Some(Named {
                name: name.clone(),
                span: None,
                id,
                value: resolver.library.ingredient(id)?.clone(),
            })
        });
        all.extend(named.collect::<Vec<_>>());
    }
    all
}

/// The lines that hold for the whole order wherever they stand.
fn whole_order_lines(
    order: &mut Order,
    lowering: &mut Lowering,
    resolver: &Resolver<'_>,
    stanza: &Stanza,
) {
    for line in &stanza.lines {
        match &line.fact {
            Fact::Drug(name) => order.drug = resolver.named::<Drug>(lowering, name),
            Fact::Area(area) => {
                order.area = match &area.value {
                    None => Answer::Any(area.span),
                    Some(name) => {
                        let name = Spanned::new(name.clone(), area.span);
                        resolver
                            .named::<Area>(lowering, &name)
                            .map_or(Answer::Unanswered, Answer::Is)
                    }
                };
            }
            Fact::Patient { kind, range } => {
                let (extent, stated, read): (_, _, Option<Extent>) = match kind {
                    PatientKind::Weight => (
                        &mut order.weight,
                        &mut order.states.weight,
                        lowering.weights(range),
                    ),
                    PatientKind::Surface => (
                        &mut order.surface,
                        &mut order.states.surface,
                        lowering.surfaces(range),
                    ),
                    PatientKind::Age => {
                        (&mut order.age, &mut order.states.age, lowering.times(range))
                    }
                };
                *stated = Some(line.span);
                *extent = read;
            }
            Fact::DosingWeight(range) => {
                let extent = lowering.weights(range);
                order.dosing_weight = extent
                    .and_then(|extent| extent.high)
                    .map(|high| (high, line.span));
                if order.dosing_weight.is_none() {
                    lowering.problem(
                        line.span,
                        ProblemKind::Missing {
                            what: "a maximum (`up to`)",
                        },
                    );
                }
            }
            Fact::HighAlert => order.high_alert = true,
            Fact::Expect(expect) => order.expects.extend(expectation(lowering, expect, line)),
            _ => {}
        }
    }
}

/// The area that the order, else the house, names; else every area in scope.
fn answer_area(order: &mut Order, lowering: &mut Lowering, resolver: &Resolver<'_>) {
    if let (Answer::Unanswered, Some(name)) = (&order.area, &resolver.workspace.house.area) {
        let stated = resolver
            .workspace
            .stanza(order.id)
            .lines
            .iter()
            .any(|line| matches!(line.fact, Fact::Area(_)));
        if !stated {
            let named =
                resolver.named_elsewhere::<Area>(lowering, order.id.file, name, order.header);
            order.area = named.map_or(Answer::Unanswered, Answer::Is);
        }
    }
    if order.area.named().is_none() {
        order.areas_in_scope = resolver
            .workspace
            .names_in_sight(order.id.file, Space::Stanza(StanzaKind::Area))
            .into_iter()
            .filter_map(|(name, id)| {
                let value = resolver.library.area(id)?.clone();
                Some(Named {
                    name,
                    span: None,
                    id,
                    value,
                })
            })
            .collect();
    }
}

/// One-sided patient ranges, and missing ones, take what is missing from the
/// area.
fn fill_patient(order: &mut Order) {
    let Some(area) = order.area.named().map(|area| area.value.clone()) else {
        return;
    };
    let fill = |own: &mut Option<Extent>, other: &Option<Extent>| match (own.as_mut(), other) {
        (None, Some(other)) => *own = Some(other.clone()),
        (Some(own), Some(other)) => own.fill(other),
        (_, None) => {}
    };
    fill(&mut order.weight, &area.weight);
    fill(&mut order.surface, &area.surface);
    fill(&mut order.age, &area.age);
}

/// Order before area before house. The names of an area's lines are those
/// that the area's own file sees.
fn equipment(order: &Order, lowering: &mut Lowering, resolver: &Resolver<'_>) -> Equipment {
    let house = &resolver.workspace.house;
    let area = order.area.named();
    let pump = match (
        area.and_then(|area| Some((area.id.file, area.value.pump.as_ref()?))),
        &house.pump,
    ) {
        (Some((file, name)), _) => resolver.named_elsewhere(lowering, file, name, order.header),
        (None, Some(name)) => resolver.named_elsewhere(lowering, order.id.file, name, order.header),
        (None, None) => None,
    };
    let giving_set = match (
        area.and_then(|area| Some((area.id.file, area.value.giving_set.as_ref()?))),
        &house.giving_set,
    ) {
        (Some((file, name)), _) => resolver.named_elsewhere(lowering, file, name, order.header),
        (None, Some(name)) => resolver.named_elsewhere(lowering, order.id.file, name, order.header),
        (None, None) => None,
    };
    Equipment { pump, giving_set }
}

/// The order's phases: what stands above the first `phase` holds for all.
fn phases(
    order: &Order,
    lowering: &mut Lowering,
    resolver: &Resolver<'_>,
    stanza: &Stanza,
    equipment: &Equipment,
) -> Vec<super::order::Phase> {
    let starts: Vec<usize> = stanza
        .lines
        .iter()
        .enumerate()
        .filter(|(_, line)| matches!(line.fact, Fact::Phase { .. }))
        .map(|(index, _)| index)
        .collect();
    let head = &stanza.lines[..starts.first().copied().unwrap_or(stanza.lines.len())];
    if starts.is_empty() {
        let lines = PhaseLines {
            name: None,
            span: order.header,
            shared: &[],
            own: head,
            first: true,
            last: true,
        };
        return vec![lines.lower(lowering, resolver, equipment)];
    }
    let ends = starts.iter().skip(1).copied().chain([stanza.lines.len()]);
    let mut phases = Vec::with_capacity(starts.len());
    for (start, end) in starts.iter().copied().zip(ends) {
        let heading = &stanza.lines[start];
        let name = match &heading.fact {
            Fact::Phase { name, .. } => Some(name.value.clone()),
            _ => None,
        };
        let own = stanza.lines.get(start + 1..end).unwrap_or(&[]);
        let first = phases.is_empty();
        let lines = PhaseLines {
            name,
            span: heading.span,
            shared: head,
            own,
            first,
            last: phases.len() + 1 == starts.len(),
        };
        // Problems of the shared lines are said once, with the first phase.
        let known = lowering.problems.len();
        phases.push(lines.lower(lowering, resolver, equipment));
        if !first {
            let shared: Vec<Span> = head.iter().map(|line| line.span).collect();
            let mut index = 0;
            lowering.problems.retain(|problem| {
                let fresh = index >= known;
                index += 1;
                !(fresh
                    && shared.iter().any(|span| {
                        span.start <= problem.span.start && problem.span.end <= span.end
                    }))
            });
        }
    }
    phases
}

fn expectation(lowering: &mut Lowering, expect: &Expect, line: &Line) -> Option<Expectation> {
    let value = expect.value.quantity()?;
    let mut expectation = Expectation {
        span: line.span,
        measure: expect.measure.clone(),
        value,
        decimals: expect.value.decimals,
        value_span: expect.value.span,
        per_day: expect.per_day,
        weight: None,
        surface: None,
        dose: None,
        phase: expect.phase.clone(),
    };
    for at in &expect.at {
        if let Some(surface) = Scalar::read(at, Dimension::SURFACE) {
            expectation.surface = Some(surface.value);
        } else if let Some(weight) = Scalar::read_weight(at) {
            expectation.weight = Some(weight.value);
        } else {
            let rate = |form: &super::size::Form| form.rate;
            expectation.dose =
                Some(lowering.size(at, "a weight, a body surface area or a dose", rate)?);
        }
    }
    Some(expectation)
}
