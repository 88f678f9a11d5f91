//! A value on the wrong side of a bound: where, how far, and told in a
//! sentence.

use gutta_protocol::curve::{Curve, Edge, Interval, Region, covered};
use gutta_protocol::derive::{Values, View};
use gutta_protocol::limits::{Breach, Reads};
use gutta_protocol::model::limit::Side;
use gutta_quantity::{Exact, Printed, Style, Unit};

use crate::telling::{fixed, patient, sentence, stretches, told_apart, whom};

/// Whether regions are all patients of a curve.
fn covers(curve: &Curve, regions: &[Region]) -> bool {
    let whole = curve.span();
    let [region] = regions else { return false };
    let from = region.from.x <= *whole.lo();
    from && region.to.x >= *whole.hi() && (region.to.included || region.to.x > *whole.hi())
}

/// A value on the wrong side of a bound, in one view of an order.
#[derive(Clone, Debug)]
pub(crate) struct Beyond {
    /// Which view.
    pub(crate) view: usize,
    /// Which side the bound keeps.
    side: Side,
    /// For which patients; never empty.
    pub(crate) regions: Vec<Region>,
    /// Where it lies furthest beyond.
    pub(crate) x: Exact,
    /// The value there, base units.
    pub(crate) value: Exact,
    /// The bound there.
    pub(crate) bound: Exact,
    /// Whether it is the same for every patient of this view.
    constant: bool,
    /// How many views meet the same.
    views: usize,
}

impl Beyond {
    /// Where the value lies above the bound; `None`: nowhere.
    pub(crate) fn above(view: usize, value: &Curve, bound: &Curve) -> Option<Self> {
        Self::new(view, Side::High, value, bound)
    }

    /// Where the value lies below the bound; `None`: nowhere.
    pub(crate) fn below(view: usize, value: &Curve, bound: &Curve) -> Option<Self> {
        Self::new(view, Side::Low, value, bound)
    }

    /// A breach of a limit, which `views` views of the order meet alike; `None`
    /// where the value grows without end.
    pub(crate) fn of_breach(breach: &Breach, views: usize) -> Option<Self> {
        let (Some((value, x)), Reads::Value(curve)) = (&breach.worst, &breach.reading.value) else {
            return None;
        };
        Some(Self {
            view: breach.view,
            side: breach.bound.side,
            regions: breach.regions.clone(),
            x: x.clone(),
            value: value.clone(),
            bound: breach.bound.bound.clone(),
            constant: curve.is_constant().is_some() && covers(curve, &breach.regions),
            views,
        })
    }

    fn new(view: usize, side: Side, value: &Curve, bound: &Curve) -> Option<Self> {
        let found = match side {
            Side::High => value.where_above(bound),
            Side::Low => value.where_below(bound),
        };
        // What could not be decided is not passed over.
        let regions = found.unwrap_or_else(|| vec![whole(value)]);
        if regions.is_empty() {
            return None;
        }
        let apart = match side {
            Side::High => value.sub(bound)?,
            Side::Low => bound.sub(value)?,
        };
        let x = apart.max_value()?.x;
        Some(Self {
            view,
            side,
            regions,
            value: value.at(&x)?,
            bound: bound.at(&x)?,
            x,
            constant: value.is_constant().is_some() && bound.is_constant().is_some(),
            views: 1,
        })
    }

    /// Whether it is of every patient of its view whom the other is of.
    pub(crate) fn covers(&self, other: &Self) -> bool {
        self.view == other.view && covered(&other.regions, &self.regions)
    }

    /// How far beyond it lies at its furthest.
    pub(crate) fn excess(&self) -> Exact {
        (&self.value - &self.bound).abs()
    }

    /// A value that meets its bound, where meeting it is one too many; `None`:
    /// nowhere.
    pub(crate) fn not_below(view: usize, value: &Curve, bound: &Curve) -> Option<Self> {
        if let Some(beyond) = Self::above(view, value, bound) {
            return Some(beyond);
        }
        let apart = bound.sub(value)?;
        let x = apart.min_value().filter(|least| least.value.is_zero())?.x;
        let constant = apart.is_constant().is_some();
        // Where it cannot be decided, it is not passed over.
        let regions = bound
            .where_above(value)
            .map_or_else(|| vec![whole(value)], |room| outside(value, room));
        Some(Self {
            view,
            side: Side::High,
            regions,
            value: value.at(&x)?,
            bound: bound.at(&x)?,
            x,
            constant,
            views: 1,
        })
    }

    /// Only in these regions, told by a value in the middle of the first.
    /// `None` where they are none.
    pub(crate) fn in_the_midst(mut self, value: &Curve, regions: Vec<Region>) -> Option<Self> {
        let first = regions.first()?;
        let half = Exact::ratio(1, 2)?;
        self.x = &(&first.from.x + &first.to.x) * &half;
        self.value = value.at(&self.x)?;
        self.regions = regions;
        Some(self)
    }

    /// Only in these regions, told by the value furthest beyond in them.
    /// `None` where they are none.
    pub(crate) fn within(mut self, value: &Curve, regions: Vec<Region>) -> Option<Self> {
        let extremes = regions.iter().filter_map(|region| {
            let stretch = Interval::new(region.from.x.clone(), region.to.x.clone())?;
            let part = value.restrict(&stretch)?;
            match self.side {
                Side::High => part.max_value(),
                Side::Low => part.min_value(),
            }
        });
        let worst = extremes.reduce(|one, other| {
            let further = match self.side {
                Side::High => other.value > one.value,
                Side::Low => other.value < one.value,
            };
            if further { other } else { one }
        })?;
        (self.x, self.value) = (worst.x, worst.value);
        self.regions = regions;
        Some(self)
    }

