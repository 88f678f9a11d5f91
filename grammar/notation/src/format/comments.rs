//! Which stanza a comment belongs to, and where it stands.

use super::rows::{Kind, Part, Row};

/// Gives every comment its place, and says where blank lines belong.
pub(super) fn place(rows: &mut [Row<'_>]) {
    let mut at = 0;
    while at < rows.len() {
        let end = rows[at..]
            .iter()
            .position(|row| !is_loose(row))
            .map_or(rows.len(), |length| at + length);
        gap(rows, at, end);
        at = end + 1;
    }
    align(rows);
}

fn is_loose(row: &Row<'_>) -> bool {
    matches!(row.kind, Kind::Blank | Kind::Comment(_))
}

/// Comments and blank lines `start..end` between two other lines.
fn gap(rows: &mut [Row<'_>], start: usize, end: usize) {
    let above = start.checked_sub(1).map(|above| rows[above].part);
    let below = rows.get(end).map(|row| row.part);
    match below {
        Some(Part::Header { is_use }) => {
            let first = header_block(rows, start, end);
            set_above(rows, start, first, above);
            for row in &mut rows[first..end] {
                set(row, Some(0));
            }
            // A list of files may stand together.
            let listed = is_use && above == Some(Part::Header { is_use: true });
            rows[first].parted = !listed || first < end;
        }
        Some(Part::Line { indent }) => {
            for row in &mut rows[start..end] {
                set(row, Some(indent));
            }
        }
        Some(Part::Loose | Part::BadHeader) => {
            for row in &mut rows[start..end] {
                set(row, None);
            }
        }
        None => {
            let first = (start..end).find(|row| is_first_column(&rows[*row]));
            let first = first.unwrap_or(end);
            set_above(rows, start, first, above);
            for row in &mut rows[first..end] {
                set(row, Some(0));
            }
        }
    }
}

/// The first line of a header's block: the comments from the first one in the
/// first column on, or those directly above the header.
fn header_block(rows: &[Row<'_>], start: usize, end: usize) -> usize {
    if start == 0 {
        return start;
    }
    let column = (start..end).find(|row| is_first_column(&rows[*row]));
    let attached = rows[start..end]
        .iter()
        .rposition(|row| matches!(row.kind, Kind::Blank))
        .map(|blank| start + blank + 1);
    column
        .into_iter()
        .chain(attached)
        .chain([end])
        .min()
        .unwrap_or(end)
}

fn is_first_column(row: &Row<'_>) -> bool {
    matches!(row.kind, Kind::Comment(0))
}

/// The comments that belong to what stands above them.
fn set_above(rows: &mut [Row<'_>], start: usize, end: usize, above: Option<Part>) {
    let indent = match above {
        Some(Part::Line { indent }) => Some(indent),
        Some(Part::Header { .. }) => Some(2),
        Some(Part::Loose | Part::BadHeader) => None,
        None => Some(0),
    };
    for row in &mut rows[start..end] {
        set(row, indent);
    }
}

fn set(row: &mut Row<'_>, indent: Option<usize>) {
    if let Kind::Comment(_) = row.kind {
        row.kind = indent.map_or(Kind::Raw, Kind::Comment);
    }
}

/// Comments behind lines that stood in one column stay in one.
fn align(rows: &mut [Row<'_>]) {
    let mut at = 0;
    while at < rows.len() {
        let Some(stood) = stood(&rows[at]) else {
            at += 1;
            continue;
        };
        let length = rows[at..]
            .iter()
            .take_while(|row| self::stood(row) == Some(stood))
            .count();
        let run = &mut rows[at..at + length];
        let wanted = run.iter().filter_map(stands).max().unwrap_or(stood);
        for row in run {
            let stands = stands(row).unwrap_or(wanted);
            if let Kind::Code(code) = &mut row.kind
                && let Some(comment) = &mut code.comment
            {
                comment.gap += wanted - stands;
            }
        }
        at += length;
    }
}

/// The column in which the comment behind a line stood.
fn stood(row: &Row<'_>) -> Option<usize> {
    match &row.kind {
        Kind::Code(code) => Some(code.comment.as_ref()?.column),
        _ => None,
    }
}

/// The column in which it stands now.
fn stands(row: &Row<'_>) -> Option<usize> {
    match &row.kind {
        Kind::Code(code) => Some(super::code::column(&code.text) + code.comment.as_ref()?.gap),
        _ => None,
    }
}
