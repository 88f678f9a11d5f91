//! What changed, for people at a terminal.

use std::fmt::Write;

use gutta_notation::visible_line;
use gutta_protocol::CAUTION;
use gutta_views::compare::{Change, Row, Subject, ValueText};
use gutta_views::compared::{Compared, fate, instance, kind, leaned_on, place, what};
use unicode_width::UnicodeWidthStr;

use crate::prose::Prose;

/// What stands where there is no value.
const NOTHING: &str = "none";
const ARROW: &str = "\u{2192}";

/// Each stanza with its changes, marked ones first.
pub(crate) fn text(compared: &Compared, prose: Prose, width: usize) -> String {
    let text = Text {
        compared,
        prose,
        width,
    };
    text.all()
}

/// What is laid out, and for what.
#[derive(Clone, Copy)]
struct Text<'a> {
    compared: &'a Compared,
    prose: Prose,
    width: usize,
}

impl Text<'_> {
    fn all(self) -> String {
        let Self {
            compared, prose, ..
        } = self;
        if let Some(unchanged) = compared.unchanged() {
            return prose.paragraph(&unchanged, "");
        }
        let mut out = String::new();
        let states = format!("From {} to {}", compared.before, compared.after);
        out.push_str(&prose.faint(prose.paragraph(&visible_line(&states), "").trim_end()));
        out.push_str("\n\n");
        for subject in &compared.comparison.subjects {
            self.subject(&mut out, subject);
            out.push('\n');
        }
        for told in &compared.comparison.not_compared {
            let said = format!("Not compared: {told}.");
            out.push_str(&prose.hanging(&visible_line(&said), "! ", "  "));
        }
        if !compared.comparison.specimens.is_empty() {
            let names = compared.comparison.specimens.join(", ");
            let said =
                format!("Not compared, because they are not for patients: specimens {names}.");
            out.push_str(&prose.hanging(&visible_line(&said), "  ", "  "));
        }
        out.push_str(&prose.paragraph(&compared.summary(), ""));
        out.push_str(&prose.faint(prose.paragraph(CAUTION, "").trim_end()));
        out.push('\n');
        out
    }

    fn subject(self, out: &mut String, subject: &Subject) {
        let Self {
            compared,
            prose,
            width,
        } = self;
        let mark = mark(subject.marked, prose);
        let title = subject.title.as_deref().unwrap_or("");
        let head = format!("{} {}", kind(subject), subject.name);
        let fate = fate(subject);
        let _ = write!(out, "{mark} {}", prose.strong(&visible_line(&head)));
        if !fate.is_empty() {
            let _ = write!(out, ": {}", visible_line(&fate));
        }
        let used = head.width() + fate.width() + 6;
        if !title.is_empty() && used + title.width() <= width {
            let _ = write!(out, "  {}", visible_line(title));
        } else if !title.is_empty() {
            let _ = write!(
                out,
                "\n{}",
                prose.paragraph(&visible_line(title), "  ").trim_end()
            );
        }
        out.push('\n');
        let place = place(subject);
        if !place.is_empty() {
            let _ = writeln!(out, "  {}", prose.faint(&visible_line(&place)));
        }
        if let Some(used) = leaned_on(subject) {
            let used = format!("used by {used}");
            let set = prose.hanging(&visible_line(&used), "  ", "    ");
            for line in set.lines() {
                let _ = writeln!(out, "{}", prose.faint(line));
            }
        }
        for change in &subject.changes {
            if !compared.is_told_along(change) {
                self.change(out, change);
            }
        }
        if let Some(follows) = compared.follows(subject) {
            let mark = if follows.marked { "!" } else { " " };
            let set = prose.hanging(&follows.text, &format!("  {mark} "), "      ");
            match set.strip_prefix("  !") {
                Some(rest) => {
                    let _ = write!(out, "  {}{rest}", prose.marked("!"));
                }
                None => out.push_str(&set),
            }
        }
    }

    fn change(self, out: &mut String, change: &Change) {
        let Self {
            compared,
            prose,
            width,
        } = self;
        let mark = mark(change.marked, prose);
        let what = what(change);
        let mut bearing = compared.bearing(change);
        let in_short = instance(change).filter(|_| !compared.rows);
        if let Some(instance) = &in_short {
            let parts = [bearing.as_str(), instance.as_str()];
            let parts: Vec<_> = parts.into_iter().filter(|part| !part.is_empty()).collect();
            bearing = parts.join(": ");
        }
        let values = match change.rows.as_slice() {
            [row] if row.at.is_none() => values(row),
            _ => None,
        };
        // All of it on one line, where that fits.
        if let [row] = change.rows.as_slice()
            && row.at.is_none()
        {
            let said = values.clone().unwrap_or_default();
            let parts = [said.as_str(), bearing.as_str()];
            let parts: Vec<_> = parts.into_iter().filter(|part| !part.is_empty()).collect();
            let told = parts.join("; ");
            if 4 + what.width() + 2 + told.width() <= width {
                let _ = writeln!(
                    out,
                    "  {mark} {}: {}",
                    prose.code(&visible_line(&what)),
                    visible_line(&told)
                );
                return;
            }
        }
        let _ = write!(out, "  {mark} {}", prose.code(&visible_line(&what)));
        if !bearing.is_empty() {
            if 4 + what.width() + 2 + bearing.width() <= width {
                let _ = write!(out, ": {bearing}");
            } else {
                let _ = write!(out, ":\n{}", prose.paragraph(&bearing, "      ").trim_end());
            }
        }
        out.push('\n');
        if in_short.is_none() {
            self.rows(out, change);
        }
    }

    /// A row a patient, in columns; long texts below each other.
    fn rows(self, out: &mut String, change: &Change) {
        let Self {
            compared, prose, ..
        } = self;
        let with_ratio = Compared::ratios_differ(change);
        let told = |row: &Row| {
            let [before, after] = [&row.before, &row.after].map(|told| cell(told.as_ref()));
            let ratio = row.ratio.as_ref().filter(|_| with_ratio);
            let ratio = ratio.map(|ratio| compared.ratio(ratio)).unwrap_or_default();
            [row.at.clone().unwrap_or_default(), before, after, ratio]
        };
        let rows: Vec<_> = change.rows.iter().map(told).collect();
        let column = |index: usize| rows.iter().map(|row| row[index].width()).max().unwrap_or(0);
        let [at, before, after] = [0, 1, 2].map(column);
        if at + before + after > 56 {
            for [at, before, after, ratio] in &rows {
                let at = if at.is_empty() {
                    String::new()
                } else {
                    format!("{at}: ")
                };
                let first = format!("{at}before: {before}");
                let then = format!("{at}after: {after}  {ratio}");
                for side in [first, then] {
                    out.push_str(&prose.hanging(
                        visible_line(&side).trim_end(),
                        "      ",
                        "        ",
                    ));
                }
            }
            return;
        }
        for row in &rows {
            let [patient, old, new, ratio] = row;
            let gap = if at == 0 { "" } else { "   " };
            let pad = |text: &str, width: usize| " ".repeat(width.saturating_sub(text.width()));
            let line = format!(
                "      {patient}{}{gap}{}{old} {ARROW} {}{new}   {ratio}",
                pad(patient, at),
                pad(old, before),
                pad(new, after),
            );
            let _ = writeln!(out, "{}", visible_line(line.trim_end()));
        }
    }
}

fn mark(marked: bool, prose: Prose) -> String {
    if marked {
        prose.marked("!")
    } else {
        " ".to_owned()
    }
}

/// Before and after in one line; `None` where neither says a value.
fn values(row: &Row) -> Option<String> {
    match (&row.before, &row.after) {
        (None, None) => None,
        (Some(told), None) | (None, Some(told)) => Some(told.text.clone()),
        (Some(before), Some(after)) => Some(format!("{} {ARROW} {}", before.text, after.text)),
    }
}

fn cell(told: Option<&ValueText>) -> String {
    told.map_or_else(|| NOTHING.to_owned(), |told| told.text.clone())
}
