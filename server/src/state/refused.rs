//! What was found to take too long, remembered until the text changes.

use std::sync::{Mutex, PoisonError};

use gutta_protocol::StanzaId;
use gutta_quantity::work::{self, Spent};
use rustc_hash::FxHashSet;

/// So much work goes into one part of what follows from one stanza: seconds of
/// it, which nobody waits for who does not want to.
const MOST: u64 = 10_000_000;

/// A part of what follows from a stanza.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(crate) enum AnswerPart {
    /// Of the line that begins so many bytes behind the stanza's start.
    Line(u32),
    /// What stands behind its lines.
    Hints,
    /// What stands above it.
    Lens,
    /// All of it, for a view.
    View,
    /// What is told where it is named.
    Facts,
}

/// What takes too long in one repository.
#[derive(Debug)]
pub(crate) struct Refused {
    most: u64,
    parts: Mutex<FxHashSet<(StanzaId, AnswerPart)>>,
}

impl Default for Refused {
    fn default() -> Self {
        Self {
            most: MOST,
            parts: Mutex::default(),
        }
    }
}

impl Refused {
    /// Does no more than so much work, for the tests.
    #[cfg(test)]
    pub(crate) fn beyond(most: u64) -> Self {
        Self {
            most,
            ..Self::default()
        }
    }

    /// Does the work for a part, if it is not too much.
    ///
    /// # Errors
    /// Where it is, or was found to be since the text last changed.
    pub(crate) fn within<T>(
        &self,
        id: StanzaId,
        part: AnswerPart,
        work: impl FnOnce() -> T,
    ) -> Result<T, Spent> {
        let parts = || self.parts.lock().unwrap_or_else(PoisonError::into_inner);
        if parts().contains(&(id, part)) {
            return Err(Spent);
        }
        let done = work::within(self.most, work);
        if done.is_err() {
            parts().insert((id, part));
        }
        done
    }

    /// The text is another.
    pub(crate) fn forget(&mut self) {
        self.parts = Mutex::default();
    }
}

#[cfg(test)]
mod tests {
    use gutta_protocol::{FileId, StanzaId};
    use gutta_quantity::work::{self, Spent};

    use super::{AnswerPart, MOST, Refused};

    #[test]
    fn what_takes_too_long_is_begun_once() {
        let mut refused = Refused::default();
        let id = StanzaId {
            file: FileId(0),
            index: 3,
        };
        // What is bounded from outside may be allowed more another time.
        let outer = work::within(MOST - 1, || {
            refused.within(id, AnswerPart::View, || work::charge(MOST))
        });
        assert_eq!(outer, Err(Spent));
        let mut begun = 0;
        let mut ask = |refused: &Refused, part| {
            refused.within(id, part, || {
                begun += 1;
                work::charge(MOST + 1);
            })
        };
        for part in [
            AnswerPart::View,
            AnswerPart::View,
            AnswerPart::Line(4),
            AnswerPart::Line(4),
        ] {
            assert_eq!(ask(&refused, part), Err(Spent));
        }
        refused.forget();
        assert_eq!(ask(&refused, AnswerPart::View), Err(Spent));
        assert_eq!(begun, 3);
        assert_eq!(refused.within(id, AnswerPart::Lens, || 7), Ok(7));
    }
}
