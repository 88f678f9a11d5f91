//! Which orders lean on which stanza.

use gutta_checks::leans_on;
use gutta_protocol::StanzaId;
use rustc_hash::FxHashMap;
use smol_str::SmolStr;

use super::side::Side;

/// The orders of one state that lean on each stanza, by name.
pub(super) struct Uses(FxHashMap<StanzaId, Vec<SmolStr>>);

impl Uses {
    pub(super) fn of(side: &Side<'_>) -> Self {
        let mut uses: FxHashMap<StanzaId, Vec<SmolStr>> = FxHashMap::default();
        for judged in side.orders.values() {
            let mut leaned = leans_on(&judged.order);
            leaned.sort();
            leaned.dedup();
            for id in leaned {
                uses.entry(id).or_default().push(judged.order.name.clone());
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
