//! Runs the rules over stanzas, and then applies what is not a rule's own
//! business: the house's severities, waivers, and what specimens expect.

mod budget;
mod specimens;
mod waivers;

use std::cell::OnceCell;
use std::panic::{AssertUnwindSafe, catch_unwind, resume_unwind};

use gutta_notation::StanzaKind;
use gutta_protocol::model::Library;
use gutta_protocol::{Analysis, FileId, StanzaId, Workspace};
use gutta_quantity::work;
use rayon::prelude::*;

use self::budget::Budget;
use crate::context::{MarkContext, OrderContext, StanzaContext};
use crate::outcome::Outcome;
use crate::registry::{names, of_fault, of_mark, told};
use crate::{Check, Finding, Options, Rule, Severity, rules, slips, story};

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
            std::iter::once(FileOrStanza::File(file))
                .chain(workspace.stanzas_in(file).map(FileOrStanza::Stanza))
        })
        .collect();
    let library = Library::new(workspace);
    let findings: Vec<_> = parts
        .into_par_iter()
        .flat_map_iter(|part| match part {
            FileOrStanza::File(file) => check_file(workspace, file),
            FileOrStanza::Stanza(stanza) => check_stanza(workspace, &library, stanza, options),
        })
        .collect();
    findings.sorted()
}

enum FileOrStanza {
    File(FileId),
    Stanza(StanzaId),
}

/// What is wrong with a file as a whole.
pub(crate) fn check_file(workspace: &Workspace, file: FileId) -> Vec<Finding> {
    let of_file = |rule: &&Rule| match rule.check {
        Check::MarkAndFile(_, check) => check(workspace, file),
        _ => Vec::new(),
    };
    rules().iter().flat_map(of_file).collect()
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
        let message = "A fault in gutta itself stopped the check: nothing in this stanza was checked, and none of its values can be trusted.";
        let finding = Finding::new(of_fault(), workspace, stanza, header, message)
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
        if let Check::Mark(check) | Check::MarkAndFile(check, _) = of_mark(&mark.kind).check {
            findings.extend(check(&context));
        }
    }
    let of_stanza = StanzaContext {
        workspace,
        library,
        stanza,
        options,
        rules: names(),
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
            findings.push(told(&of_stanza, Outcome::NothingDerived));
            apply_rules(&of_stanza, None, Budget::of(read), &mut findings)
        }
    };
    for finding in &mut findings {
        set_severity(workspace, finding);
    }
    waivers::apply(&of_stanza, &mut findings);
    let breaches = slips::only_beside(&mut findings);
    if let Some(rule) = search_left.filter(|_| breaches) {
        findings.push(told(&of_stanza, Outcome::SearchLeft(rule)));
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
    let (flows, mended) = (OnceCell::new(), OnceCell::new());
    let substances = OnceCell::new();
    let of_order = analysis.map(|analysis| OrderContext {
        workspace: of_stanza.workspace,
        library: of_stanza.library,
        stanza: of_stanza.stanza,
        options: of_stanza.options,
        analysis,
        flows: &flows,
        substances: &substances,
        mended: &mended,
    });
    // Marks have been told of by now, and what comes last comes last.
    let looking = rules().iter().filter(|rule| {
        !matches!(
            rule.check,
            Check::Mark(_) | Check::MarkAndFile(..) | Check::Last
        )
    });
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
        findings.push(told(of_stanza, Outcome::RulesLeft(&left)));
        return None;
    }
    let of_order = of_order.as_ref()?;
    let mut budget = Budget::of_search();
    let mut cut = None;
    for rule in rules() {
        if let Check::Search(search) = rule.check
            && budget
                .spend(|| search(of_order, rules(), findings))
                .is_err()
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

/// What the house says, unless the finding guards a `never`, a route or
/// legibility.
fn set_severity(workspace: &Workspace, finding: &mut Finding) {
    if finding.locked {
        return;
    }
    if let Some(severity) = workspace.house.severity_of(finding.rule.name) {
        finding.severity = severity;
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