    /// The view.
    fn view<'a>(&self, values: &'a Values) -> Option<&'a View> {
        values.views.get(self.view)
    }

    /// The value at its furthest in enough digits to be seen apart from the
    /// bound.
    pub(crate) fn told_value(&self, unit: Unit, style: Style) -> Printed {
        told_apart(&self.value, &self.bound, unit, style)
    }

    /// For whom, as the start of a sentence; where one patient is told from
    /// another.
    pub(crate) fn whom(&self, values: &Values, style: Style) -> Option<String> {
        let view = self.view(values).filter(|_| !self.constant)?;
        if self.views == values.views.len() {
            stretches(view, &self.regions, style)
        } else {
            whom(view, &self.regions, style)
        }
    }

    /// The patient for whom it lies furthest beyond, where one is told from
    /// another.
    pub(crate) fn patient(&self, values: &Values, style: Style) -> Option<Printed> {
        patient(self.view(values)?, &self.x, style)
    }

    /// ` (with 1.3 m2)`, where the value depends on that alone.
    pub(crate) fn with_fixed(&self, values: &Values, style: Style) -> Option<String> {
        let alone = self.constant && self.views < values.views.len();
        let fixed = fixed(self.view(values).filter(|_| alone)?, style)?;
        Some(format!(" (with {fixed})"))
    }

    /// The finding in a sentence: for whom, what, how much. `limit` names the
    /// bound, as `900 mL/h, the fastest that the pump can run`.
    pub(crate) fn told(
        &self,
        values: &Values,
        subject: &str,
        limit: &str,
        unit: Unit,
        style: Style,
    ) -> String {
        let passed = format!("{} {limit}", self.passes());
        self.sentence(
            values,
            subject,
            (&passed, &format!(", {passed}")),
            unit,
            style,
        )
    }

    /// The same of what is usual.
    pub(crate) fn told_usual(
        &self,
        values: &Values,
        subject: &str,
        bound: &Printed,
        unit: Unit,
        style: Style,
    ) -> String {
        let passed = match self.side {
            Side::High => format!("more than the usual maximum of {bound}"),
            Side::Low => format!("below the usual minimum of {bound}"),
        };
        let aside = format!(", {passed}");
        self.sentence(values, subject, (&passed, &aside), unit, style)
    }

    /// The same of a bound that is never to be passed.
    pub(crate) fn told_never(
        &self,
        values: &Values,
        subject: &str,
        bound: &Printed,
        unit: Unit,
        style: Style,
    ) -> String {
        let (end, side) = match self.side {
            Side::High => ("most", "above"),
            Side::Low => ("least", "below"),
        };
        let passed = format!("{} {bound}, the {end} ever allowed", self.passes());
        self.sentence(
            values,
            subject,
            (&passed, &format!("; never {side} {bound}")),
            unit,
            style,
        )
    }

    const fn passes(&self) -> &'static str {
        match self.side {
            Side::High => "more than",
            Side::Low => "less than",
        }
    }

    /// `passed`: what it is, where the value follows; `aside`: the same behind
    /// the value.
    fn sentence(
        &self,
        values: &Values,
        subject: &str,
        (passed, aside): (&str, &str),
        unit: Unit,
        style: Style,
    ) -> String {
        let value = self.told_value(unit, style);
        match (self.whom(values, style), self.patient(values, style)) {
            (Some(whom), Some(at)) => format!(
                "{} {subject} is {passed}: {value} at {at}.",
                sentence(&whom)
            ),
            _ => format!(
                "{} is {value}{}{aside}.",
                sentence(subject),
                self.with_fixed(values, style).unwrap_or_default()
            ),
        }
    }
}

/// The rest of a curve's span.
fn outside(curve: &Curve, regions: Vec<Region>) -> Vec<Region> {
    let all = whole(curve);
    let mut rest = Vec::with_capacity(regions.len() + 1);
    let mut from = all.from;
    let past = |edge: Edge| Edge {
        included: !edge.included,
        ..edge
    };
    for region in regions {
        let to = past(region.from);
        if from.x < to.x || (from.x == to.x && from.included && to.included) {
            rest.push(Region { from, to });
        }
        from = past(region.to);
    }
    if from.x < all.to.x || (from.x == all.to.x && from.included) {
        rest.push(Region { from, to: all.to });
    }
    rest
}

/// The whole range of a curve.
pub(crate) fn whole(curve: &Curve) -> Region {
    let edge = |x: &Exact| Edge {
        x: x.clone(),
        included: true,
        exact: true,
    };
    Region {
        from: edge(curve.span().lo()),
        to: edge(curve.span().hi()),
    }
}

/// Of each line and bound the one that lies furthest beyond: an order is told
/// once, whatever number of views meet the bound.
pub(crate) fn furthest<T>(
    found: impl IntoIterator<Item = T>,
    beyond: impl Fn(&mut T) -> &mut Beyond,
    same: impl Fn(&T, &T) -> bool,
) -> Vec<T> {
    let mut kept: Vec<T> = Vec::new();
    for mut one in found {
        let Some(known) = kept.iter_mut().find(|other| same(other, &one)) else {
            kept.push(one);
            continue;
        };
        let (excess, new) = {
            let new = beyond(&mut one);
            (new.excess(), new.clone())
        };
        let old = beyond(known);
        if excess > old.excess() {
            *known = one;
        } else if new.view != old.view && new.regions == old.regions && excess == old.excess() {
            old.views += 1;
        }
    }
    kept
}
