//! One order, from its lines to all that follows from it.

use std::sync::OnceLock;

use crate::derive::{Incomplete, Patient, Values, derive};
use crate::limits::{Judgement, judge};
use crate::model::{self, Library, order::Order};
use crate::{StanzaId, Workspace};

/// An order with its values. An incomplete order has none: the type says so.
#[derive(Debug)]
pub struct Analysis {
    /// What the order says.
    pub order: Order,
    /// What follows from it.
    pub values: Result<Values, Incomplete>,
    judgement: OnceLock<Judgement>,
}

impl Analysis {
    /// Analyses an `order` or a `specimen`, over all patients that it covers.
    #[must_use]
    pub fn of(workspace: &Workspace, library: &Library, id: StanzaId) -> Self {
        Self::for_patient(workspace, library, id, &Patient::default())
    }

    /// Analyses an order for one patient.
    #[must_use]
    pub(crate) fn for_patient(
        workspace: &Workspace,
        library: &Library,
        id: StanzaId,
        patient: &Patient,
    ) -> Self {
        Self::of_order(model::order(workspace, library, id), patient)
    }

    /// Analyses an order as it might be.
    #[must_use]
    pub fn of_order(order: Order, patient: &Patient) -> Self {
        let values = derive(&order, patient);
        Self {
            order,
            values,
            judgement: OnceLock::new(),
        }
    }

    /// What its drug's limits say of it: nothing where it is incomplete.
    #[must_use]
    pub fn judgement(&self) -> &Judgement {
        self.judgement.get_or_init(|| match &self.values {
            Ok(values) => judge(&self.order, values),
            Err(_) => Judgement::default(),
        })
    }
}
