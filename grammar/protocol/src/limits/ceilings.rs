//! The ceilings in force for a phase: the order's own and the area's.

use crate::Place;
use crate::curve::Curve;
use crate::derive::View;
use crate::model::order::{Answer, Named, Order};
use crate::model::reference::Area;
use crate::model::size::{Form, Size};
use crate::{StanzaId, Workspace};

/// A bound on flow, over the patients of a view.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Ceiling {
    /// The most, in base units of flow.
    pub flow: Curve,
    /// As written.
    pub size: Size,
    /// Whose it is; `None`: the order's own.
    pub area: Option<StanzaId>,
}

impl Ceiling {
    /// Where it is stated.
    #[must_use]
    pub fn place(&self, workspace: &Workspace, order: &Order) -> Place {
        workspace.place(self.area.unwrap_or(order.id), self.size.span)
    }
}

/// Which ceiling of an order or area.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CeilingOf {
    /// Of runs and adjustments.
    Runs,
    /// Of boluses.
    Boluses,
}

/// The areas whose rules hold: the order's, or every area in scope where the
/// order names none, since the strictest then holds.
#[must_use]
pub fn areas_in_force(order: &Order) -> Vec<&Named<Area>> {
    match &order.area {
        Answer::Is(area) => vec![area],
        Answer::Any(_) | Answer::Unanswered => order.areas_in_scope.iter().collect(),
    }
}

/// Every ceiling in force for a phase. One that cannot be brought to a flow is
/// left out, and is in the second list with the area that states it.
#[must_use]
pub fn ceilings(
    order: &Order,
    view: &View,
    phase: usize,
    of: CeilingOf,
) -> (Vec<Ceiling>, Vec<(Size, Option<StanzaId>)>) {
    let own = order.phases.get(phase).and_then(|phase| match of {
        CeilingOf::Runs => phase.ceiling.as_ref(),
        CeilingOf::Boluses => phase.bolus_ceiling.as_ref(),
    });
    let of_areas = areas_in_force(order).into_iter().filter_map(|area| {
        let size = match of {
            CeilingOf::Runs => area.value.ceiling.as_ref(),
            CeilingOf::Boluses => area.value.bolus_ceiling.as_ref(),
        };
        Some((Some(area.id), size?))
    });
    let (mut ceilings, mut unknown) = (Vec::new(), Vec::new());
    for (area, size) in own.map(|size| (None, size)).into_iter().chain(of_areas) {
        match view.volume_of(order, phase, size) {
            Some(flow) => ceilings.push(Ceiling {
                flow,
                size: size.clone(),
                area,
            }),
            None => unknown.push((size.clone(), area)),
        }
    }
    (ceilings, unknown)
}

/// The most fluid per time that an area in force allows, and whose it is.
#[must_use]
pub fn fluid_bounds(order: &Order) -> Vec<(&Named<Area>, &crate::model::size::Extent, Form)> {
    areas_in_force(order)
        .into_iter()
        .filter_map(|area| {
            area.value
                .fluid
                .as_ref()
                .map(|(extent, form)| (area, extent, *form))
        })
        .collect()
}
