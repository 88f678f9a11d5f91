//! What is in the bag.

use super::{Name, Written};

/// An amount with the lid that may bound it (`20 mg/kg, at most 2 g`).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Dose {
    /// The amount or volume, perhaps per kg or m2.
    pub amount: Written,
    /// What it may not exceed.
    pub lid: Option<Written>,
}

/// The bag line of an order or phase.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Bag {
    /// `mix AMOUNT made up to VOLUME with SOLUTION`, `mix AMOUNT added to …`.
    Mix {
        /// The drug: an amount, or a volume of it as supplied.
        drug: Dose,
        /// How it is diluted.
        into: Into,
    },
    /// `premixed AMOUNT in VOLUME [of SOLUTION]`. The amount may also be a
    /// strength (`premixed 5 % in 500 mL`).
    Premixed {
        /// The drug in it.
        amount: Written,
        /// The volume.
        volume: Written,
        /// What it is made with.
        solution: Option<Name>,
    },
    /// `hang VOLUME of SOLUTION`.
    Hang {
        /// The volume.
        volume: Written,
        /// What hangs.
        solution: Name,
    },
    /// `undiluted VOLUME`.
    Undiluted {
        /// The volume of the drug as supplied.
        volume: Written,
    },
}

/// How a mix is diluted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Into {
    /// The final volume is `volume`.
    MadeUpTo {
        /// The final volume.
        volume: Written,
        /// The diluent.
        solution: Name,
    },
    /// The final volume is `volume` plus the drug's own.
    AddedTo {
        /// The diluent's volume.
        volume: Written,
        /// The diluent.
        solution: Name,
        /// The volume by which strength and flow are reckoned, if another.
        counted_as: Option<Written>,
    },
}
