//! Which phase of an order was which before. Names are for people: a phase
//! renamed is the phase it was.

use gutta_protocol::model::order::Order;
use smol_str::SmolStr;

/// A phase before and after; one of the two is there.
#[derive(Clone, Debug)]
pub(super) struct Pair {
    /// Its place before.
    pub(super) before: Option<usize>,
    /// Its place after.
    pub(super) after: Option<usize>,
    /// Its name, the new one where there are two.
    pub(super) name: Option<SmolStr>,
}

/// The phases of two states of an order, in pairs: by their place where there
/// are as many as before, else by their names.
pub(super) fn pairs(before: &Order, after: &Order) -> Vec<Pair> {
    let (old, new) = (&before.phases, &after.phases);
    if old.len() == new.len() {
        return (0..new.len())
            .map(|index| Pair {
                before: Some(index),
                after: Some(index),
                name: new[index].name.clone(),
            })
            .collect();
    }
    let mut pairs: Vec<_> = new
        .iter()
        .enumerate()
        .map(|(index, phase)| Pair {
            before: old.iter().position(|other| other.name == phase.name),
            after: Some(index),
            name: phase.name.clone(),
        })
        .collect();
    for (index, phase) in old.iter().enumerate() {
        if !pairs.iter().any(|pair| pair.before == Some(index)) {
            pairs.push(Pair {
                before: Some(index),
                after: None,
                name: phase.name.clone(),
            });
        }
    }
    pairs
}

/// Which of two states is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum State {
    Before,
    After,
}

/// The pair of a phase of one state, where the other has it too.
pub(super) fn shared(pairs: &[Pair], state: State, phase: usize) -> Option<usize> {
    pairs.iter().position(|pair| {
        let own = match state {
            State::Before => pair.before,
            State::After => pair.after,
        };
        own == Some(phase) && pair.before.is_some() && pair.after.is_some()
    })
}
