//! The rules, one file each, with their pages.

mod finding;
mod rule;

pub use finding::{Finding, Fix, Related, Severity, TextEdit};
pub use rule::{Check, MarkContext, Rule, StanzaContext};

/// An order to look at, with what is derived from it.
#[derive(Clone, Copy, Debug)]
pub struct OrderContext<'a> {
    /// All files.
    pub workspace: &'a gutta_protocol::Workspace,
    /// The order's stanza.
    pub stanza: gutta_protocol::StanzaId,
}

/// What a check of the whole workspace, or of a part of it, is asked.
#[derive(Clone, Debug, Default)]
pub struct Options {
    /// The day on which `review by` and `until` are judged; none: they are
    /// not judged, and that is said.
    pub today: Option<gutta_notation::ast::Date>,
}

/// Checks the files given (all, where none is): findings in the order of file,
/// place, then rule.
#[must_use]
pub fn check(
    workspace: &gutta_protocol::Workspace,
    files: Option<&[gutta_protocol::FileId]>,
    options: &Options,
) -> Vec<Finding> {
    let _ = (workspace, files, options);
    Vec::new()
}

/// Every rule, in the order of the families and of their names.
#[must_use]
pub fn rules() -> &'static [&'static Rule] {
    &[]
}
