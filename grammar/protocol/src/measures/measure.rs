//! What a derived value is called.

use gutta_notation::ast::ExpectMeasure;
use gutta_notation::words::EXPECT_MEASURES;

/// What a derived value is: a measure of `expect`, or one that the notation
/// has no word for, and that is shown all the same.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub enum Measure {
    /// A measure that an `expect` line may name.
    Expect(ExpectMeasure),
    /// The diluent that the drug goes into.
    Diluent,
    /// The containers of drug to open: whole ones.
    Containers,
    /// The dose that the flow really gives as the pump runs it.
    PumpDose,
    /// How long after it was begun a bag runs dry.
    RunsDry,
    /// Bags in a day, on average.
    Bags,
}

impl Measure {
    /// Its name.
    #[must_use]
    pub fn name(&self) -> &str {
        match self {
            Self::Expect(measure) => measure_name(measure),
            Self::Diluent => "diluent",
            Self::Containers => "containers",
            Self::PumpDose => "pump dose",
            Self::RunsDry => "runs dry",
            Self::Bags => "bags",
        }
    }

    /// Whether it goes by the setting of what may be adjusted.
    #[must_use]
    pub(crate) const fn follows_the_setting(&self) -> bool {
        use ExpectMeasure as M;
        match self {
            Self::Expect(measure) => match measure {
                M::Flow | M::PumpFlow | M::Drops | M::Time | M::Dose => true,
                M::Total | M::Fluid | M::Substance(_) => true,
                M::Strength | M::TrueStrength | M::Draw | M::Volume => false,
                M::Bolus | M::BolusTime => false,
            },
            Self::PumpDose | Self::RunsDry | Self::Bags => true,
            Self::Diluent | Self::Containers => false,
        }
    }
}

impl PartialEq<ExpectMeasure> for Measure {
    fn eq(&self, other: &ExpectMeasure) -> bool {
        matches!(self, Self::Expect(measure) if measure == other)
    }
}

/// The name of a measure, as `expect` writes it.
#[must_use]
pub fn measure_name(measure: &ExpectMeasure) -> &str {
    if let ExpectMeasure::Substance(name) = measure {
        return name;
    }
    let known = EXPECT_MEASURES.iter().find(|(_, known)| known == measure);
    known.map_or("", |(name, _)| name)
}
