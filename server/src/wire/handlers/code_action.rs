//! `textDocument/codeAction` and `codeAction/resolve`.

use gutta_checks::{Finding, causes};
use gutta_notation::Span;
use serde::{Deserialize, Serialize};
use tower_lsp::lsp_types::{
    CodeAction, CodeActionContext, CodeActionKind, CodeActionOrCommand, CodeActionParams,
    CodeActionResponse, Diagnostic, NumberOrString, Url, WorkspaceEdit,
};

use crate::features::actions::{Action, ActionKind, actions, fix_all};
use crate::state::{FileRef, Site, State};
use crate::wire::context::ServerContext;
use crate::wire::{from_proto, to_proto};

/// The kinds on offer.
pub(in crate::wire) const KINDS: [CodeActionKind; 4] = [
    CodeActionKind::QUICKFIX,
    CodeActionKind::REFACTOR,
    CodeActionKind::REFACTOR_REWRITE,
    CodeActionKind::SOURCE_FIX_ALL,
];

/// What tells an action again when its change is asked for.
#[derive(Debug, Deserialize, Serialize)]
struct Ticket {
    uri: Url,
    version: Option<i32>,
    span: (u32, u32),
    all: bool,
    index: usize,
}

pub(in crate::wire) fn answer(
    server: &ServerContext,
    params: &CodeActionParams,
) -> Option<CodeActionResponse> {
    // One that takes commands alone could do nothing with an action.
    if !server.publisher.abilities.takes_actions {
        return None;
    }
    let url = &params.text_document.uri;
    let (file, span) = from_proto::span(&server.state, url, params.range)?;
    let context = &params.context;
    let site = server.state.site(file)?;
    let lazily = server.publisher.abilities.resolves_actions;
    let found = actions(&site, span, |_| true);
    let spelling = |action: &Action| {
        let mends = action.mends.as_ref();
        mends.is_some_and(|finding| finding.fixes.iter().any(|fix| fix.spelling))
    };
    let all = if asked(context, ActionKind::FixAll)
        && (context.only.is_some() || found.iter().any(spelling))
    {
        fix_all(&site, !lazily)
    } else {
        None
    };
    let ticket = |all, index| Ticket {
        uri: url.clone(),
        version: server.state.version(file),
        span: (span.start, span.end),
        all,
        index,
    };
    let found = found.into_iter().enumerate();
    let found = found.filter(|(_, action)| asked(context, action.kind));
    let mut answer: Vec<_> = found
        .map(|(index, action)| encode(server, file, action, context, ticket(false, index)))
        .collect();
    answer.extend(all.map(|action| encode(server, file, action, context, ticket(true, 0))));
    let answer = answer.into_iter().map(CodeActionOrCommand::CodeAction);
    Some(answer.collect())
}

/// The action with its change; without one where the text is another by now.
pub(in crate::wire) fn resolve(server: &ServerContext, mut action: CodeAction) -> CodeAction {
    action.edit = found_again(server, &action);
    action
}

fn found_again(server: &ServerContext, action: &CodeAction) -> Option<WorkspaceEdit> {
    let ticket = Ticket::deserialize(action.data.as_ref()?).ok()?;
    let file = server.state.file(&ticket.uri)?;
    if server.state.version(file) != ticket.version {
        return None;
    }
    let site = server.state.site(file)?;
    let found = if ticket.all {
        fix_all(&site, true)?
    } else {
        let span = Span::new(ticket.span.0, ticket.span.1);
        actions(&site, span, |_| true)
            .into_iter()
            .nth(ticket.index)?
    };
    let same = to_proto::seen(&found.title) == action.title;
    same.then(|| change(server, file, &found))?
}

/// Whether the client asks for this kind: it names it, a kind above it, or
/// none at all.
fn asked(context: &CodeActionContext, kind: ActionKind) -> bool {
    let kind = kind_of(kind);
    let covers = |only: &CodeActionKind| {
        let (only, kind) = (only.as_str(), kind.as_str());
        let rest = kind.strip_prefix(only);
        only.is_empty() || rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('.'))
    };
    context
        .only
        .as_ref()
        .is_none_or(|only| only.iter().any(covers))
}

const fn kind_of(kind: ActionKind) -> CodeActionKind {
    match kind {
        ActionKind::Mend => CodeActionKind::QUICKFIX,
        ActionKind::Rewrite => CodeActionKind::REFACTOR_REWRITE,
        ActionKind::Insert => CodeActionKind::REFACTOR,
        ActionKind::FixAll => CodeActionKind::SOURCE_FIX_ALL,
    }
}

fn encode(
    server: &ServerContext,
    file: FileRef,
    action: Action,
    context: &CodeActionContext,
    ticket: Ticket,
) -> CodeAction {
    let lazily = server.publisher.abilities.resolves_actions;
    let mends = action.mends.as_ref();
    let diagnostic = mends.and_then(|finding| diagnostic(server, file, finding, context));
    let edit = (!lazily).then(|| change(server, file, &action)).flatten();
    CodeAction {
        title: to_proto::seen(&action.title),
        kind: Some(kind_of(action.kind)),
        diagnostics: diagnostic.map(|diagnostic| vec![diagnostic]),
        edit,
        is_preferred: action.preferred.then_some(true),
        data: lazily.then(|| serde_json::to_value(ticket).ok()).flatten(),
        ..CodeAction::default()
    }
}

fn change(server: &ServerContext, file: FileRef, action: &Action) -> Option<WorkspaceEdit> {
    let edits = action.edits.iter();
    let changes = edits.map(|edit| (edit.place, edit.text.clone()));
    to_proto::workspace_edit(&server.state, file.0, changes, &server.publisher.abilities).ok()
}

/// The finding as the client has it, else as it would be told.
fn diagnostic(
    server: &ServerContext,
    file: FileRef,
    finding: &Finding,
    context: &CodeActionContext,
) -> Option<Diagnostic> {
    let abilities = &server.publisher.abilities;
    let held = |finding: &Finding| {
        let range = range(&server.state, file, finding)?;
        let code = NumberOrString::String(finding.rule.name.to_owned());
        let mut held = context.diagnostics.iter();
        held.find(|held| held.range == range && held.code.as_ref() == Some(&code))
    };
    let site = server.state.site(file)?;
    let cause =
        cause(&site, finding).filter(|cause| to_proto::is_told_along(finding, cause, abilities));
    let shown = cause.as_ref().unwrap_or(finding);
    held(shown)
        .cloned()
        .or_else(|| to_proto::diagnostic(&server.state, file.0, shown, abilities))
}

/// The finding that is told instead, where it follows from another.
fn cause(site: &Site<'_>, finding: &Finding) -> Option<Finding> {
    let mut findings = site.checked.findings_of(site.workspace, finding.stanza?);
    findings.retain(|finding| site.settings.shows(finding.severity));
    let all: Vec<_> = findings.iter().collect();
    let same = |other: &&Finding| {
        (other.rule.name, other.place) == (finding.rule.name, finding.place)
            && other.message == finding.message
    };
    let place = all.iter().position(same)?;
    let cause = causes(&all).get(place).copied().flatten()?;
    findings.into_iter().nth(cause)
}

fn range(state: &State, file: FileRef, finding: &Finding) -> Option<tower_lsp::lsp_types::Range> {
    state.with_lines(file, |lines| lines.range(finding.place.span))
}
