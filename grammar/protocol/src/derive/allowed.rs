//! Whether an order allows a setting that is asked for.

use gutta_quantity::Style;
use gutta_quantity::print::between;

use super::View;
use crate::model::order::{AdjustSpec, Order};
use crate::model::size::Size;

/// Why an order does not allow a setting.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Disallowed<'a> {
    /// It lies outside what this phase may be adjusted to, for some patient.
    Outside(usize, &'a AdjustSpec),
    /// Nothing may be adjusted, and it is not what the order runs at.
    NoAdjust,
    /// No run goes by a setting.
    NoRun,
}

/// What keeps an order from allowing a setting; empty where it allows it.
#[must_use]
pub fn disallowed<'a>(order: &'a Order, views: &[View], setting: &Size) -> Vec<Disallowed<'a>> {
    let runs = || {
        let of_view = |view| View::runs(view).map(move |(phase, run)| (view, phase, run));
        views.iter().flat_map(of_view)
    };
    if !runs().any(|(view, phase, run)| view.takes_setting(order, phase, run.index)) {
        return vec![Disallowed::NoRun];
    }
    let mut found = Vec::new();
    let mut adjusts = false;
    for (view, phase, run) in runs() {
        let Some(adjust) = view.adjusted(order, phase, run.index) else {
            continue;
        };
        adjusts = true;
        let outside = Disallowed::Outside(phase, adjust);
        if !view.within(order, phase, adjust, setting) && !found.contains(&outside) {
            found.push(outside);
        }
    }
    let as_ordered = || {
        runs().all(|(view, phase, run)| {
            let set = view.flow_when_set(order, phase, run.index, Some(setting));
            set.is_some_and(|set| set == run.flow)
        })
    };
    if !adjusts && !as_ordered() {
        found.push(Disallowed::NoAdjust);
    }
    found
}

impl View {
    /// Whether a setting lies between the ends of an `adjust` for every
    /// patient. One that cannot be compared is not known to.
    fn within(&self, order: &Order, phase: usize, adjust: &AdjustSpec, setting: &Size) -> bool {
        let compared = || {
            let flow = |size| self.volume_of(order, phase, size);
            let (asked, low, high) = (
                flow(setting)?,
                flow(adjust.steps.low()?)?,
                flow(adjust.steps.high()?)?,
            );
            Some(asked.where_below(&low)?.is_empty() && asked.where_above(&high)?.is_empty())
        };
        compared().unwrap_or(false)
    }
}

impl Disallowed<'_> {
    /// As what follows `100 mg/h is`.
    #[must_use]
    pub fn told(&self, order: &Order, style: Style) -> String {
        match self {
            Self::Outside(phase, adjust) => {
                let phase = order.phases.get(*phase).and_then(|of| of.name.as_ref());
                let of = phase.map_or_else(String::new, |name| format!(" in phase {name}"));
                let end = |size: &Size| style.quantity(&size.quantity());
                let ends = adjust.steps.low().zip(adjust.steps.high());
                let ends = ends.map(|(low, high)| between(&end(low), &end(high)).to_string());
                let ends = ends.unwrap_or_default();
                format!("outside what `adjust` allows{of}: {ends}")
            }
            Self::NoAdjust => {
                "a setting that this order does not allow: it has no `adjust`".to_owned()
            }
            Self::NoRun => "a setting that no run of this order uses".to_owned(),
        }
    }
}
