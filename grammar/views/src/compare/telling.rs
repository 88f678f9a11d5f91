//! How numbers are told, and which changes are grave.

use gutta_quantity::{Atom, Dimension, Exact, Quantity, Rounding, Style, Unit};

use super::ValueText;
use super::phases::Pair;

/// A number as it is written: a time by the clock.
pub(super) fn number(base: &Exact, unit: Unit, style: Style) -> ValueText {
    let quantity = Quantity::from_base(base.clone(), unit);
    let age = matches!(unit.top, Some(Atom::Years | Atom::Months | Atom::Weeks));
    let told = if unit.dimension() == Dimension::TIME && !age {
        style.quantity_shown(&quantity)
    } else {
        style.quantity(&quantity)
    };
    ValueText {
        text: told.to_string(),
        number: Some((quantity.value, unit)),
    }
}

/// Two numbers that differ and read alike are written in as many figures as
/// it takes to tell them apart.
pub(super) fn tell_apart(before: &mut ValueText, after: &mut ValueText, style: Style) {
    let (Some((one, unit)), Some((other, like))) = (&before.number, &after.number) else {
        return;
    };
    if before.text != after.text || (one == other && unit == like) {
        return;
    }
    for figures in 4..40 {
        let told = |value: &Exact, unit: &Unit| {
            let value = Quantity::new(value.clone(), *unit);
            style
                .quantity_significant(&value, figures, Rounding::HalfUp)
                .to_string()
        };
        let (first, second) = (told(one, unit), told(other, like));
        if first != second {
            (before.text, after.text) = (first, second);
            return;
        }
    }
}

/// How grave changes are judged and told.
#[derive(Clone, Copy)]
pub(super) struct Telling<'a> {
    /// How numbers are written.
    pub(super) style: Style,
    /// A relative change of more than this is marked.
    pub(super) threshold: &'a Exact,
    /// The phases.
    pub(super) phases: &'a [Pair],
}

impl Telling<'_> {
    /// Whether a ratio is beyond the threshold, either way.
    pub(super) fn is_beyond(&self, ratio: &Exact) -> bool {
        size_of(ratio).is_none_or(|size| size > &Exact::ONE + self.threshold)
    }

    pub(super) fn phase(&self, pair: Option<usize>) -> Option<smol_str::SmolStr> {
        self.phases.get(pair?)?.name.clone()
    }
}

/// How far a ratio is from 1, either way; `None` at or below zero.
pub(super) fn size_of(ratio: &Exact) -> Option<Exact> {
    if !ratio.is_positive() {
        return None;
    }
    Some(ratio.clone().max(ratio.recip()?))
}
