//! Where, among an order's patients, a limit's conditions hold.

use gutta_quantity::{Exact, work};
use smol_str::SmolStr;

use crate::curve::{Curve, Edge, Interval, Region};
use crate::derive::Patients;
use crate::model::limit::When;
use crate::model::order::{Answer, Order, Phase};
use crate::model::size::Extent;

/// What a limit asks for and an order does not say.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum OpenCondition {
    /// The route.
    Route,
    /// The area.
    Area,
    /// The patient's age.
    Age,
    /// The purpose; one that the limit names.
    Purpose(SmolStr),
    /// The patient's weight.
    Weight,
    /// The patient's surface.
    Surface,
}

/// Where a limit holds.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Holds {
    /// Over these stretches of the view's variable, rising, apart.
    pub over: Vec<Stretch>,
    /// What the order does not say, and the limit asks for.
    pub asked: Vec<OpenCondition>,
}

/// A stretch of the axis; ends included unless said.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// From here.
    pub lo: Exact,
    /// To here.
    pub hi: Exact,
    /// Whether the upper end is left out.
    pub hi_excluded: bool,
}

impl Stretch {
    pub(super) fn of(interval: &Interval) -> Self {
        Self {
            lo: interval.lo().clone(),
            hi: interval.hi().clone(),
            hi_excluded: false,
        }
    }

    pub(super) fn of_region(region: &Region) -> Self {
        Self {
            lo: region.from.x.clone(),
            hi: region.to.x.clone(),
            hi_excluded: !region.to.included,
        }
    }

    /// As an interval of a curve.
    #[must_use]
    pub fn interval(&self) -> Option<Interval> {
        Interval::new(self.lo.clone(), self.hi.clone())
    }

    /// As a region of a curve.
    #[must_use]
    pub fn region(&self) -> Region {
        let edge = |x: &Exact, included| Edge {
            x: x.clone(),
            included,
            exact: true,
        };
        Region {
            from: edge(&self.lo, true),
            to: edge(&self.hi, !self.hi_excluded),
        }
    }

    /// What both cover.
    pub(super) fn intersect(&self, other: &Self) -> Option<Self> {
        let lo = self.lo.clone().max(other.lo.clone());
        let (hi, hi_excluded) = match self.hi.cmp(&other.hi) {
            std::cmp::Ordering::Less => (self.hi.clone(), self.hi_excluded),
            std::cmp::Ordering::Greater => (other.hi.clone(), other.hi_excluded),
            std::cmp::Ordering::Equal => (self.hi.clone(), self.hi_excluded || other.hi_excluded),
        };
        let empty = lo > hi || (lo == hi && hi_excluded);
        (!empty).then_some(Self {
            lo,
            hi,
            hi_excluded,
        })
    }
}

/// What one set of conditions says of an order's phase.
struct Met {
    /// `None`: somewhere a condition plainly does not hold.
    over: Option<Stretch>,
    asked: Vec<OpenCondition>,
    /// Whether a condition holds only because the order says `any`.
    loosely: bool,
}

/// Who asks: a `never` or `usual` takes what is open as fulfilled, an
/// `except` as not fulfilled.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Asking {
    Limit,
    Exception,
}

/// Where a limit or prohibition with these conditions holds for a phase.
/// `load` says whether what is judged is a load.
#[must_use]
pub fn holds(
    order: &Order,
    phase: &Phase,
    patients: &Patients,
    load: bool,
    when: &When,
    except: &[When],
) -> Holds {
    work::charge_each(1 + except.len());
    let met = meet(order, phase, patients, load, when, Asking::Limit);
    let Some(over) = met.over else {
        return Holds::default();
    };
    let mut holds = Holds {
        over: vec![over],
        asked: met.asked,
    };
    for exception in except {
        let met = meet(order, phase, patients, load, exception, Asking::Exception);
        match met.over {
            None => {}
            Some(_) if !met.asked.is_empty() => {
                for asked in met.asked {
                    if !holds.asked.contains(&asked) {
                        holds.asked.push(asked);
                    }
                }
            }
            Some(_) if met.loosely => {}
            Some(lifted) => holds.over = without(&holds.over, &lifted),
        }
    }
    if holds.over.is_empty() {
        holds.asked.clear();
    }
    holds
}

