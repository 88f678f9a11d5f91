//! Lines of a stanza, as text: where a new one goes.

use gutta_notation::{Line, Span};
use gutta_protocol::{StanzaId, Workspace};

use crate::{Fix, OrderContext};

/// The line on which something stands.
pub(crate) fn line_at<'a>(context: &OrderContext<'a>, span: Span) -> Option<&'a Line> {
    context
        .stanza()
        .lines
        .iter()
        .find(|line| line.span.start <= span.start && span.start <= line.span.end)
}

/// Inserts a line below the one on which `span` stands (below the header,
/// where that is it), a comment there left in its place.
pub(crate) fn insert_below(context: &OrderContext<'_>, span: Span, line: &str) -> Fix {
    Fix::insert_below(context.workspace, context.stanza, span, line)
}

impl Fix {
    /// Inserts a line below the one of the stanza on which `span` stands
    /// (below the header, where that is it), indented as that is, a comment
    /// there left in its place.
    #[must_use]
    pub fn insert_below(workspace: &Workspace, stanza: StanzaId, span: Span, line: &str) -> Self {
        let text = workspace.stanza_text(stanza);
        let from = span.end as usize;
        let rest = text.get(from..).unwrap_or("");
        let length = rest.find(['\n', '\r']).unwrap_or(rest.len());
        let ending = if rest
            .get(length..)
            .is_some_and(|rest| rest.starts_with("\r\n"))
        {
            "\r\n"
        } else {
            "\n"
        };
        let end = u32::try_from(from + length).unwrap_or(span.end);
        let indent = indent(text, span);
        Self::replace(
            workspace.place(stanza, Span::new(end, end)),
            format!("{ending}{indent}{line}"),
        )
        .titled(format!("insert `{line}`"))
    }
}

/// The blanks before the line on which `span` stands; two below a header.
fn indent(text: &str, span: Span) -> &str {
    let before = text.get(..span.start as usize).unwrap_or("");
    let start = before.rfind(['\n', '\r']).map_or(0, |at| at + 1);
    let line = text.get(start..).unwrap_or("");
    let blanks = line.find(|c: char| c != ' ' && c != '\t').unwrap_or(0);
    match line.get(..blanks) {
        Some(indent) if !indent.is_empty() => indent,
        _ => "  ",
    }
}
