//! Orders.

use std::collections::hash_map::Entry;

use gutta_notation::Fact;
use gutta_protocol::{Analysis, StanzaId};

use super::Exporter;
use super::derived::Derived;
use super::fhir::{ActivityDefinition, Reference, Resource};
use super::left_out::LeftOut;
use super::text::plain;

impl Exporter<'_> {
    /// An order: one activity, or a plan with one a phase.
    pub(super) fn order(&mut self, analysis: &Analysis) {
        let Ok(values) = &analysis.values else { return };
        let order = &analysis.order;
        let derived = Derived::of(order, &values.views);
        let mut left = LeftOut::of(self.workspace, &self.lines, order.id);
        let bags: Vec<_> = (0..order.phases.len())
            .map(|phase| self.bag(analysis, &derived, phase, &mut left))
            .collect();
        // What is left out is known when all is made, and told in each.
        let dosages: Vec<_> = (0..order.phases.len())
            .map(|phase| self.dosages(analysis, &derived, phase, &mut left))
            .collect();
        let hung = |phase: usize| {
            let bag = values.views.first()?.phases.get(phase)?.bag.phase;
            let url = bags.get(bag)?.as_ref()?.reference.clone();
            Some(Reference { reference: url })
        };
        let products: Vec<_> = (0..order.phases.len()).map(hung).collect();
        let area = order.area.named().map(|area| area.id);
        let named = order.phases.iter().any(|phase| phase.name.is_some());
        let mut steps = Vec::new();
        for ((phase, dosage), product_reference) in order.phases.iter().zip(dosages).zip(products) {
            let part = phase.name.as_deref().map(plain);
            let inner = part
                .as_ref()
                .map_or(String::new(), |part| format!("phase {part}"));
            let name = self.name("ActivityDefinition", order.id, &inner);
            let url = name.url.clone();
            let activity = ActivityDefinition {
                frame: self.frame(order.id, name, part.as_deref(), area, &mut left),
                kind: "MedicationRequest",
                product_reference,
                dosage,
            };
            self.push(
                url.clone(),
                Resource::ActivityDefinition(Box::new(activity)),
            );
            steps.push((self.phase_title(order.id, part.unwrap_or_default()), url));
        }
        let url = if named {
            self.phases(order.id, area, steps, &mut left)
        } else {
            steps
                .into_iter()
                .next()
                .map_or_else(String::new, |(_, url)| url)
        };
        self.held.insert(order.id, url);
        self.left.push(left);
        for id in super::choice::leans_on(order) {
            self.without_a_resource(id);
        }
    }

    /// `first: The first bag`, where the phase has a title.
    fn phase_title(&self, id: StanzaId, name: String) -> String {
        let lines = &self.workspace.stanza(id).lines;
        let title = lines.iter().find_map(|line| match &line.fact {
            Fact::Phase { name: of, title } if plain(&of.value) == name => title.as_ref(),
            _ => None,
        });
        match title {
            Some(title) => format!("{name}: {}", plain(&title.value)),
            None => name,
        }
    }

    /// Lists what a stanza says that has no resource.
    pub(super) fn without_a_resource(&mut self, id: StanzaId) {
        if let Entry::Vacant(vacant) = self.held.entry(id) {
            vacant.insert(String::new());
            self.left.push(LeftOut::of(self.workspace, &self.lines, id));
        }
    }
}
