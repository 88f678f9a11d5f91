//! Orders that one patient gets together.

mod load;
mod meet;
mod range;
mod twice;

use gutta_protocol::sets::Together;

use crate::{Rule, StanzaContext};

pub(crate) const RULES: &[&Rule] = &[&load::RULE, &meet::RULE, &range::RULE, &twice::RULE];

/// The set of this stanza with its orders; `None` where it is no set.
fn together(context: &StanzaContext<'_>) -> Option<Together> {
    Together::of(context.workspace, context.library, context.stanza)
}
