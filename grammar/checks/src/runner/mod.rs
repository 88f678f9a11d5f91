//! Runs the rules over stanzas, and then applies what is not a rule's own
//! business: the house's severities, waivers, and what specimens expect.

mod specimens;
mod waivers;

use std::cell::OnceCell;
use std::panic::{AssertUnwindSafe, catch_unwind};

use gutta_notation::{MarkKind, StanzaKind};
use gutta_protocol::model::Library;
use gutta_protocol::{Analysis, FileId, Place, StanzaId, Workspace};
use rayon::prelude::*;

use crate::context::{MarkContext, OrderContext, StanzaContext};
use crate::{Check, Finding, Options, Rule, Severity, limit, rules, text, unit};

/// Checks the files given (all, where none is): findings in the order of file,
/// place, then rule.
#[must_use]
pub fn check(workspace: &Workspace, files: Option<&[FileId]>, options: &Options) -> Vec<Finding> {
    let mut files: Vec<_> = match files {
        Some(files) => files.to_vec(),
        None => workspace.file_ids().collect(),
    };
    files.sort_unstable();
    files.dedup();
    // By stanza, since one file may hold most of a workspace.
    let parts: Vec<_> = files
        .into_iter()
        .flat_map(|file| {
            std::iter::once(Part::File(file)).chain(workspace.stanzas_in(file).map(Part::Stanza))
        })
        .collect();
    let library = Library::new(workspace);
    let findings: Vec<_> = parts
        .into_par_iter()
        .flat_map_iter(|part| match part {
            Part::File(file) => text::unreadable::file_faults(workspace, file),
            Part::Stanza(stanza) => guarded(workspace, stanza, || {
                check_stanza(workspace, &library, stanza, options)
            }),
        })
        .collect();
    findings.sorted()
}

enum Part {
    File(FileId),
    Stanza(StanzaId),
}

/// The stanza's findings; should a rule panic, that is the finding, since what
/// was not checked must not look clean.
pub(crate) fn guarded(
    workspace: &Workspace,
    stanza: StanzaId,
    check: impl FnOnce() -> Vec<Finding>,
) -> Vec<Finding> {
    catch_unwind(AssertUnwindSafe(check)).unwrap_or_else(|_| {
        let header = workspace.stanza(stanza).header;
        let message = "A fault of gutta's own stopped the check: nothing in this stanza was checked, and no value of it is to be trusted.";
        let finding = Finding::new(&limit::not_checked::RULE, workspace, stanza, header, message)
            .severity(Severity::Error)
            .locked()
            .note("Please report it to gutta's developers, with the text of the stanza.");
        vec![finding]
    })
}

/// Checks one stanza. Its findings depend on it and on what its file sees, or
/// is seen by.
#[must_use]
pub fn check_stanza(
    workspace: &Workspace,
    library: &Library,
    stanza: StanzaId,
    options: &Options,
) -> Vec<Finding> {
    let mut findings = Vec::new();
    let read = workspace.stanza(stanza);
    for mark in &read.marks {
        let context = MarkContext {
            workspace,
            stanza,
            mark,
        };
        let rule = rule_of(&mark.kind);
        if let Check::Mark(check) = rule.check {
            findings.extend(check(&context));
        }
    }
    let is_order = matches!(read.kind, StanzaKind::Order | StanzaKind::Specimen);
    let analysis = is_order.then(|| Analysis::of(workspace, library, stanza));
    let of_stanza = StanzaContext {
        workspace,
        library,
        stanza,
        options,
    };
    let flows = OnceCell::new();
    let of_order = analysis.as_ref().map(|analysis| OrderContext {
        workspace,
        library,
        stanza,
        options,
        analysis,
        flows: &flows,
    });
    for rule in rules() {
        if let Check::Stanza(check) | Check::StanzaAndOrder(check, _) = rule.check {
            check(&of_stanza, &mut findings);
        }
        if let Check::Order(check) | Check::StanzaAndOrder(_, check) = rule.check
            && let Some(of_order) = &of_order
        {
            check(of_order, &mut findings);
        }
    }
    for finding in &mut findings {
        set_severity(workspace, finding);
    }
    waivers::apply(&of_stanza, &mut findings);
    limit::slip::only_beside(&mut findings);
    specimens::apply(&of_stanza, &mut findings);
    findings.sorted()
}

/// The rule that speaks of a mark. No kind of mark is without one.
fn rule_of(kind: &MarkKind) -> &'static Rule {
    match kind {
        MarkKind::Unreadable(_) => &text::unreadable::RULE,
        MarkKind::TrailingZero => &text::trailing_zero::RULE,
        MarkKind::BarePoint => &text::bare_point::RULE,
        MarkKind::NoSpace => &text::no_space::RULE,
        MarkKind::Thousands => &text::thousands::RULE,
        MarkKind::DecimalComma => &text::decimal_comma::RULE,
        MarkKind::RiskyUnit { .. } => &text::risky_unit::RULE,
        MarkKind::Twice { .. } => &text::twice::RULE,
        MarkKind::OddCharacter { .. } | MarkKind::HiddenCharacter { .. } => {
            &text::odd_character::RULE
        }
        MarkKind::Pounds => &text::pounds::RULE,
        MarkKind::RiskyName { .. } => &text::risky_name::RULE,
        MarkKind::RatioStrength => &text::ratio_strength::RULE,
        MarkKind::MixedScripts => &text::look_alike::RULE,
        MarkKind::Phrase(_) => &text::phrase::RULE,
        MarkKind::NoValue(_) => &text::no_value::RULE,
        MarkKind::UnknownUnit => &unit::unknown::RULE,
        MarkKind::MissingUnit { .. } => &unit::missing::RULE,
    }
}

/// What the house says, unless the finding guards a `never`, a route or
/// legibility.
fn set_severity(workspace: &Workspace, finding: &mut Finding) {
    if finding.locked {
        return;
    }
    if let Some(level) = workspace.house.severity_of(finding.rule.name) {
        finding.severity = level.into();
    }
}

impl From<gutta_protocol::house::Level> for Severity {
    fn from(level: gutta_protocol::house::Level) -> Self {
        use gutta_protocol::house::Level;
        match level {
            Level::Error => Self::Error,
            Level::Warning => Self::Warning,
            Level::Information => Self::Information,
            Level::Hint => Self::Hint,
        }
    }
}

/// In the order of place, then rule.
pub(crate) trait Sorted {
    fn sorted(self) -> Self;
}

impl Sorted for Vec<Finding> {
    fn sorted(mut self) -> Self {
        fn key(finding: &Finding) -> (Place, &str, &str) {
            (finding.place, finding.rule.name, &finding.message)
        }
        if !self.is_sorted_by_key(key) {
            self.sort_by(|a, b| key(a).cmp(&key(b)));
        }
        self
    }
}

#[cfg(test)]
mod tests;
