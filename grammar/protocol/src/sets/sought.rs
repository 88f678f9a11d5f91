//! What of a set's orders is added up.

use gutta_quantity::Exact;

use crate::curve::Interval;
use crate::derive::day;
use crate::derive::{Variable, View};
use crate::limits::{Limiting, holds};
use crate::model::limit::{LimitBound, LimitForm, TotalOver, When};
use crate::model::order::Order;
use crate::model::set::{Load, LoadOf};
use crate::model::size::{DrugKind, Form};

/// What is added up over the orders of a set.
#[derive(Clone, Debug)]
pub struct Sum<'a> {
    /// The substance; `None`: all fluid.
    pub name: Option<&'a str>,
    /// Each of its countings, with what a base unit of it is in that of `form`.
    pub factors: Vec<(DrugKind, Exact)>,
    /// The form that is asked for.
    pub form: Form,
    /// Over which time.
    pub over: Over,
    /// Only orders count in which these conditions hold, and none of the
    /// exceptions.
    pub when: Option<(&'a When, &'a [When])>,
}

/// Over which time something is added up.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Over {
    /// At the moment at which each order gives most.
    Moment,
    /// The most of each order in any such time.
    In {
        /// How long, in base units.
        window: Exact,
        /// Whether it is told as a rate, and not as an amount.
        as_rate: bool,
    },
}

impl<'a> Sum<'a> {
    /// What a set's own line bounds.
    #[must_use]
    pub fn of_load(load: &'a Load) -> Self {
        let kind = load.form.drug();
        Self {
            name: match &load.of {
                LoadOf::Fluid => None,
                LoadOf::Substance(name) => Some(name),
            },
            factors: kind.map(|kind| (kind, Exact::ONE)).into_iter().collect(),
            form: load.form,
            over: match load.is_per_day() {
                true => Over::In {
                    window: day(),
                    as_rate: true,
                },
                false => Over::Moment,
            },
            when: None,
        }
    }

    /// What a bound on a substance limits over all orders; `None` where it is
    /// not of a sum: a strength, or the whole of one order.
    #[must_use]
    pub fn of_bound(name: &'a str, by: &Limiting, bound: &'a LimitBound) -> Option<Self> {
        let LimitForm::Size(form) = bound.form else {
            return None;
        };
        let over = match (&bound.over, form.rate) {
            (_, true) => Over::Moment,
            (TotalOver::Any(window), false) => Over::In {
                window: window.clone(),
                as_rate: false,
            },
            (TotalOver::Order, false) => return None,
        };
        let to = form.drug()?;
        let factors = DrugKind::ALL
            .into_iter()
            .filter_map(|kind| Some((kind, by.factor(kind, to)?)));
        Some(Self {
            name: Some(name),
            factors: factors.collect(),
            form,
            over,
            when: Some((&bound.when, &bound.except)),
        })
    }

    /// Where along the patients orders begin or cease to count.
    pub(super) fn edges(&self, axis: Variable) -> Vec<Exact> {
        let conditions = self.when.iter().flat_map(|(when, except)| {
            let own: &'a When = when;
            std::iter::once(own).chain(except.iter())
        });
        let extents = conditions.filter_map(|when| match axis {
            Variable::Weight => when.weights.as_ref(),
            Variable::Surface => when.surfaces.as_ref(),
            Variable::Nothing => None,
        });
        let ends = extents.flat_map(|extent| [extent.low.clone(), extent.high.clone()]);
        ends.flatten().collect()
    }

    /// Whether an order counts for any patient of a view.
    #[must_use]
    pub fn counts_somewhere(&self, order: &Order, view: &View) -> bool {
        let patients = &view.patients;
        self.counts(order, view, patients.variable, &patients.interval)
    }

    /// Whether an order counts on a stretch of the patients.
    pub(super) fn counts(
        &self,
        order: &Order,
        view: &View,
        axis: Variable,
        stretch: &Interval,
    ) -> bool {
        let Some((when, except)) = self.when else {
            return true;
        };
        let is_along = view.patients.variable == axis && axis != Variable::Nothing;
        order.phases.iter().any(|phase| {
            let load = phase.is_loading();
            let held = holds(order, phase, &view.patients, load, when, except);
            held.over.iter().any(|over| {
                let shared = over.interval().and_then(|over| over.intersect(stretch));
                let touches = Interval::is_point;
                match shared {
                    _ if !is_along => true,
                    Some(shared) => !touches(&shared) || touches(stretch),
                    None => false,
                }
            })
        })
    }
}
