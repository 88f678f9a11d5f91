//! The patients an order covers, as the axis that its curves run over.

use gutta_quantity::Exact;

use crate::curve::{Curve, Interval};
use crate::model::order::Order;
use crate::model::size::{Extent, Form, Per, Size, Stuff};

/// What the curves of a view are functions of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Variable {
    /// Body weight in kg.
    Weight,
    /// Body surface in m2.
    Surface,
    /// Nothing: every value is one number.
    Nothing,
}

/// One way through the patients of an order: either weight or surface varies,
/// the other, where stated, stays at one end of its range. Together the views
/// of an order run along the edges of its box of patients, where whatever
/// rises or falls in each of the two has its extremes.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Patients {
    /// What varies.
    pub variable: Variable,
    /// Over which range.
    pub interval: Interval,
    /// The actual weight in kg.
    pub weight: Option<Curve>,
    /// The weight that drug per kg is reckoned by, in kg.
    pub dosing_weight: Option<Curve>,
    /// The surface in m2.
    pub surface: Option<Curve>,
}

impl Patients {
    /// A constant over these patients.
    #[must_use]
    pub fn constant(&self, value: Exact) -> Curve {
        Curve::constant(self.interval.clone(), value)
    }

    /// What a size per this is multiplied by; `None` where the order states no
    /// weight or surface. Drug goes by the dosing weight, volumes by the
    /// actual one.
    #[must_use]
    pub fn factor(&self, form: Form) -> Option<Curve> {
        match (form.per, form.stuff) {
            (Per::Patient, _) => Some(self.constant(Exact::ONE)),
            (Per::Weight, Stuff::Drug(_)) => self.dosing_weight.clone(),
            (Per::Weight, _) => self.weight.clone(),
            (Per::Surface, _) => self.surface.clone(),
        }
    }

    /// The size for the whole patient, in the base units of its form without
    /// the patient.
    #[must_use]
    pub fn whole(&self, size: &Size) -> Option<Curve> {
        match size.form.per {
            Per::Patient => Some(self.constant(size.value.clone())),
            Per::Weight | Per::Surface => Some(self.factor(size.form)?.scale(&size.value)),
        }
    }

    /// The views of an order, or of one patient of it where a weight or
    /// surface is given. Empty only where a range has no two ends; the
    /// order's problems say so.
    #[must_use]
    pub fn of(order: &Order, weight: Option<&Exact>, surface: Option<&Exact>) -> Vec<Self> {
        let weights = ends(order.weight.as_ref(), weight);
        let surfaces = ends(order.surface.as_ref(), surface);
        let cap = order.dosing_weight.as_ref().map(|(cap, _)| cap);
        match (weights, surfaces) {
            (None, None) => Self::nothing().into_iter().collect(),
            (Some(weights), None) => vec![Self::over_weight(weights, None, cap)],
            (None, Some(surfaces)) => vec![Self::over_surface(surfaces, None, cap)],
            (Some(weights), Some(surfaces)) => {
                let by_surface = !asks_for(order, Per::Weight) && asks_for(order, Per::Surface);
                let (moving, fixed) = if by_surface {
                    (surfaces, weights)
                } else {
                    (weights, surfaces)
                };
                let mut corners = vec![fixed.lo().clone()];
                if !fixed.is_point() {
                    corners.push(fixed.hi().clone());
                }
                corners
                    .into_iter()
                    .map(|corner| {
                        if by_surface {
                            Self::over_surface(moving.clone(), Some(corner), cap)
                        } else {
                            Self::over_weight(moving.clone(), Some(corner), cap)
                        }
                    })
                    .collect()
            }
        }
    }

    fn nothing() -> Option<Self> {
        Some(Self {
            variable: Variable::Nothing,
            interval: Interval::point(Exact::ONE)?,
            weight: None,
            dosing_weight: None,
            surface: None,
        })
    }

    fn over_weight(interval: Interval, surface: Option<Exact>, cap: Option<&Exact>) -> Self {
        let weight = Curve::identity(interval.clone());
        Self {
            variable: Variable::Weight,
            dosing_weight: capped(&weight, cap),
            weight: Some(weight),
            surface: surface.map(|surface| Curve::constant(interval.clone(), surface)),
            interval,
        }
    }

    fn over_surface(interval: Interval, weight: Option<Exact>, cap: Option<&Exact>) -> Self {
        let weight = weight.map(|weight| Curve::constant(interval.clone(), weight));
        Self {
            variable: Variable::Surface,
            dosing_weight: weight.as_ref().and_then(|weight| capped(weight, cap)),
            weight,
            surface: Some(Curve::identity(interval.clone())),
            interval,
        }
    }
}

fn capped(weight: &Curve, cap: Option<&Exact>) -> Option<Curve> {
    match cap {
        None => Some(weight.clone()),
        Some(cap) => weight.min(&Curve::constant(weight.span().clone(), cap.clone())),
    }
}

/// The two ends of a range, or the one value given.
fn ends(extent: Option<&Extent>, given: Option<&Exact>) -> Option<Interval> {
    if let Some(given) = given {
        return Interval::point(given.clone());
    }
    let extent = extent?;
    Interval::new(extent.low.clone()?, extent.high.clone()?)
}

/// Whether any line of the order is per this.
pub(crate) fn asks_for(order: &Order, per: Per) -> bool {
    order
        .phases
        .iter()
        .flat_map(super::sizes::of_phase)
        .any(|size| size.form.per == per)
}