fn meet(
    order: &Order,
    phase: &Phase,
    patients: &Patients,
    load: bool,
    when: &When,
    asking: Asking,
) -> Met {
    let mut met = Met {
        over: Some(Stretch::of(&patients.interval)),
        asked: Vec::new(),
        loosely: false,
    };
    if !when.routes.is_empty() {
        match &phase.route {
            Answer::Is(route) if when.routes.contains(&route.value) => {}
            Answer::Is(_) => met.over = None,
            Answer::Any(_) => met.loosely = true,
            Answer::Unanswered => met.asked.push(OpenCondition::Route),
        }
    }
    if !when.areas.is_empty() {
        match &order.area {
            Answer::Is(area) if when.areas.contains(&area.name) => {}
            Answer::Is(_) => met.over = None,
            Answer::Any(_) => met.loosely = true,
            Answer::Unanswered => met.asked.push(OpenCondition::Area),
        }
    }
    if !when.purposes.is_empty() {
        let named = |purpose: &SmolStr| when.purposes.contains(purpose);
        // `loading` is the notation's own: what is a load is known.
        let of_load = when.purposes.iter().any(|purpose| purpose == "loading");
        let stated = phase.purpose.as_ref().map(|purpose| &purpose.value);
        match (of_load && load, stated) {
            (true, _) => {}
            (false, Some(purpose)) if named(purpose) => {}
            (false, Some(_)) => met.over = None,
            (false, None) => match when.purposes.iter().find(|purpose| *purpose != "loading") {
                Some(purpose) => met.asked.push(OpenCondition::Purpose(purpose.clone())),
                None => met.over = None,
            },
        }
    }
    if let Some(ages) = &when.ages {
        match &order.age {
            None => met.asked.push(OpenCondition::Age),
            Some(age) => {
                let fits = match asking {
                    Asking::Limit => overlap(age, ages),
                    Asking::Exception => within(age, ages),
                };
                if !fits {
                    met.over = None;
                }
            }
        }
    }
    if let Some(weights) = &when.weights {
        band(
            &mut met,
            patients.weight.as_ref(),
            weights,
            patients,
            &OpenCondition::Weight,
        );
    }
    if let Some(surfaces) = &when.surfaces {
        band(
            &mut met,
            patients.surface.as_ref(),
            surfaces,
            patients,
            &OpenCondition::Surface,
        );
    }
    if met.over.is_none() {
        met.asked.clear();
    }
    met
}

/// Cuts a band of weights or surfaces out of the axis, or says whether the one
/// weight or surface of this view lies in it.
fn band(
    met: &mut Met,
    of: Option<&Curve>,
    band: &Extent,
    patients: &Patients,
    asked: &OpenCondition,
) {
    let Some(curve) = of else {
        met.asked.push(asked.clone());
        return;
    };
    let Some(over) = met.over.take() else { return };
    let lo = band.low.clone().unwrap_or(Exact::ZERO);
    if let Some(value) = curve.is_constant() {
        let high = band.high.as_ref();
        let below = high.is_none_or(|high| value < high || (value == high && !band.high_excluded));
        met.over = (*value >= lo && below).then_some(over);
        return;
    }
    let axis = patients.interval.hi().clone();
    let (hi, hi_excluded) = match &band.high {
        Some(high) => (high.clone(), band.high_excluded),
        None => (axis.max(lo.clone()), false),
    };
    met.over = over.intersect(&Stretch {
        lo,
        hi,
        hi_excluded,
    });
}

fn overlap(one: &Extent, other: &Extent) -> bool {
    let starts_before_end = |from: &Extent, to: &Extent| match (&from.low, &to.high) {
        (Some(low), Some(high)) => low < high || (low == high && !to.high_excluded),
        _ => true,
    };
    starts_before_end(one, other) && starts_before_end(other, one)
}

fn within(inner: &Extent, outer: &Extent) -> bool {
    let low = match (&inner.low, &outer.low) {
        (_, None) => true,
        (Some(inner), Some(outer)) => inner >= outer,
        (None, Some(outer)) => outer.is_zero(),
    };
    let high = match (&inner.high, &outer.high) {
        (_, None) => true,
        (Some(one), Some(other)) => {
            one < other || (one == other && (!outer.high_excluded || inner.high_excluded))
        }
        (None, Some(_)) => false,
    };
    low && high
}

/// The stretches without what `cut` covers. A shared end stays with both, but
/// for an end that is a band's alone.
pub(super) fn without(stretches: &[Stretch], cut: &Stretch) -> Vec<Stretch> {
    let mut rest = Vec::with_capacity(stretches.len() + 1);
    for stretch in stretches {
        if stretch.intersect(cut).is_none() {
            rest.push(stretch.clone());
            continue;
        }
        if stretch.lo < cut.lo {
            rest.push(Stretch {
                lo: stretch.lo.clone(),
                hi: cut.lo.clone(),
                hi_excluded: true,
            });
        }
        // Just above the cut. Its end itself is lifted; what the limit asks at
        // the numbers beyond is found by the curve's own regions.
        if stretch.hi > cut.hi {
            rest.push(Stretch {
                lo: cut.hi.clone(),
                hi: stretch.hi.clone(),
                hi_excluded: stretch.hi_excluded,
            });
        }
        // The end that the cut leaves out, where it is a patient's.
        if stretch.hi == cut.hi && cut.hi_excluded && !stretch.hi_excluded {
            rest.push(Stretch {
                lo: cut.hi.clone(),
                hi: cut.hi.clone(),
                hi_excluded: false,
            });
        }
    }
    rest
}

/// The stretches without what any of the cuts covers.
pub(super) fn without_all(stretches: Vec<Stretch>, cuts: &[Stretch]) -> Vec<Stretch> {
    cuts.iter().fold(stretches, |rest, cut| without(&rest, cut))
}
