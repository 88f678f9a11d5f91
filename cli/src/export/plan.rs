//! Orders with phases, and sets.

use gutta_protocol::StanzaId;
use gutta_protocol::sets::Together;

use super::fhir::{Action, CodeableConcept, PlanDefinition, RelatedAction, Resource};
use super::left_out::LeftOut;
use super::{Exporter, Release};

const TYPES: &str = "http://terminology.hl7.org/CodeSystem/plan-definition-type";

impl Exporter<'_> {
    /// An order with phases: each follows the end of the one above.
    pub(super) fn phases(
        &mut self,
        id: StanzaId,
        area: Option<StanzaId>,
        steps: Vec<(String, String)>,
        left: &mut LeftOut,
    ) -> String {
        let step = |at: usize| format!("phase-{}", at + 1);
        let mut actions = Vec::new();
        for (at, (title, url)) in steps.into_iter().enumerate() {
            let after = at.checked_sub(1).map(step);
            actions.push(Action {
                related_action: after.into_iter().map(|after| self.after(after)).collect(),
                ..self.action(step(at), title, url)
            });
        }
        self.plan(id, area, "clinical-protocol", actions, left)
    }

    /// A set: all of its orders.
    pub(super) fn set(&mut self, id: StanzaId, set: &Together) {
        let mut left = LeftOut::of(self.workspace, &self.lines, id);
        let members = set.members.iter().enumerate().filter_map(|(at, member)| {
            let url = self.held.get(&member.order.id)?.clone();
            let title = self.title(member.order.id);
            Some(self.action(format!("order-{}", at + 1), title, url))
        });
        let group = Action {
            title: self.title(id),
            grouping_behavior: Some("logical-group"),
            selection_behavior: Some("all"),
            action: members.collect(),
            ..Action::default()
        };
        let area = set.area.as_ref().map(|area| area.id);
        let url = self.plan(id, area, "order-set", vec![group], &mut left);
        self.held.insert(id, url);
        self.left.push(left);
        if let Some(area) = area {
            self.without_a_resource(area);
        }
    }

    fn plan(
        &mut self,
        id: StanzaId,
        area: Option<StanzaId>,
        kind: &'static str,
        action: Vec<Action>,
        left: &mut LeftOut,
    ) -> String {
        let name = self.name("PlanDefinition", id, "");
        let url = name.url.clone();
        let plan = PlanDefinition {
            frame: self.frame(id, name, None, area, left),
            kind: CodeableConcept::code(TYPES, kind),
            action,
        };
        self.push(url.clone(), Resource::PlanDefinition(Box::new(plan)));
        url
    }

    fn action(&self, id: String, title: String, url: String) -> Action {
        Action {
            link_id: (self.release == Release::R5).then(|| id.clone()),
            id: Some(id),
            title,
            definition_canonical: Some(url),
            ..Action::default()
        }
    }

    fn after(&self, other: String) -> RelatedAction {
        let (action_id, target_id) = match self.release {
            Release::R4 => (Some(other), None),
            Release::R5 => (None, Some(other)),
        };
        RelatedAction {
            action_id,
            target_id,
            relationship: "after-end",
        }
    }
}
