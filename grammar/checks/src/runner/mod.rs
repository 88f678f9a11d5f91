//! Runs the rules over stanzas, and then applies what is not a rule's own
//! business: the house's severities, waivers, and what specimens expect.

mod budget;
mod specimens;
mod waivers;

use std::cell::OnceCell;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};

use gutta_notation::{MarkKind, StanzaKind};
use gutta_protocol::model::Library;
use gutta_protocol::{Analysis, FileId, StanzaId, Workspace};
use gutta_quantity::work;
use rayon::prelude::*;

use self::budget::Budget;
use crate::context::{MarkContext, OrderContext, StanzaContext};
use crate::rules::check::cut_short;
use crate::rules::{limit, text, unit};
use crate::{Check, Finding, Options, Rule, Severity, rules, story};

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
            Part::Stanza(stanza) => check_stanza(workspace, &library, stanza, options),
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
fn guarded(
    workspace: &Workspace,
    stanza: StanzaId,
    check: impl FnOnce() -> Vec<Finding>,
) -> Vec<Finding> {
    catch_unwind(AssertUnwindSafe(check)).unwrap_or_else(|why| {
        if work::is_left_off(&*why) {
            resume_unwind(why);
        }
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
    guarded(workspace, stanza, || {
        apply(workspace, library, stanza, options)
    })
}

fn apply(
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
    let of_stanza = StanzaContext {
        workspace,
        library,
        stanza,
        options,
    };
    let mut budget = Budget::of(read);
    let is_order = matches!(read.kind, StanzaKind::Order | StanzaKind::Specimen);
    let analysis = match is_order {
        true => budget
            .spend(|| Analysis::of(workspace, library, stanza))
            .map(Some),
        false => Ok(None),
    };
    let search_left = match &analysis {
        Ok(analysis) => apply_rules(&of_stanza, analysis.as_ref(), budget, &mut findings),
        Err(_) => {
            findings.push(cut_short::nothing_derived(&of_stanza));
            apply_rules(&of_stanza, None, Budget::of(read), &mut findings)
        }
    };
    for finding in &mut findings {
        set_severity(workspace, finding);
    }
    waivers::apply(&of_stanza, &mut findings);
    let breaches = limit::slip::only_beside(&mut findings);
    if let Some(rule) = search_left.filter(|_| breaches) {
        findings.push(cut_short::search_left(&of_stanza, rule));
    }
    specimens::apply(&of_stanza, &mut findings);
    findings.sorted()
}

/// Applies every rule that looks at stanzas, and those that look at what
/// follows from an order where that was derived; what cannot be waived first.
/// Gives the rule whose search was not carried to its end.
fn apply_rules(
    of_stanza: &StanzaContext<'_>,
    analysis: Option<&Analysis>,
    mut budget: Budget,
    findings: &mut Vec<Finding>,
) -> Option<&'static Rule> {
    let (flows, slips) = (OnceCell::new(), OnceCell::new());
    let substances = OnceCell::new();
    let of_order = analysis.map(|analysis| OrderContext {
        workspace: of_stanza.workspace,
        library: of_stanza.library,
        stanza: of_stanza.stanza,
        options: of_stanza.options,
        analysis,
        flows: &flows,
        substances: &substances,
        slips: &slips,
    });
    // Marks have been told of by now, and what comes last comes last.
    let looking = rules()
        .iter()
        .filter(|rule| !matches!(rule.check, Check::Mark(_) | Check::Last));
    let (locked, others): (Vec<&Rule>, Vec<&Rule>) = looking.partition(|rule| rule.locked);
    let mut left = Vec::new();
    for rule in locked.into_iter().chain(others) {
        let done = budget.spend(|| {
            if let Check::Stanza(check) | Check::StanzaAndOrder(check, _) = rule.check {
                check(of_stanza, findings);
            }
            if let Check::Order(check) | Check::StanzaAndOrder(_, check) = rule.check
                && let Some(of_order) = &of_order
            {
                check(of_order, findings);
            }
        });
        if done.is_err() {
            left.push(rule.name);
        }
    }
    if !left.is_empty() {
        findings.push(cut_short::rules_left(of_stanza, &left));
        return None;
    }
    let of_order = of_order.as_ref()?;
    let mut budget = Budget::of_search();
    let mut cut = None;
    for rule in rules() {
        if let Check::Search(search) = rule.check
            && budget.spend(|| search(of_order, findings)).is_err()
        {
            cut = Some(*rule);
        }
    }
    story::link(of_order, findings, |link| {
        // What is left then is told all the same, each by itself.
        let _ = Budget::of_story().spend(link);
    });
    cut
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

/// In the order of place, then rule; what follows from another goes behind it.
pub(crate) trait Sorted {
    fn sorted(self) -> Self;
}

impl Sorted for Vec<Finding> {
    fn sorted(mut self) -> Self {
        story::in_order(&mut self);
        self
    }
}

#[cfg(test)]
mod cost;
#[cfg(test)]
mod tests;
