//! Findings for people.

use std::io::Write;

use codespan_reporting::diagnostic::{Diagnostic, LabelStyle};
use codespan_reporting::term::{Config, emit_to_write_style};
use gutta_checks::words::counted;
use gutta_checks::{Finding, Fix, Severity, Story, explains, stories};
use gutta_notation::visible_line;
use gutta_protocol::CAUTION;

use super::paint::Paint;
use super::snippet::{Marked, Snippet, TAB, shortened};
use super::{Report, paint};
use crate::prose::{Prose, curt, wrap};

/// How many corrections of one finding are shown.
const FIXES: usize = 3;
/// The longest stretch of text that is shown corrected, in bytes.
const LONGEST: usize = 2_000;

impl Report<'_> {
    /// The findings chosen, each with the lines it is about, and the counts.
    pub(crate) fn text(
        &self,
        prose: Prose,
        width: usize,
        chosen: impl Fn(&Finding) -> bool,
    ) -> Vec<u8> {
        let mut out = Paint::new(prose.coloured());
        let config = Config {
            tab_width: TAB,
            ..Config::default()
        };
        for story in stories(self.findings.iter().filter(|found| chosen(found))) {
            let (snippet, diagnostic) = self.diagnostic(&story, prose, width);
            if emit_to_write_style(&mut out, &config, &snippet, &diagnostic).is_err() {
                // Only a place that is in no file could bring this about; the
                // finding is said all the same.
                let _ = writeln!(out, "{}\n", diagnostic.message);
            }
        }
        let mut bytes = out.into_bytes();
        let caution = prose.faint(prose.paragraph(CAUTION, "").trim_end());
        bytes.extend(caution.into_bytes());
        bytes.push(b'\n');
        bytes.extend(self.closing(prose, width, chosen).into_bytes());
        bytes
    }

    /// The line that counts, last, below what it does not say.
    pub(crate) fn closing(
        &self,
        prose: Prose,
        width: usize,
        chosen: impl Fn(&Finding) -> bool,
    ) -> String {
        let mut said = Vec::new();
        let hidden = self.findings.iter().any(|finding| !chosen(finding));
        if let Some(quiet) = self.summary.quiet().filter(|_| hidden) {
            said.push(format!("{quiet}: shown with --all."));
        }
        let spellings = self
            .findings
            .iter()
            .filter(|found| found.fixes.iter().any(|fix| fix.spelling));
        match spellings.count() {
            0 => {}
            count => said.push(format!(
                "{} can be corrected by `gutta check --fix`.",
                counted(count, "spelling")
            )),
        }
        if self.summary.passed_over.line().is_some() {
            said.push("`gutta check --show-files` lists what was not read, and why.".to_owned());
        }
        let mut out = String::new();
        if !said.is_empty() {
            let lines = wrap(&said.join(" "), width, "", "");
            out.push_str(&prose.faint(&lines));
            out.push('\n');
        }
        let held = self.baseline.map_or(0, |held| held.held);
        out.push_str(&prose.strong(&self.summary.line(held)));
        out.push('\n');
        out
    }

    /// The cause with its lines, what slip it likely is, and what follows from it.
    fn diagnostic(
        &self,
        story: &Story<'_>,
        prose: Prose,
        width: usize,
    ) -> (Snippet, Diagnostic<usize>) {
        let finding = story.cause;
        let mut marked = vec![Marked {
            style: LabelStyle::Primary,
            place: finding.place,
            message: "",
        }];
        marked.extend(finding.related.iter().map(|other| Marked {
            style: LabelStyle::Secondary,
            place: other.place,
            message: &other.message,
        }));
        let (snippet, mut labels, beside) = Snippet::of(self, &marked, width);
        for label in &mut labels {
            label.message = visible_line(&label.message).into_owned();
        }
        let room = width.saturating_sub(7);
        let note = |note: &String| wrap(&visible_line(&curt(note)), room, "", "");
        let mut notes: Vec<_> = beside.iter().map(note).collect();
        let (slips, follows): (Vec<&Finding>, Vec<_>) =
            story.follows.iter().partition(|other| explains(other));
        for slip in slips {
            notes.push(self.told_along(slip, finding, "", prose, room));
            notes.extend(slip.notes.iter().map(note));
            self.corrections(&mut notes, slip, room);
        }
        notes.extend(finding.notes.iter().map(note));
        self.corrections(&mut notes, finding, room);
        let follows = follows.into_iter();
        notes.extend(follows.map(|other| self.told_along(other, finding, "so ", prose, room)));
        let severity = paint::severity(finding.severity);
        let word = finding.severity.word();
        let before = word.len() + finding.rule.name.len() + 4;
        let message = wrap(
            &visible_line(&curt(&finding.message)),
            width,
            &" ".repeat(before),
            "  ",
        );
        let diagnostic = Diagnostic::new(severity)
            .with_code(finding.rule.name)
            .with_message(message.trim_start())
            .with_labels(labels)
            .with_notes(notes);
        (snippet, diagnostic)
    }

    /// The first few corrections of a finding, and how many more there are.
    fn corrections(&self, notes: &mut Vec<String>, finding: &Finding, room: usize) {
        let more = finding.fixes.len().saturating_sub(FIXES);
        for fix in finding.fixes.iter().take(FIXES) {
            notes.push(self.correction(fix, room));
        }
        if more > 0 {
            notes.push(format!(
                "and {} more in an editor",
                counted(more, "correction")
            ));
        }
    }

    /// Another finding of the same cause: `so error[flow.outside-pump]: ...`, with
    /// its line where it is another.
    fn told_along(
        &self,
        finding: &Finding,
        cause: &Finding,
        lead: &str,
        prose: Prose,
        room: usize,
    ) -> String {
        let word = finding.severity.word();
        let (start, _) = self.positions(finding.place);
        let (known, _) = self.positions(cause.place);
        let line = match start.line == known.line {
            true => String::new(),
            false => format!(" (line {})", start.line),
        };
        let before = format!("{lead}{word}[{}]{line}: ", finding.rule.name);
        let message = visible_line(&curt(&finding.message)).into_owned();
        let told = wrap(&format!("{before}{message}"), room, "", "  ");
        // In its colour once it is wrapped, for colour takes no room.
        let shown = format!("{lead}{}", prose.severity(word));
        match told.strip_prefix(&format!("{lead}{word}")) {
            Some(rest) => format!("{shown}{rest}"),
            None => told,
        }
    }

    /// What a correction does, and the text corrected.
    fn correction(&self, fix: &Fix, room: usize) -> String {
        let word = if fix.spelling { "fix" } else { "perhaps" };
        let mut note = wrap(
            &visible_line(&curt(&format!("{word}: {}", fix.title))),
            room,
            "",
            "  ",
        );
        for line in self.corrected(fix).unwrap_or_default() {
            note.push_str("\n    ");
            note.push_str(&shortened(&visible_line(&line), room.saturating_sub(4)));
        }
        note
    }

    /// The lines that a correction touches, as they then read.
    fn corrected(&self, fix: &Fix) -> Option<Vec<String>> {
        let first = fix.edits.first()?;
        let file = first.place.file;
        let text = &self.workspace.file(file).text;
        let start = fix.edits.iter().map(|edit| edit.place.span.start).min()?;
        let end = fix.edits.iter().map(|edit| edit.place.span.end).max()?;
        let line = |offset| {
            let at = self.lines.position(file, offset);
            self.lines.range(file, at.line - 1)
        };
        let (from, to) = (line(start).start, line(end).end);
        if to.saturating_sub(from) > LONGEST || fix.edits.iter().any(|edit| edit.place.file != file)
        {
            return None;
        }
        let before = text.get(from..to)?;
        let mut after = before.to_owned();
        let mut edits: Vec<_> = fix.edits.iter().collect();
        edits.sort_by_key(|edit| std::cmp::Reverse(edit.place.span.start));
        for edit in edits {
            let span = edit.place.span;
            let range =
                (span.start as usize).checked_sub(from)?..(span.end as usize).checked_sub(from)?;
            after.get(range.clone())?;
            after.replace_range(range, &edit.text);
        }
        let kept: Vec<_> = before.lines().collect();
        let changed = after.lines().filter(|line| !kept.contains(line));
        Some(changed.map(|line| line.trim().to_owned()).collect())
    }
}

/// Whether a finding is shown unasked.
pub(crate) fn is_loud(finding: &Finding) -> bool {
    finding.severity >= Severity::Warning
}
