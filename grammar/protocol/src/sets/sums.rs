//! What the orders of a set bring together, over the set's patients.

use gutta_quantity::Exact;

use super::Together;
use super::sought::{Over, Sum};
use crate::curve::{Curve, Interval};
use crate::delivery::{Counted, Source};
use crate::derive::{At, Patient, Patients, Values, Variable, View, derive};
use crate::model::limit::Side;
use crate::model::order::Order;
use crate::model::size::{DrugKind, Extent, Per, Stuff};

/// What the orders bring, over a stretch of patients that the same orders
/// cover.
#[derive(Clone, Debug)]
pub struct Segment {
    /// The patients, as a view without phases.
    pub view: View,
    /// What each order brings, by its place in the set.
    pub shares: Vec<(usize, Curve)>,
    /// All of them together, in base units of the bound's form.
    pub sum: Curve,
}

/// Why a sum has no value.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum SumUnknown {
    /// An order, by its place in the set, is incomplete.
    Incomplete(usize),
    /// The bound is by weight or surface, and neither the set nor its orders
    /// state it.
    Patient(Per),
    /// An order counts the substance otherwise than the bound.
    Counting(usize, DrugKind),
    /// An order does not say how much of the substance its bag holds.
    Share(usize),
    /// It cannot be computed.
    Value,
}

/// The orders' values, for the sums.
#[derive(Debug)]
pub struct MemberValues(Vec<Option<Values>>);

impl MemberValues {
    /// The values of an order, by its place in the set; `None` where it is
    /// incomplete.
    #[must_use]
    pub fn of(&self, place: usize) -> Option<&Values> {
        self.0.get(place)?.as_ref()
    }
}

impl Together {
    /// Derives every order of the set.
    #[must_use]
    pub fn derived(&self) -> MemberValues {
        let values = |order| derive(order, &Patient::default()).ok();
        let members = self.members.iter();
        MemberValues(members.map(|member| values(&member.order)).collect())
    }

    /// Whether any order may be adjusted.
    #[must_use]
    pub fn is_adjusted(&self) -> bool {
        self.members.iter().any(|member| {
            let phases = &member.order.phases;
            phases.iter().any(|phase| phase.adjust.is_some())
        })
    }

    /// The sum that a bound is held against on one side, with every order at
    /// the setting given. Where an order gives more or less to patients who
    /// differ in what the bound is not by, it counts with its most (for an
    /// upper bound) or its least.
    ///
    /// # Errors
    ///
    /// Where the sum is not known, and why.
    pub fn sum(
        &self,
        derived: &MemberValues,
        sought: &Sum<'_>,
        side: Side,
        at: At,
    ) -> Result<Vec<Segment>, SumUnknown> {
        let mut members = Vec::with_capacity(self.members.len());
        for (place, (member, values)) in self.members.iter().zip(&derived.0).enumerate() {
            let values = values.as_ref().ok_or(SumUnknown::Incomplete(place))?;
            members.push((place, &member.order, values));
        }
        let per = sought.form.per;
        let axis = axis(per, &members, self);
        let extent = match axis {
            Variable::Weight => self.weight(),
            Variable::Surface => self.surface(),
            Variable::Nothing => None,
        };
        let edges = sought.edges(axis);
        let stretches =
            stretches(axis, extent.as_ref(), &members, edges).ok_or(SumUnknown::Patient(per))?;
        let mut rates = Vec::with_capacity(members.len());
        for &(place, order, values) in &members {
            let mut of_views = Vec::with_capacity(values.views.len());
            for view in &values.views {
                let rate = rate(order, view, sought, side, at).map_err(|why| why.of(place))?;
                of_views.push((view, rate));
            }
            rates.push((place, order, of_views));
        }
        let mut segments = Vec::with_capacity(stretches.len());
        for stretch in stretches {
            let patients = patients(axis, stretch.clone());
            let by = patients
                .factor(crate::model::size::Form {
                    stuff: Stuff::Volume,
                    ..sought.form
                })
                .ok_or(SumUnknown::Patient(per))?;
            let mut sum = patients.constant(Exact::ZERO);
            let mut shares = Vec::new();
            for (place, order, of_views) in &rates {
                let counts = |view: &View| sought.counts(order, view, axis, &stretch);
                let share = on_stretch(axis, &stretch, of_views, counts, side);
                if let Some(share) = share.map_err(|()| SumUnknown::Value)? {
                    let share = share.div(&by).ok_or(SumUnknown::Value)?;
                    sum = sum.add(&share).ok_or(SumUnknown::Value)?;
                    shares.push((*place, share));
                }
            }
            let view = View {
                patients,
                phases: Vec::new(),
            };
            segments.push(Segment { view, shares, sum });
        }
        Ok(segments)
    }
}

/// What the sum is a function of.
fn axis(per: Per, members: &[(usize, &Order, &Values)], set: &Together) -> Variable {
    let varies = |variable| {
        members.iter().any(|(_, _, values)| {
            let mut views = values.views.iter();
            views.any(|view| view.patients.variable == variable)
        })
    };
    match per {
        Per::Weight => Variable::Weight,
        Per::Surface => Variable::Surface,
        Per::Patient if set.weight().is_some() || varies(Variable::Weight) => Variable::Weight,
        Per::Patient if varies(Variable::Surface) => Variable::Surface,
        Per::Patient => Variable::Nothing,
    }
}

