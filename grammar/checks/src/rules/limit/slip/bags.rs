//! Which phases go on with one bag: what a number changes, and what it leaves
//! as it is.

use std::collections::BTreeSet;

use gutta_notation::Span;
use gutta_notation::ast::LimitMeasure;
use gutta_protocol::derive::Values;
use gutta_protocol::limits::Judgement;
use gutta_protocol::model::limit::LimitBound;
use gutta_protocol::model::order::{Order, Phase};

/// For each phase, the phase that hung its bag.
pub(super) struct Bags(Vec<usize>);

impl Bags {
    pub(super) fn of(order: &Order, values: &Values) -> Self {
        let view = values.views.first();
        let hung = |phase: usize| view.and_then(|view| Some(view.phases.get(phase)?.bag.phase));
        Self(
            (0..order.phases.len())
                .map(|phase| hung(phase).unwrap_or(phase))
                .collect(),
        )
    }

    /// The bags of the breaches that no other bag has a part in.
    pub(super) fn breached(&self, judgement: &Judgement) -> BTreeSet<usize> {
        let breaches = judgement.breaches.iter();
        breaches
            .filter(|breach| stays_with_its_bag(&breach.bound))
            .filter_map(|breach| self.0.get(breach.reading.phase).copied())
            .collect()
    }

    /// The bags on which the numbers of a line have a bearing. What stands
    /// above the first phase is a line of several.
    pub(super) fn of_line(&self, order: &Order, line: Span) -> BTreeSet<usize> {
        let phases = order.phases.iter().zip(&self.0);
        phases
            .filter(|(phase, _)| holds(phase, line))
            .map(|(_, bag)| *bag)
            .collect()
    }

    /// The order with the phases of these bags alone; `None` where that is all
    /// of it.
    pub(super) fn alone(&self, order: &Order, line: Span) -> Option<Order> {
        let bags = self.of_line(order, line);
        if self.0.iter().all(|bag| bags.contains(bag)) {
            return None;
        }
        let phases = order.phases.iter().zip(&self.0);
        let phases = phases.filter(|(_, bag)| bags.contains(bag));
        let phases = phases.map(|(phase, _)| phase.clone()).collect();
        Some(Order {
            phases,
            expects: Vec::new(),
            problems: order.problems.clone(),
            id: order.id,
            name: order.name.clone(),
            header: order.header,
            specimen: order.specimen,
            drug: order.drug.clone(),
            ingredients: order.ingredients.clone(),
            area: order.area.clone(),
            areas_in_scope: order.areas_in_scope.clone(),
            weight: order.weight.clone(),
            surface: order.surface.clone(),
            age: order.age.clone(),
            states: order.states,
            dosing_weight: order.dosing_weight.clone(),
            high_alert: order.high_alert,
        })
    }
}

/// Whether the value follows from its bag and the lines that run it alone, and
/// not from what else the order gives, nor from when.
pub(super) fn stays_with_its_bag(bound: &LimitBound) -> bool {
    use LimitMeasure as Measure;
    bound.when.after_first.is_none()
        && bound
            .except
            .iter()
            .all(|except| except.after_first.is_none())
        && match bound.measure {
            Measure::Dose
            | Measure::Flow
            | Measure::Strength
            | Measure::Osmolarity
            | Measure::Bolus
            | Measure::BolusRate
            | Measure::BolusTime => true,
            Measure::SingleDose | Measure::Interval | Measure::Total | Measure::Time => false,
        }
}

/// Whether the line is one of the phase's.
fn holds(phase: &Phase, line: Span) -> bool {
    phase.bag.as_ref().is_some_and(|bag| bag.span == line)
        || phase
            .adjust
            .as_ref()
            .is_some_and(|adjust| adjust.span == line)
        || phase.boluses.iter().any(|bolus| bolus.span == line)
        || phase.runs.iter().any(|run| run.span == line)
        || phase.then.as_ref().is_some_and(|(_, then)| *then == line)
}
