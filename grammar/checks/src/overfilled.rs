//! Bags that nobody can make up: the drug alone is more than they are to hold.

use gutta_notation::Span;
use gutta_protocol::derive::{Bag, Values};
use gutta_protocol::model::order::Order;
use gutta_quantity::{Style, units};

use crate::beyond::{Beyond, furthest};
use crate::telling::told as quantity;

/// Where a bag's drug is more than it is to be made up to; `None`: nowhere.
pub(crate) fn beyond(bag: &Bag, view: usize) -> Option<Beyond> {
    let draw = bag.drug.as_ref()?.draw.as_ref()?;
    Beyond::above(view, draw, &bag.volume)
}

/// For whom, and by how much, in a sentence.
pub(crate) fn told(beyond: &Beyond, values: &Values, style: Style) -> String {
    let bag = quantity(&beyond.bound, units::ML, style);
    let limit = format!("the {bag} to which it is to be made up");
    beyond.told(
        values,
        "the volume of the drug by itself",
        &limit,
        units::ML,
        style,
    )
}

/// The bags of an order that cannot be made up for some of its patients, each
/// in words that name its line and say for whom. Whoever shows a number of
/// such an order would show one of a bag that there is not.
#[must_use]
pub fn impossible_bags(
    order: &Order,
    values: &Values,
    line: impl Fn(Span) -> usize,
    style: Style,
) -> Vec<String> {
    let mut found = Vec::new();
    for (index, view) in values.views.iter().enumerate() {
        for (phase, derived) in view.bags() {
            found.extend(beyond(&derived.bag, index).map(|beyond| (phase, beyond)));
        }
    }
    let worst = furthest(found, |bag| &mut bag.1, |one, other| one.0 == other.0);
    let bags = worst.into_iter().map(|(phase, beyond)| {
        let spec = order.phases.get(phase).and_then(|of| of.bag.as_ref());
        let span = spec.map_or(order.header, |bag| bag.span);
        let why = told(&beyond, values, style);
        let why = why.trim_end_matches('.');
        format!("the bag on line {} cannot be made up. {why}", line(span))
    });
    bags.collect()
}
