//! What stays, where other values change: with a bag twice as strong the dose
//! stays, and the flow halves.

use gutta_notation::ast::ExpectMeasure;
use gutta_protocol::measures::{Measures, Question, measure_name};

use super::side::Judged;
use super::{Change, Turn};

/// What a reviewer asks after first.
const CHIEF: [ExpectMeasure; 3] = [
    ExpectMeasure::Strength,
    ExpectMeasure::Dose,
    ExpectMeasure::Flow,
];

/// The chief values that an order has and that did not change, where some
/// value that follows did: only then were all of them compared.
pub(super) fn kept(judged: &Judged, changes: &[Change]) -> Vec<&'static str> {
    let Ok(values) = judged.values() else {
        return Vec::new();
    };
    let follows = |change: &Change| change.turn == Turn::Changed && change.greatest.is_some();
    let compared = changes
        .iter()
        .any(|change| change.derived && follows(change));
    if !compared {
        return Vec::new();
    }
    let has = |measure: &ExpectMeasure| {
        let asked = Question {
            measure,
            per_day: false,
            dose: None,
            unit: None,
        };
        let order = &judged.order;
        let mut views = values.views.iter();
        views.any(|view| !Measures { order, view }.answer(&asked).is_empty())
    };
    let names = CHIEF.iter().filter(|measure| has(measure));
    let names = names.map(measure_name);
    names
        .filter(|name| !changes.iter().any(|change| is_of(&change.what, name)))
        .collect()
}

/// Whether a value told as `what` is that measure's, in any run or at any
/// setting.
fn is_of(what: &str, name: &str) -> bool {
    what.strip_prefix(name)
        .is_some_and(|rest| rest.is_empty() || rest.starts_with(' '))
}
