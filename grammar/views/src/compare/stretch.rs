//! Two exact functions of the patient, side by side over a whole range.

use gutta_protocol::curve::{Curve, Extremum};
use gutta_quantity::Exact;

use super::telling::size_of;

/// How two values compare over a range.
#[derive(Clone, Debug)]
pub(super) struct Compared {
    /// Where to show them: the ends of the range, and where the ratio is
    /// greatest; rising.
    pub(super) places: Vec<Exact>,
    /// The greatest ratio and where it stands; `None` where there is none,
    /// since a value begins or ends there, or was zero.
    pub(super) greatest: Option<Peak>,
    /// Whether a value is there for some patients on one side alone.
    pub(super) part: bool,
}

/// The greatest ratio.
#[derive(Clone, Debug)]
pub(super) struct Peak {
    /// After over before.
    pub(super) ratio: Exact,
    /// Where; `None`: everywhere.
    pub(super) at: Option<Exact>,
    /// Whether no greater one is anywhere.
    pub(super) certain: bool,
}

/// Compares two exact functions; `None`: they are the same everywhere.
pub(super) fn exact(before: &Curve, after: &Curve) -> Option<Compared> {
    if before == after {
        return None;
    }
    let apart = [after.where_above(before), after.where_below(before)];
    let same = |regions: &Option<Vec<_>>| regions.as_ref().is_some_and(Vec::is_empty);
    if apart.iter().all(same) {
        return None;
    }
    let span = before.span();
    let mut places = vec![span.lo().clone(), span.hi().clone()];
    let greatest = after.div(before).and_then(|ratio| peak(&ratio));
    let turning = match &greatest {
        Some(peak) => peak.at.clone(),
        // Before it was nothing somewhere: where the difference is greatest.
        None => after.sub(before).and_then(|apart| {
            let (low, high) = (apart.min_value()?, apart.max_value()?);
            let down = low.value.abs() > high.value.abs();
            Some(if down { low.x } else { high.x })
        }),
    };
    places.extend(turning);
    places.sort();
    places.dedup();
    Some(Compared {
        places,
        greatest,
        part: false,
    })
}

/// The ratio that is furthest from 1, up or down.
pub(super) fn peak(ratio: &Curve) -> Option<Peak> {
    if let Some(constant) = ratio.is_constant() {
        return Some(Peak {
            ratio: constant.clone(),
            at: None,
            certain: true,
        });
    }
    let (low, high) = (ratio.min_value()?, ratio.max_value()?);
    // At or below zero there is no telling how far: that is the furthest.
    let further = match (size_of(&low.value), size_of(&high.value)) {
        (Some(down), Some(up)) => down > up,
        _ => true,
    };
    let Extremum {
        x,
        value,
        attained: _,
        // A close bound, never short of the true one.
        exact: _,
    } = if further { low } else { high };
    Some(Peak {
        ratio: value,
        at: Some(x),
        certain: true,
    })
}