/// The set's range, else that of all orders together, parted where an order's
/// range begins or ends. `None`: no range is known.
fn stretches(
    axis: Variable,
    extent: Option<&Extent>,
    members: &[(usize, &Order, &Values)],
    edges: Vec<Exact>,
) -> Option<Vec<Interval>> {
    if axis == Variable::Nothing {
        return Some(vec![Interval::point(Exact::ONE)?]);
    }
    let mut ends: Vec<Exact> = Vec::new();
    for (_, _, values) in members {
        for view in &values.views {
            if view.patients.variable == axis {
                let interval = &view.patients.interval;
                ends.extend([interval.lo().clone(), interval.hi().clone()]);
            }
        }
    }
    let low = extent.and_then(|extent| extent.low.clone());
    let low = low.or_else(|| ends.iter().min().cloned())?;
    let high = extent.and_then(|extent| extent.high.clone());
    let high = high.or_else(|| ends.iter().max().cloned())?;
    ends.extend(edges);
    ends.retain(|end| low < *end && *end < high);
    ends.extend([low.clone(), high.clone()]);
    ends.sort();
    ends.dedup();
    if low == high {
        return Some(vec![Interval::point(low)?]);
    }
    ends.windows(2)
        .map(|pair| Interval::new(pair[0].clone(), pair[1].clone()))
        .collect()
}

fn patients(axis: Variable, interval: Interval) -> Patients {
    let identity = Curve::identity(interval.clone());
    let of = |variable| (axis == variable).then(|| identity.clone());
    Patients {
        variable: axis,
        weight: of(Variable::Weight),
        dosing_weight: of(Variable::Weight),
        surface: of(Variable::Surface),
        interval,
    }
}

/// What an order gives on a stretch: `None` where it does not cover it, or is
/// not among those that count there.
fn on_stretch(
    axis: Variable,
    stretch: &Interval,
    of_views: &[(&View, Curve)],
    counts: impl Fn(&View) -> bool,
    side: Side,
) -> Result<Option<Curve>, ()> {
    let mut most: Option<Curve> = None;
    for (view, rate) in of_views.iter().filter(|(view, _)| counts(view)) {
        let curve = if view.patients.variable == axis && axis != Variable::Nothing {
            let inside = view.patients.interval.intersect(stretch);
            if inside.as_ref() != Some(stretch) {
                continue;
            }
            rate.restrict(stretch).ok_or(())?
        } else {
            let extreme = match side {
                Side::High => rate.max_value(),
                Side::Low => rate.min_value(),
            };
            Curve::constant(stretch.clone(), extreme.ok_or(())?.value)
        };
        most = Some(match most {
            None => curve,
            Some(known) => match side {
                Side::High => known.max(&curve).ok_or(())?,
                Side::Low => known.min(&curve).ok_or(())?,
            },
        });
    }
    Ok(most)
}

/// Why one order's part is not known.
enum Lack {
    Counting(DrugKind),
    Share,
    Value,
}

impl Lack {
    const fn of(self, place: usize) -> SumUnknown {
        match self {
            Self::Counting(kind) => SumUnknown::Counting(place, kind),
            Self::Share => SumUnknown::Share(place),
            Self::Value => SumUnknown::Value,
        }
    }
}

/// What one order gives the whole patient: per time, at the moment at which it
/// gives most (for a lower bound: while it runs); or the most in a time.
fn rate(order: &Order, view: &View, sought: &Sum<'_>, side: Side, at: At) -> Result<Curve, Lack> {
    let delivery = view.delivery(order, at).ok_or(Lack::Value)?;
    let counted = match sought.name {
        Some(name) => {
            known(order, view, (name, &sought.factors), side)?;
            Counted::Ingredient(name, &sought.factors)
        }
        None => Counted::Fluid,
    };
    if let Over::In { window, as_rate } = &sought.over {
        let sum = delivery.most_in(counted, window).ok_or(Lack::Value)?;
        return match as_rate {
            true => Ok(sum.scale(&window.recip().ok_or(Lack::Value)?)),
            false => Ok(sum),
        };
    }
    let mut extreme: Option<Curve> = None;
    for piece in &delivery.pieces {
        let counts = match side {
            Side::High => !matches!(piece.source, Source::Bolus(_)),
            Side::Low => matches!(piece.source, Source::Run(_)),
        };
        if !counts {
            continue;
        }
        let rate = delivery
            .in_piece(piece, counted)
            .and_then(|per_volume| piece.flow.mul(&per_volume));
        // Between two of its givings it brings nothing.
        let pauses = side == Side::Low && piece.every.is_some();
        let rate = rate.filter(|_| !pauses);
        let rate = rate.unwrap_or_else(|| view.patients.constant(Exact::ZERO));
        extreme = Some(match (extreme, side) {
            (None, _) => rate,
            (Some(known), Side::High) => known.max(&rate).ok_or(Lack::Value)?,
            (Some(known), Side::Low) => known.min(&rate).ok_or(Lack::Value)?,
        });
    }
    Ok(extreme.unwrap_or_else(|| view.patients.constant(Exact::ZERO)))
}

/// Whether all of a substance that the order brings is known (for an upper
/// bound: can be no more than is reckoned with), and can be counted as the bound
/// counts it.
fn known(
    order: &Order,
    view: &View,
    (name, factors): (&str, &[(DrugKind, Exact)]),
    side: Side,
) -> Result<(), Lack> {
    let is_tied = |kind: DrugKind| match factors.iter().any(|(of, _)| *of == kind) {
        true => Ok(()),
        false => Err(Lack::Counting(kind)),
    };
    for (phase, spec) in order.phases.iter().enumerate() {
        let contents = view.contents_of(order, phase, name).ok_or(Lack::Value)?;
        for content in contents {
            is_tied(content.kind)?;
            let enough = match side {
                Side::High => content.at_most,
                Side::Low => content.certain,
            };
            if !enough {
                return Err(Lack::Share);
            }
        }
        for fluid in spec.beside_the_bag() {
            let contains = fluid.value.contains.iter();
            for content in contains.filter(|content| content.substance == name) {
                is_tied(content.kind)?;
            }
        }
    }
    Ok(())
}
