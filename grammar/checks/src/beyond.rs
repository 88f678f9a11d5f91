//! A value on the wrong side of a bound: where, how far, and told in a
//! sentence.

use gutta_protocol::curve::{Curve, Edge, Region};
use gutta_protocol::derive::{Values, View};
use gutta_protocol::model::limit::Side;
use gutta_quantity::{Exact, Unit};

use crate::telling::{patient, sentence, told_apart, whom};

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
    /// Whether neither value nor bound depends on the patient.
    constant: bool,
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

    fn new(view: usize, side: Side, value: &Curve, bound: &Curve) -> Option<Self> {
        let (found, apart) = match side {
            Side::High => (value.where_above(bound), value.sub(bound)?),
            Side::Low => (value.where_below(bound), bound.sub(value)?),
        };
        // What could not be decided is not passed over.
        let regions = found.unwrap_or_else(|| vec![whole(value)]);
        if regions.is_empty() {
            return None;
        }
        let x = apart.max_value()?.x;
        Some(Self {
            view,
            side,
            regions,
            value: value.at(&x)?,
            bound: bound.at(&x)?,
            x,
            constant: value.is_constant().is_some() && bound.is_constant().is_some(),
        })
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
        let edge = Edge {
            x: x.clone(),
            included: true,
            exact: true,
        };
        let single = Region {
            from: edge.clone(),
            to: edge,
        };
        Some(Self {
            view,
            side: Side::High,
            regions: vec![if constant { whole(value) } else { single }],
            value: value.at(&x)?,
            bound: bound.at(&x)?,
            x,
            constant,
        })
    }

    /// Only in these regions, told by a value inside the first of them. `None`
    /// where they are none.
    pub(crate) fn within(mut self, value: &Curve, regions: Vec<Region>) -> Option<Self> {
        let first = regions.first()?;
        let half = Exact::ratio(1, 2)?;
        self.x = &(&first.from.x + &first.to.x) * &half;
        self.value = value.at(&self.x)?;
        self.regions = regions;
        Some(self)
    }

    /// Whether neither value nor bound depends on the patient.
    pub(crate) const fn is_constant(&self) -> bool {
        self.constant
    }

    /// The view.
    pub(crate) fn view<'a>(&self, values: &'a Values) -> Option<&'a View> {
        values.views.get(self.view)
    }

    /// The value at its furthest in enough digits to be seen apart from the
    /// bound.
    pub(crate) fn told_value(&self, unit: Unit) -> String {
        told_apart(&self.value, &self.bound, unit)
    }

    /// The finding in a sentence: for whom, what, how much. `limit` names the
    /// bound, as `900 mL/h, the fastest that the pump can run`.
    pub(crate) fn told(&self, values: &Values, subject: &str, limit: &str, unit: Unit) -> String {
        let passes = match self.side {
            Side::High => "more than",
            Side::Low => "less than",
        };
        let value = self.told_value(unit);
        let place = self
            .view(values)
            .filter(|_| !self.constant)
            .and_then(|view| Some((whom(view, &self.regions)?, patient(view, &self.x)?)));
        match place {
            Some((whom, at)) => format!(
                "{} {subject} is {passes} {limit}: {value} at {at}.",
                sentence(&whom)
            ),
            None => format!("{} is {value}, {passes} {limit}.", sentence(subject)),
        }
    }
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
    beyond: impl Fn(&T) -> &Beyond,
    same: impl Fn(&T, &T) -> bool,
) -> Vec<T> {
    let mut kept: Vec<T> = Vec::new();
    for one in found {
        match kept.iter_mut().find(|other| same(other, &one)) {
            Some(known) if beyond(&one).excess() > beyond(known).excess() => *known = one,
            Some(_) => {}
            None => kept.push(one),
        }
    }
    kept
}
