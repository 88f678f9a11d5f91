//! Who asked for what.

use gutta_protocol::trace::Query;
use rustc_hash::{FxHashMap, FxHashSet};

/// Questions, each with the stanzas that asked it.
#[derive(Debug, Default)]
pub(super) struct Keys {
    numbers: FxHashMap<Query, u32>,
    asking: Vec<Vec<u32>>,
}

impl Keys {
    /// The entries that asked it.
    pub(super) fn asking(&self, asked: &Query) -> &[u32] {
        let number = self.numbers.get(asked);
        number.map_or(&[], |number| &self.asking[*number as usize])
    }

    /// Puts what the entry asks now in the place of what it asked before
    /// (`held`, sorted).
    pub(super) fn ask(&mut self, entry: u32, held: &mut Box<[u32]>, asked: FxHashSet<Query>) {
        let mut now: Vec<_> = asked.into_iter().map(|asked| self.number(asked)).collect();
        now.sort_unstable();
        for number in held.iter() {
            if now.binary_search(number).is_err() {
                self.leave(*number, entry);
            }
        }
        for number in &now {
            if held.binary_search(number).is_err() {
                self.asking[*number as usize].push(entry);
            }
        }
        *held = now.into();
    }

    /// Takes the entry out.
    pub(super) fn forget(&mut self, entry: u32, held: &mut Box<[u32]>) {
        for number in std::mem::take(held) {
            self.leave(number, entry);
        }
    }

    fn number(&mut self, asked: Query) -> u32 {
        let next = u32::try_from(self.asking.len()).unwrap_or(u32::MAX);
        let number = *self.numbers.entry(asked).or_insert(next);
        if number == next {
            self.asking.push(Vec::new());
        }
        number
    }

    fn leave(&mut self, number: u32, entry: u32) {
        let asking = &mut self.asking[number as usize];
        if let Some(at) = asking.iter().rposition(|other| *other == entry) {
            asking.swap_remove(at);
        }
    }
}
