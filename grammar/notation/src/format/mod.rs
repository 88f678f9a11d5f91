//! The layout of a text: indents, blanks, blank lines, the house's spelling.
//! Its meaning, its comments and the lines that cannot be read stay as they
//! are.

mod code;
mod comments;
mod guard;
mod rows;
mod spelling;

pub use guard::says_the_same;

use crate::Style;
use rows::{Kind, Row};

/// Lays a text out as the notation's examples are: headers in the first
/// column, lines indented, the words after a keyword aligned, one blank
/// between words, one blank line above a stanza, and the house's spelling.
///
/// Never changes what [`crate::read`] makes of the text, keeps every comment,
/// and leaves a line that cannot be read exactly as it is. Formatting twice is
/// formatting once. Line ends (LF and CRLF) and a byte-order mark are kept.
#[must_use]
pub fn format(text: &str, style: &Style) -> String {
    let (mark, body) = match text.strip_prefix('\u{feff}') {
        Some(body) => ("\u{feff}", body),
        None => ("", text),
    };
    let file = crate::read(body, *style);
    let mut rows = rows::rows(body, &file, *style);
    comments::place(&mut rows);
    let mut out = String::with_capacity(text.len() + text.len() / 8);
    out.push_str(mark);
    write(&rows, &mut out);
    out
}

/// As [`format()`], with what was laid out read once more: `None` where it would
/// not say the same as before, which is a fault of the formatter. Whoever
/// writes files asks this one.
#[must_use]
pub fn format_guarded(text: &str, style: &Style) -> Option<String> {
    let after = format(text, style);
    says_the_same(text, &after, style).then_some(after)
}

/// Writes the rows, with at most one blank line in a row, one above each
/// stanza, and none at either end.
fn write(rows: &[Row<'_>], out: &mut String) {
    let mut last: Option<&Row<'_>> = None;
    let mut gap = false;
    for row in rows {
        if matches!(row.kind, Kind::Blank) {
            gap = true;
            continue;
        }
        match last {
            Some(above) if gap || row.parted => out.push_str(above.end),
            // At the start of the text it would be taken for a byte-order mark.
            None if row.text.starts_with('\u{feff}') => out.push_str(row.end),
            _ => {}
        }
        gap = false;
        match &row.kind {
            Kind::Blank => {}
            Kind::Raw => out.push_str(row.text),
            Kind::Comment(indent) => {
                push_blanks(out, *indent);
                out.push_str(row.text.trim_matches([' ', '\t']));
            }
            Kind::Code(code) => {
                out.push_str(&code.text);
                if let Some(comment) = &code.comment {
                    push_blanks(out, comment.gap);
                    out.push_str(comment.text);
                }
            }
        }
        out.push_str(row.end);
        last = Some(row);
    }
}

fn push_blanks(out: &mut String, count: usize) {
    out.extend(std::iter::repeat_n(' ', count));
}

#[cfg(test)]
mod properties;
#[cfg(test)]
mod tests;
