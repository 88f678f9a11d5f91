//! Texts with what reading noticed drawn under them.

#![allow(dead_code, reason = "not every test draws")]

use gutta_notation::{Edit, Fact, MarkKind, Style, read};

/// The text without the lines that were drawn under it.
pub(crate) fn plain(drawn: &str) -> String {
    drawn
        .split_inclusive('\n')
        .filter(|line| !is_drawn(line))
        .collect()
}

fn is_drawn(line: &str) -> bool {
    let line = line.trim_start();
    line.starts_with('^') || line.starts_with("~ ")
}

/// The text with each mark drawn under its line: carets, the rule, why, and
/// the line as the first fix leaves it. `~ not whole` stands under a line not
/// every value of which was read.
pub(crate) fn drawn(text: &str, style: Style) -> String {
    let file = read(text, style);
    let mut notes: Vec<(usize, String)> = Vec::new();
    for placed in &file.stanzas {
        let start = placed.start as usize;
        for mark in &placed.stanza.marks {
            let from = start + mark.span.start as usize;
            let to = start + mark.span.end as usize;
            let line = line_of(text, from);
            let begin = begin_of(text, from);
            let end = to.min(end_of(text, from));
            let indent = text[begin..from].chars().count();
            let width = text[from..end.max(from)].chars().count().max(1);
            let mut note = " ".repeat(indent) + &"^".repeat(width);
            note += &format!(" {}", mark.kind.rule());
            note += &why(&mark.kind);
            if let Some(fix) = mark.fixes.first() {
                let fixed = apply(text, start, fix);
                let fixed = &fixed[begin..];
                let fixed = fixed.split('\n').next().unwrap_or(fixed);
                note += &format!(" => {}", fixed.trim());
                for other in &mark.fixes[1..] {
                    note += &format!(" | {}", other.text.trim());
                }
            }
            notes.push((line, note));
        }
        for line in &placed.stanza.lines {
            if !line.whole {
                let at = line_of(text, start + line.span.start as usize);
                let said = match line.fact {
                    Fact::Unreadable => "~ not read",
                    _ => "~ not whole",
                };
                notes.push((at, format!("      {said}")));
            }
        }
    }
    notes.sort_by_key(|(line, _)| *line);
    let mut out = String::new();
    let mut notes = notes.into_iter().peekable();
    for (number, line) in text.split_inclusive('\n').enumerate() {
        out += line;
        while let Some((_, note)) = notes.next_if(|(at, _)| *at == number) {
            if !out.ends_with('\n') {
                out.push('\n');
            }
            out += &note;
            out.push('\n');
        }
    }
    out
}

fn why(kind: &MarkKind) -> String {
    match kind {
        MarkKind::Unreadable(unreadable) => {
            let mut said = String::new();
            if let Some(why) = &unreadable.why {
                said += &format!(" {why:?}");
            }
            if !unreadable.expected.is_empty() && unreadable.expected.len() < 9 {
                said += &format!(" [{}]", unreadable.expected.join(", "));
            }
            said
        }
        MarkKind::Phrase(phrase) => format!(" {phrase:?}"),
        MarkKind::NoValue(why) => format!(" {why:?}"),
        _ => String::new(),
    }
}

/// The text after a fix of a stanza that starts at `start`.
pub(crate) fn apply(text: &str, start: usize, fix: &Edit) -> String {
    let mut fixed = text.to_owned();
    fixed.replace_range(
        start + fix.span.start as usize..start + fix.span.end as usize,
        &fix.text,
    );
    fixed
}

fn line_of(text: &str, at: usize) -> usize {
    text[..at].matches('\n').count()
}

fn begin_of(text: &str, at: usize) -> usize {
    text[..at].rfind('\n').map_or(0, |end| end + 1)
}

fn end_of(text: &str, at: usize) -> usize {
    text[at..].find('\n').map_or(text.len(), |end| at + end)
}
