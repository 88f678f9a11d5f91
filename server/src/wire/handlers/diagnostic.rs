//! `textDocument/diagnostic` and `workspace/diagnostic`.

use std::hash::{Hash, Hasher};

use rustc_hash::{FxHashMap, FxHashSet, FxHasher};
use tower_lsp::lsp_types::{
    Diagnostic, DocumentDiagnosticParams, DocumentDiagnosticReport, DocumentDiagnosticReportResult,
    FullDocumentDiagnosticReport, RelatedFullDocumentDiagnosticReport,
    RelatedUnchangedDocumentDiagnosticReport, UnchangedDocumentDiagnosticReport, Url,
    WorkspaceDiagnosticParams, WorkspaceDiagnosticReport, WorkspaceDocumentDiagnosticReport,
    WorkspaceFullDocumentDiagnosticReport, WorkspaceUnchangedDocumentDiagnosticReport,
};

use crate::wire::context::ServerContext;
use crate::wire::to_proto;

/// One document's findings, or that they are what they were.
pub(in crate::wire) fn document(
    server: &ServerContext,
    params: &DocumentDiagnosticParams,
) -> DocumentDiagnosticReportResult {
    let url = &params.text_document.uri;
    let file = server.state.file(url);
    let items = match file.filter(|file| server.state.judges(*file)) {
        Some((id, file)) => {
            to_proto::diagnostics(&server.state, (id, file), &server.publisher.abilities)
        }
        None => other_items(server, url),
    };
    let result_id = id_of(&items);
    let report = if params.previous_result_id.as_ref() == Some(&result_id) {
        let unchanged_document_diagnostic_report = UnchangedDocumentDiagnosticReport { result_id };
        DocumentDiagnosticReport::Unchanged(RelatedUnchangedDocumentDiagnosticReport {
            related_documents: None,
            unchanged_document_diagnostic_report,
        })
    } else {
        let full_document_diagnostic_report = FullDocumentDiagnosticReport {
            result_id: Some(result_id),
            items,
        };
        DocumentDiagnosticReport::Full(RelatedFullDocumentDiagnosticReport {
            related_documents: None,
            full_document_diagnostic_report,
        })
    };
    DocumentDiagnosticReportResult::Report(report)
}

fn other_items(server: &ServerContext, url: &Url) -> Vec<Diagnostic> {
    let house = to_proto::other_diagnostics(&server.state);
    let own = house.into_iter().find(|(other, _)| other == url);
    own.map(|(_, items)| items).unwrap_or_default()
}

/// The client fetches all findings together.
pub(in crate::wire) fn begin(server: &mut ServerContext) {
    server.publisher.fetched_all(&server.out);
}

/// Every document's findings; of those that are what they were, only that.
pub(in crate::wire) fn workspace(
    server: &ServerContext,
    params: &WorkspaceDiagnosticParams,
) -> WorkspaceDiagnosticReport {
    let before: FxHashMap<&Url, &str> = params
        .previous_result_ids
        .iter()
        .map(|previous| (&previous.uri, previous.value.as_str()))
        .collect();
    let state = &server.state;
    let mut items = Vec::new();
    let mut told: FxHashSet<&Url> = FxHashSet::default();
    let mut add = |url: Url, version: Option<i32>, found: Vec<Diagnostic>| {
        let known = before.get_key_value(&url);
        told.extend(known.map(|(url, _)| *url));
        let known = known.map(|(_, id)| *id);
        // A file without findings, that had none, is not spoken of.
        if known.is_none() && found.is_empty() {
            return;
        }
        items.push(report(url, version.map(i64::from), found, known));
    };
    for (id, root) in state.roots() {
        for file in root.workspace.file_ids() {
            if let Some(url) = state.url((id, file)).filter(|_| state.judges((id, file))) {
                let found = to_proto::diagnostics(state, (id, file), &server.publisher.abilities);
                add(url, state.version((id, file)), found);
            }
        }
    }
    for (url, found) in to_proto::other_diagnostics(state) {
        add(url, None, found);
    }
    // What is no more holds nothing.
    let gone = before.keys().filter(|url| !told.contains(*url));
    for url in gone.copied().cloned().collect::<Vec<_>>() {
        let known = before.get(&url).copied();
        items.push(report(url, None, Vec::new(), known));
    }
    WorkspaceDiagnosticReport { items }
}

fn report(
    uri: Url,
    version: Option<i64>,
    items: Vec<Diagnostic>,
    known: Option<&str>,
) -> WorkspaceDocumentDiagnosticReport {
    let result_id = id_of(&items);
    if known == Some(result_id.as_str()) {
        let unchanged_document_diagnostic_report = UnchangedDocumentDiagnosticReport { result_id };
        return WorkspaceDocumentDiagnosticReport::Unchanged(
            WorkspaceUnchangedDocumentDiagnosticReport {
                uri,
                version,
                unchanged_document_diagnostic_report,
            },
        );
    }
    WorkspaceDocumentDiagnosticReport::Full(WorkspaceFullDocumentDiagnosticReport {
        uri,
        version,
        full_document_diagnostic_report: FullDocumentDiagnosticReport {
            result_id: Some(result_id),
            items,
        },
    })
}

/// The same for the same findings, whenever they were made.
fn id_of(items: &[Diagnostic]) -> String {
    let mut hasher = FxHasher::default();
    let written = serde_json::to_string(items).unwrap_or_default();
    written.hash(&mut hasher);
    format!("{:016x}-{}", hasher.finish(), items.len())
}
