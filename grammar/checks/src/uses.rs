//! Which stanzas an order leans on.

use gutta_protocol::StanzaId;
use gutta_protocol::limits::areas_in_force;
use gutta_protocol::model::order::{Order, ThenSpec};

/// The drug, areas, pumps, giving sets and solutions that an order means, by
/// itself or by its area and its house; each may stand several times.
#[must_use]
pub fn leans_on(order: &Order) -> Vec<StanzaId> {
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
