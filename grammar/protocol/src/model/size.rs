//! How much of what: a written quantity once its kind is judged.

use gutta_notation::{Span, Written};
use gutta_quantity::{Dimension, Exact, Quantity, Unit};

pub use crate::counting::DrugKind;

/// What is measured out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Stuff {
    /// Drug.
    Drug(DrugKind),
    /// Volume.
    Volume,
    /// Drops.
    Drops,
}

/// Per what of the patient.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Per {
    /// For the whole patient.
    Patient,
    /// Per kg of body weight.
    Weight,
    /// Per m2 of body surface.
    Surface,
}

/// The form of a size: what, per what, and whether per time.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Form {
    /// What is measured out.
    pub stuff: Stuff,
    /// Per what of the patient.
    pub per: Per,
    /// Whether per time.
    pub rate: bool,
}

impl Form {
    /// The form of a dimension, if it is one of these.
    #[must_use]
    pub fn of(dimension: Dimension) -> Option<Self> {
        let mut rest = dimension;
        let per = match (rest.weight, rest.surface) {
            (0, 0) => Per::Patient,
            (-1, 0) => Per::Weight,
            (0, -1) => Per::Surface,
            _ => return None,
        };
        rest.weight = 0;
        rest.surface = 0;
        let rate = match rest.time {
            0 => false,
            -1 => true,
            _ => return None,
        };
        rest.time = 0;
        let stuff = [
            (Dimension::VOLUME, Stuff::Volume),
            (Dimension::MASS, Stuff::Drug(DrugKind::Mass)),
            (Dimension::ACTIVITY, Stuff::Drug(DrugKind::Activity)),
            (Dimension::AMOUNT, Stuff::Drug(DrugKind::Amount)),
            (Dimension::EQUIVALENTS, Stuff::Drug(DrugKind::Equivalents)),
            (Dimension::DROPS, Stuff::Drops),
        ]
        .into_iter()
        .find(|(dimension, _)| *dimension == rest)?
        .1;
        Some(Self { stuff, per, rate })
    }

    /// The kind of drug, where it is drug that is measured out.
    #[must_use]
    pub const fn drug(self) -> Option<DrugKind> {
        match self.stuff {
            Stuff::Drug(kind) => Some(kind),
            Stuff::Volume | Stuff::Drops => None,
        }
    }
}

/// A written quantity whose form is known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Size {
    /// In base units of its form.
    pub value: Exact,
    /// Its form.
    pub form: Form,
    /// The unit as written.
    pub unit: Unit,
    /// Decimals as written.
    pub decimals: u8,
    /// Where it stands in its stanza.
    pub span: Span,
}

impl Extent {
    /// Whether the value lies from end to end, both ends counted in.
    #[must_use]
    pub fn reaches(&self, value: &Exact) -> bool {
        let below = self.low.as_ref().is_some_and(|low| value < low);
        let above = self.high.as_ref().is_some_and(|high| value > high);
        !below && !above
    }

    /// Takes an end that it leaves open from another range.
    pub(crate) fn fill(&mut self, other: &Self) {
        if self.low.is_none() {
            self.low.clone_from(&other.low);
            self.units.0 = other.units.0;
        }
        if self.high.is_none() {
            self.high.clone_from(&other.high);
            self.high_excluded = other.high_excluded;
            self.units.1 = other.units.1;
        }
    }
}

impl Size {
    /// The size of a written quantity: `None` where it has no value, no known
    /// unit, or a dimension of another kind (a time, a strength).
    #[must_use]
    pub fn read(written: &Written) -> Option<Self> {
        let quantity = written.quantity()?;
        Some(Self {
            form: Form::of(quantity.dimension())?,
            value: quantity.base(),
            unit: quantity.unit,
            decimals: written.decimals,
            span: written.span,
        })
    }

    /// As a quantity in the unit written.
    #[must_use]
    pub fn quantity(&self) -> Quantity {
        Quantity::from_base(self.value.clone(), self.unit)
    }
}

/// A plain value of one known dimension (a time, a strength), with its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Scalar {
    /// In base units.
    pub value: Exact,
    /// The unit as written.
    pub unit: Unit,
    /// Decimals as written.
    pub decimals: u8,
    /// Where it stands in its stanza.
    pub span: Span,
}

impl Scalar {
    /// The value of a written quantity of exactly this dimension.
    #[must_use]
    pub fn read(written: &Written, dimension: Dimension) -> Option<Self> {
        let quantity = written.quantity()?;
        (quantity.dimension() == dimension).then(|| Self {
            value: quantity.base(),
            unit: quantity.unit,
            decimals: written.decimals,
            span: written.span,
        })
    }

    /// A body weight: kg and g above the line are the patient's here. In kg.
    #[must_use]
    pub fn read_weight(written: &Written) -> Option<Self> {
        let quantity = written.quantity()?;
        Some(Self {
            value: quantity.as_weight()?,
            unit: quantity.unit,
            decimals: written.decimals,
            span: written.span,
        })
    }

    /// As a quantity in the unit written.
    #[must_use]
    pub fn quantity(&self) -> Quantity {
        Quantity::from_base(self.value.clone(), self.unit)
    }
}

/// A range in base units; ends included unless said, open where `None`.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Extent {
    /// The lower end.
    pub low: Option<Exact>,
    /// The upper end.
    pub high: Option<Exact>,
    /// Whether the upper end is left out.
    pub high_excluded: bool,
    /// The units in which the lower and the upper end are written.
    pub units: (Option<Unit>, Option<Unit>),
    /// Where it stands in its stanza.
    pub span: Span,
}
