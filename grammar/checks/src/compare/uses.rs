//! Which orders lean on which stanza.

use gutta_protocol::StanzaId;
use gutta_protocol::limits::areas_in_force;
use gutta_protocol::model::order::{Order, ThenSpec};
use rustc_hash::FxHashMap;
use smol_str::SmolStr;

use super::subjects::Side;

/// The orders of one state that lean on each stanza, by name.
pub(super) struct Uses(FxHashMap<StanzaId, Vec<SmolStr>>);

impl Uses {
    pub(super) fn of(side: &Side<'_>) -> Self {
        let mut uses: FxHashMap<StanzaId, Vec<SmolStr>> = FxHashMap::default();
        for analysis in side.orders.values() {
            let mut leaned = of_order(&analysis.order);
            leaned.sort();
            leaned.dedup();
            for id in leaned {
                uses.entry(id)
                    .or_default()
                    .push(analysis.order.name.clone());
            }
        }
        for names in uses.values_mut() {
            names.sort();
        }
        Self(uses)
    }

    pub(super) fn of_stanza(&self, id: StanzaId) -> Vec<SmolStr> {
        self.0.get(&id).cloned().unwrap_or_default()
    }
}

fn of_order(order: &Order) -> Vec<StanzaId> {
    let mut all: Vec<_> = order.drug.iter().map(|drug| drug.id).collect();
    all.extend(areas_in_force(order).iter().map(|area| area.id));
    for phase in &order.phases {
        all.extend(phase.pump.iter().map(|pump| pump.id));
        all.extend(phase.giving_set.iter().map(|set| set.id));
        let bag = phase.bag.iter().flat_map(|bag| &bag.solution);
        let flushed = phase.flushes.iter().flat_map(|(_, with)| with);
        all.extend(bag.chain(flushed).map(|solution| solution.id));
        if let Some((ThenSpec::KeepOpen { solution, .. }, _)) = &phase.then {
            all.extend(solution.iter().map(|solution| solution.id));
        }
    }
    all
}
