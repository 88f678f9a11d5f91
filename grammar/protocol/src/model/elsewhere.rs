//! Orders of two states of a workspace, beside each other: what one means,
//! wherever in its files the stanzas stand.

use super::order::{Answer, Named, Order, ThenSpec};
use crate::{FileId, StanzaId};

/// Stands for every place alike.
const NOWHERE: StanzaId = StanzaId {
    file: FileId(0),
    index: 0,
};

impl Order {
    /// Whether the other means the same to the letter: each of its lines, and
    /// all that it leans on. All that is derived from it is then the same too.
    #[must_use]
    pub fn means_the_same_as(&self, other: &Self) -> bool {
        self.without_places() == other.without_places()
    }

    /// An id that is missed here makes two orders unlike, and no more.
    fn without_places(&self) -> Self {
        fn nowhere<'a, T: 'a>(named: impl IntoIterator<Item = &'a mut Named<T>>) {
            named.into_iter().for_each(|named| named.id = NOWHERE);
        }
        let mut order = self.clone();
        order.id = NOWHERE;
        nowhere(&mut order.drug);
        nowhere(&mut order.ingredients);
        if let Answer::Is(area) = &mut order.area {
            area.id = NOWHERE;
        }
        nowhere(&mut order.areas_in_scope);
        for phase in &mut order.phases {
            nowhere(&mut phase.pump);
            nowhere(&mut phase.giving_set);
            nowhere(phase.bag.iter_mut().flat_map(|bag| &mut bag.solution));
            nowhere(phase.flushes.iter_mut().flat_map(|(_, with)| with));
            if let Some((ThenSpec::KeepOpen { solution, .. }, _)) = &mut phase.then {
                nowhere(solution);
            }
        }
        order
    }
}
