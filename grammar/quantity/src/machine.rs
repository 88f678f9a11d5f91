//! Numbers and units for other programs: one form, whatever a house's style.
//! What a person reads is printed by [`crate::print`].

use crate::print::write;
use crate::{Atom, Exact, Rounding, Unit};

/// The fraction: `21/8`, or `3` if whole.
#[must_use]
pub fn fraction(value: &Exact) -> String {
    value.fraction()
}

/// The decimal form to so many places (at most
/// [`MOST_DECIMALS`](crate::print::MOST_DECIMALS) unless it ends), halves up,
/// without groups and trailing zeros: `25000.5`.
#[must_use]
pub fn decimal(value: &Exact, decimals: u32) -> String {
    let most = value.decimals().unwrap_or(crate::print::MOST_DECIMALS);
    write(value, decimals.min(most), Rounding::HalfUp, false, None)
}

/// The unit as the notation's table spells it, in the plural: `mcg/kg/min`.
/// Its UCUM code is [`Unit::ucum`].
#[must_use]
pub fn unit(unit: Unit) -> String {
    unit.symbol()
}

/// One unit as the notation's table spells it: in the plural, where it has
/// one, and in the singular.
#[must_use]
pub const fn spellings(atom: Atom) -> [&'static str; 2] {
    [atom.symbol(), atom.singular()]
}
