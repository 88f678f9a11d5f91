//! Units as authors write them, and the quantities they make.

use std::fmt;

use crate::Exact;

/// One unit of the notation's table, standing alone or on one side of `/`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[repr(u8)]
pub enum Atom {
    /// Kilogram: of drug above the line, of the patient below it.
    Kg,
    /// Gram.
    G,
    /// Milligram.
    Mg,
    /// Microgram.
    Mcg,
    /// Nanogram.
    Ng,
    /// Mole.
    Mol,
    /// Millimole.
    Mmol,
    /// Micromole.
    Micromol,
    /// Milliequivalent.
    MEq,
    /// International unit of activity.
    Units,
    /// A thousandth of a unit of activity.
    Milliunits,
    /// Litre.
    L,
    /// Millilitre.
    ML,
    /// Drop: how many make a millilitre is the giving set's.
    Drops,
    /// Second.
    S,
    /// Minute.
    Min,
    /// Hour.
    H,
    /// Day of 24 hours.
    Days,
    /// Week, of ages alone.
    Weeks,
    /// Month of 365.25/12 days, of ages alone.
    Months,
    /// Year of 365.25 days, of ages alone.
    Years,
    /// Square metre of body surface.
    M2,
    /// Milliosmole.
    MOsm,
    /// Kilocalorie.
    Kcal,
    /// Per cent: weight in volume (10 mg/mL) of a solution, else a share.
    Percent,
}

/// What a quantity is a quantity of: the exponent of each independent kind.
///
/// Body weight is a kind of its own, so that mg/kg never cancels to a number.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Dimension {
    /// Mass of drug.
    pub mass: i8,
    /// Amount of substance.
    pub amount: i8,
    /// Charge equivalents.
    pub equivalents: i8,
    /// Activity.
    pub activity: i8,
    /// Volume.
    pub volume: i8,
    /// Drops.
    pub drops: i8,
    /// Time.
    pub time: i8,
    /// Body weight.
    pub weight: i8,
    /// Body surface.
    pub surface: i8,
    /// Osmoles.
    pub osmoles: i8,
    /// Energy.
    pub energy: i8,
}

/// A unit: an atom over at most two others (`mcg/kg/min`), or a plain number.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Unit {
    /// Above the line; `None` for a plain number or `1/h`.
    pub top: Option<Atom>,
    /// Below the line, in the order written: weight or surface before time.
    pub per: [Option<Atom>; 2],
}

/// A value in a unit.
#[derive(Clone, PartialEq, Eq, Hash)]
pub struct Quantity {
    /// The value, counted in `unit`.
    pub value: Exact,
    /// The unit.
    pub unit: Unit,
}

impl fmt::Debug for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} {:?}", self.value, self.unit)
    }
}
