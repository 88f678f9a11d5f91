//! The kinds of slips, in the order of the table.

/// What a slip is about; a kind has one row in the table.
#[expect(missing_docs, reason = "the table below tells each")]
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    PointOne,
    PointTwo,
    Thousandfold,
    TimeBelow,
    PerKgLost,
    PerKgTwice,
    PoundsInDose,
    PoundsInWeights,
    DaysDose,
    OtherField,
    Swapped,
    BagAmountTen,
    BagAmountUnit,
    BagVolumeTen,
    BagVolumeUnit,
    VolumeLeftOut,
    BeyondTheBag,
    RouteChanged,
    RouteLeftOut,
    AreaLeftOut,
    ThenLeftOut,
    WrongDiluent,
    TimeUnit,
    WeightsDeleted,
    MixDeleted,
    GivingSetDeleted,
    WrongDrugName,
    CapDropped,
    AdjustWidened,
    Unreadable,
}

use Kind as K;

/// Every kind, in the order of the table, with how it is told, and the least
/// share of it in per cent that is caught.
pub const KINDS: &[(Kind, &str, u32)] = &[
    (K::PointOne, "a point moved by one place", 0),
    (K::PointTwo, "a point moved by two places", 0),
    (K::Thousandfold, "mg for mcg, g for mg and the like", 0),
    (
        K::TimeBelow,
        "per minute, per hour and per day for each other",
        0,
    ),
    (K::PerKgLost, "`/kg` or `/m2` lost", 0),
    (K::PerKgTwice, "the weight reckoned in twice", 0),
    (K::PoundsInDose, "a dose reckoned with pounds", 0),
    (K::PoundsInWeights, "the patient's weights in pounds", 0),
    (K::DaysDose, "a day's dose at each time", 0),
    (
        K::OtherField,
        "the flow's number for the dose, or the reverse",
        0,
    ),
    (K::Swapped, "two neighbouring digits swapped", 0),
    (K::BagAmountTen, "the bag's drug wrong by ten", 0),
    (K::BagAmountUnit, "the bag's drug wrong by a unit", 0),
    (K::BagVolumeTen, "the bag's volume wrong by ten", 0),
    (K::BagVolumeUnit, "the bag's volume wrong by a unit", 0),
    (K::VolumeLeftOut, "the run's volume left out", 100),
    (K::BeyondTheBag, "a run beyond the bag", 100),
    (K::RouteChanged, "another route", 0),
    (K::RouteLeftOut, "the route left out", 0),
    (K::AreaLeftOut, "the area left out", 100),
    (K::ThenLeftOut, "what follows the bag left out", 100),
    (K::WrongDiluent, "another diluent", 0),
    (
        K::TimeUnit,
        "minutes, hours and days of a time for each other",
        0,
    ),
    (K::WeightsDeleted, "the patient's weights deleted", 0),
    (K::MixDeleted, "the line of the bag deleted", 100),
    (
        K::GivingSetDeleted,
        "the giving set deleted, with drops",
        100,
    ),
    (K::WrongDrugName, "the drug's name wrong by a letter", 100),
    (K::CapDropped, "a lid dropped", 0),
    (K::AdjustWidened, "an adjust range ten times as wide", 0),
    (K::Unreadable, "a line made unreadable", 100),
];
