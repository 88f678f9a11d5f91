//! Readings of what is in the bag.

use gutta_notation::Span;

use super::readings::{NotComparable, Reader, Reading, Reads};
use crate::derive::At;
use crate::model::limit::{LimitBound, LimitForm};

impl Reader<'_> {
    /// Strength or osmolarity of each bag that holds the drug.
    pub(super) fn bags(&self, bound: &LimitBound) -> Vec<Reading> {
        let mut readings = Vec::new();
        for (phase, derived) in self.view.bags() {
            let Some(drug) = &derived.bag.drug else {
                continue;
            };
            let spec = self
                .order
                .phases
                .get(phase)
                .and_then(|phase| phase.bag.as_ref());
            let span = spec.map_or_else(Span::default, |bag| bag.span);
            let value = match bound.form {
                LimitForm::Strength(kind) => {
                    let named = self.order.drug.as_ref().map(|drug| &*drug.value);
                    let strength = self.view.strength_judged(
                        self.order,
                        phase,
                        (bound.side, bound.usual),
                        false,
                    );
                    match (
                        strength,
                        crate::model::drug::equivalence(named, drug.kind, kind),
                    ) {
                        _ if self.is_untied(phase) => Reads::Unknown(NotComparable::Equivalence),
                        (Some(strength), Some(factor)) => Reads::Value(strength.scale(&factor)),
                        (_, None) => Reads::Unknown(NotComparable::Equivalence),
                        (None, _) => Reads::Unknown(NotComparable::NotComputable),
                    }
                }
                LimitForm::Osmolarity => self
                    .view
                    .osmolarity(self.order, phase)
                    .and_then(|osmolarity| osmolarity.judged(bound))
                    .map_or(Reads::Unknown(NotComparable::Osmolarity), Reads::Value),
                LimitForm::Size(_) | LimitForm::Time => {
                    Reads::Unknown(NotComparable::NotComputable)
                }
            };
            let load = self.is_load(phase);
            readings.push(Reading {
                phase,
                phases: (phase, phase),
                load,
                span,
                at: At::Start,
                run: None,
                value,
                ends: None,
                given_way: Vec::new(),
            });
        }
        readings
    }
}
