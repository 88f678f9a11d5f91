//! What a check is asked.

use gutta_notation::ast::Date;

/// What a check of the whole workspace, or of a part of it, is asked.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Options {
    /// The day on which `review by` and `until` are judged; none: they are
    /// not judged, and that is said.
    pub today: Option<Date>,
}
