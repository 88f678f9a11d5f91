//! Values found by what tells them from others, however many an order has.

use std::collections::HashMap;

use gutta_protocol::measures::{Measure, Value};
use gutta_protocol::model::size::Size;

/// Whether two values of an order's views are the same one, but for the view.
pub(super) fn alike(one: &Value, other: &Value) -> bool {
    name_of(one) == name_of(other) && one.unit.commensurable(other.unit)
}

/// What tells a value from others, but for its unit.
type Name<'a> = (
    &'a Measure,
    bool,
    Option<usize>,
    Option<usize>,
    Option<usize>,
);

fn name_of(value: &Value) -> Name<'_> {
    let Value {
        measure,
        per_day,
        phase,
        run,
        bolus,
        ..
    } = value;
    (measure, *per_day, *phase, *run, *bolus)
}

/// Values, found by name.
pub(super) struct ByName<'a>(HashMap<Name<'a>, Vec<Set<'a>>>);

/// A value, and at which setting.
pub(super) type Set<'a> = (&'a Value, Option<&'a Size>);

impl<'a> ByName<'a> {
    pub(super) fn of(values: impl Iterator<Item = Set<'a>>) -> Self {
        let mut by_name: HashMap<_, Vec<_>> = HashMap::new();
        for (value, at) in values {
            by_name.entry(name_of(value)).or_default().push((value, at));
        }
        Self(by_name)
    }

    pub(super) fn of_name<'s>(&'s self, value: &'s Value) -> &'s [Set<'s>] {
        let shorter: &'s ByName<'s> = self;
        let found = shorter.0.get(&name_of(value));
        found.map_or(&[], Vec::as_slice)
    }
}
