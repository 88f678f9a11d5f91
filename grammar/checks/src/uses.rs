//! Which stanzas an order leans on.

use gutta_protocol::StanzaId;
use gutta_protocol::limits::areas_in_force;
use gutta_protocol::model::order::Order;

/// The drug, areas, pumps, giving sets, solutions and ingredients that an order
/// means, by itself or by its area, its house and what it brings; each may
/// stand several times.
#[must_use]
pub fn leans_on(order: &Order) -> Vec<StanzaId> {
    let mut all: Vec<_> = order.drug.iter().map(|drug| drug.id).collect();
    all.extend(areas_in_force(order).iter().map(|area| area.id));
    for phase in &order.phases {
        all.extend(phase.pump.iter().map(|pump| pump.id));
        all.extend(phase.giving_set.iter().map(|set| set.id));
    }
    all.extend(order.solutions().map(|solution| solution.id));
    all.extend(order.ingredients.iter().map(|ingredient| ingredient.id));
    all
}
