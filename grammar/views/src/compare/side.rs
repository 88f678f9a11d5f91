//! One state of a repository, and what its stanzas say.

use std::sync::OnceLock;

use gutta_notation::{Span, StanzaKind};
use gutta_protocol::derive::{Incomplete, Patient, Values, derive};
use gutta_protocol::model::order::Order;
use gutta_protocol::model::{self, Library};
use gutta_protocol::{StanzaId, Workspace};
use gutta_quantity::Style;
use rayon::prelude::*;
use rustc_hash::FxHashMap;
use smol_str::SmolStr;

use super::statement::Statement;
use super::{Site, lines, reference};

/// One state of a repository, judged.
pub(super) struct Side<'a> {
    pub(super) workspace: &'a Workspace,
    library: Library,
    /// Every order, in the order of files and text.
    pub(super) orders: FxHashMap<StanzaId, Judged>,
}

/// An order, and what follows from it once somebody asks.
pub(super) struct Judged {
    /// What it says.
    pub(super) order: Order,
    values: OnceLock<Result<Values, Incomplete>>,
}

impl Judged {
    /// What follows from it for all its patients.
    pub(super) fn values(&self) -> &Result<Values, Incomplete> {
        self.values
            .get_or_init(|| derive(&self.order, &Patient::default()))
    }
}

impl<'a> Side<'a> {
    pub(super) fn of(workspace: &'a Workspace) -> Self {
        let library = Library::new(workspace);
        let ids: Vec<_> = workspace.stanzas_of(StanzaKind::Order).collect();
        let judged = |id| Judged {
            order: model::order(workspace, &library, id),
            values: OnceLock::new(),
        };
        let orders = ids.into_par_iter().map(|id| (id, judged(id))).collect();
        Self {
            workspace,
            library,
            orders,
        }
    }

    pub(super) fn site(&self, id: StanzaId) -> Site {
        let file = self.workspace.file(id.file);
        let header = self.workspace.stanza(id).header;
        Site {
            file: file.path.clone(),
            line: self.workspace.line_number(id, header),
        }
    }

    pub(super) fn title(&self, id: StanzaId) -> Option<SmolStr> {
        let title = self.workspace.stanza(id).title.as_ref();
        title.map(|title| title.value.clone())
    }

    pub(super) fn name(&self, id: StanzaId) -> SmolStr {
        let name = self.workspace.stanza(id).name.as_ref();
        name.map(|name| name.value.clone()).unwrap_or_default()
    }

    /// What a stanza that is no order states.
    pub(super) fn statements(
        &self,
        kind: StanzaKind,
        id: StanzaId,
        style: Style,
    ) -> Vec<Statement> {
        let library = &self.library;
        let own = match kind {
            StanzaKind::Drug => library.drug(id).map(|drug| reference::drug(drug, style)),
            StanzaKind::Area => library.area(id).map(|area| reference::area(area)),
            StanzaKind::Pump => library.pump(id).map(|pump| reference::pump(pump)),
            StanzaKind::GivingSet => library.giving_set(id).map(|set| reference::giving_set(set)),
            StanzaKind::Ingredient => library
                .ingredient(id)
                .map(|of| reference::ingredient(of, style)),
            StanzaKind::Solution => library.solution(id).map(|fluid| reference::solution(fluid)),
            StanzaKind::Set => library.set(id).map(|set| reference::set(set)),
            _ => None,
        };
        let mut all = own.unwrap_or_default();
        all.extend(lines::of_stanza(self.workspace, id));
        all
    }

    /// A stanza's text to the end of its last line.
    fn text(&self, id: StanzaId) -> &str {
        let stanza = self.workspace.stanza(id);
        let end = stanza.lines.last().map_or(stanza.header, |line| line.span);
        let whole = Span::new(0, end.end);
        self.workspace.text_at(self.workspace.place(id, whole))
    }

    /// Whether an order stands in the other state to the letter, and all that
    /// it leans on means there what it means here.
    pub(super) fn is_unchanged(&self, id: StanzaId, other: &Self, there: StanzaId) -> bool {
        let orders = (self.orders.get(&id), other.orders.get(&there));
        let (Some(here), Some(there_is)) = orders else {
            return false;
        };
        self.text(id) == other.text(there) && here.order.means_the_same_as(&there_is.order)
    }
}
