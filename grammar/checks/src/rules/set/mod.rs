//! Orders that one patient gets together.

mod class;
mod load;
mod meet;
mod no_line;
mod range;
mod routes_meet;
mod substance;
mod twice;
mod unusual;

use gutta_protocol::sets::Together;

use crate::{Rule, StanzaContext};

pub(crate) const RULES: &[&Rule] = &[
    &class::RULE,
    &load::RULE,
    &meet::RULE,
    &no_line::RULE,
    &range::RULE,
    &routes_meet::RULE,
    &substance::RULE,
    &twice::RULE,
    &unusual::RULE,
];

/// The set of this stanza with its orders; `None` where it is no set.
fn together(context: &StanzaContext<'_>) -> Option<Together> {
    Together::of(context.workspace, context.library, context.stanza)
}
