//! Waivers that do not do what they should. The runner finds them, after all
//! other rules; here is what is said.

pub(crate) mod bare;
pub(crate) mod expired;
pub(crate) mod locked;
pub(crate) mod unused;

use gutta_notation::{Line, Span};

use crate::{Fix, Rule, StanzaContext};

/// The rules of this family, by name.
pub(crate) const RULES: &[&Rule] = &[&bare::RULE, &expired::RULE, &locked::RULE, &unused::RULE];

/// Takes the waiver's line out, its line end and what stands beside it
/// included.
fn removal(context: &StanzaContext<'_>, line: &Line) -> Fix {
    let text = context.workspace.stanza_text(context.stanza);
    let before = text.get(..line.span.start as usize).unwrap_or("");
    let after = text.get(line.span.end as usize..).unwrap_or("");
    let start = before.rfind(['\n', '\r']).map_or(0, |at| at + 1);
    let end = match after.find(['\n', '\r']) {
        Some(at) if after[at..].starts_with("\r\n") => at + 2,
        Some(at) => at + 1,
        None => after.len(),
    };
    let span = Span::new(
        u32::try_from(start).unwrap_or(line.span.start),
        u32::try_from(line.span.end as usize + end).unwrap_or(line.span.end),
    );
    context.replace(span, "").titled("remove the waiver")
}
