//! What the client can do.

use tower_lsp::lsp_types::{ClientCapabilities, DiagnosticTag, MarkupKind, PositionEncodingKind};

/// How a text is written for the client.
#[derive(Clone, Copy, Debug, Default)]
pub(super) enum Markup {
    #[default]
    Plain,
    Markdown,
}

/// What matters here of the client's capabilities.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Abilities {
    pub(super) pulls_diagnostics: bool,
    pub(super) refreshes_diagnostics: bool,
    pub(super) refreshes_hints: bool,
    pub(super) refreshes_lenses: bool,
    pub(super) refreshes_tokens: bool,
    pub(super) related: bool,
    pub(super) described: bool,
    pub(super) tags: bool,
    pub(super) watches: bool,
    /// Whether it also watches what lies outside its own folders.
    pub(super) watches_anywhere: bool,
    pub(super) configures: bool,
    /// Whether changes of the settings are to be asked for.
    pub(super) registers_settings: bool,
    pub(super) shows_progress: bool,
    pub(super) snippets: bool,
    pub(super) resolves_actions: bool,
    /// Whether symbols can be nested.
    pub(super) nests_symbols: bool,
    pub(super) changes_documents: bool,
    /// Whether a definition may say what it was asked from.
    pub(super) links_definitions: bool,
    pub(super) links_declarations: bool,
    /// How hovers are best written, and the tooltips of hints.
    pub(super) hovers: Markup,
    /// How what is said of a completion is best written.
    pub(super) completions: Markup,
    /// How what is said of a signature is best written.
    pub(super) signatures: Markup,
}

impl Abilities {
    pub(super) fn of(client: &ClientCapabilities) -> Self {
        let text = client.text_document.as_ref();
        let workspace = client.workspace.as_ref();
        let published = text.and_then(|text| text.publish_diagnostics.as_ref());
        let tags = published.and_then(|published| published.tag_support.as_ref());
        let actions = text.and_then(|text| text.code_action.as_ref());
        let resolves = actions.and_then(|actions| actions.resolve_support.as_ref());
        let completion = text.and_then(|text| text.completion.as_ref());
        let item = completion.and_then(|completion| completion.completion_item.as_ref());
        let hover = text.and_then(|text| text.hover.as_ref());
        let signature = text
            .and_then(|text| text.signature_help.as_ref())
            .and_then(|help| help.signature_information.as_ref());
        let watched = workspace.and_then(|workspace| workspace.did_change_watched_files.as_ref());
        let watches = watched.and_then(|watched| watched.dynamic_registration) == Some(true);
        let refreshes = |able: Option<Option<bool>>| able.flatten() == Some(true);
        // This version of the protocol's types has no place for a client's
        // `workspace.diagnostics.refreshSupport`; who pulls can refresh.
        let pulls = text.is_some_and(|text| text.diagnostic.is_some());
        Self {
            pulls_diagnostics: pulls,
            refreshes_diagnostics: pulls,
            refreshes_hints: refreshes(
                workspace
                    .and_then(|workspace| workspace.inlay_hint.as_ref())
                    .map(|hint| hint.refresh_support),
            ),
            refreshes_lenses: refreshes(
                workspace
                    .and_then(|workspace| workspace.code_lens.as_ref())
                    .map(|lens| lens.refresh_support),
            ),
            refreshes_tokens: refreshes(
                workspace
                    .and_then(|workspace| workspace.semantic_tokens.as_ref())
                    .map(|tokens| tokens.refresh_support),
            ),
            related: pulls
                || published.and_then(|published| published.related_information) == Some(true),
            described: pulls
                || published.and_then(|published| published.code_description_support) == Some(true),
            tags: pulls
                || tags.is_some_and(|tags| tags.value_set.contains(&DiagnosticTag::UNNECESSARY)),
            watches,
            watches_anywhere: watches
                && watched.and_then(|watched| watched.relative_pattern_support) == Some(true),
            configures: workspace.and_then(|workspace| workspace.configuration) == Some(true),
            registers_settings: workspace
                .and_then(|workspace| workspace.did_change_configuration.as_ref())
                .and_then(|settings| settings.dynamic_registration)
                == Some(true),
            shows_progress: client
                .window
                .as_ref()
                .and_then(|window| window.work_done_progress)
                == Some(true),
            snippets: item.and_then(|item| item.snippet_support) == Some(true),
            resolves_actions: resolves
                .is_some_and(|support| support.properties.iter().any(|name| name == "edit")),
            nests_symbols: text
                .and_then(|text| text.document_symbol.as_ref())
                .and_then(|symbol| symbol.hierarchical_document_symbol_support)
                == Some(true),
            changes_documents: workspace
                .and_then(|workspace| workspace.workspace_edit.as_ref())
                .and_then(|edit| edit.document_changes)
                == Some(true),
            links_definitions: text
                .and_then(|text| text.definition.as_ref())
                .and_then(|definition| definition.link_support)
                == Some(true),
            links_declarations: text
                .and_then(|text| text.declaration.as_ref())
                .and_then(|declaration| declaration.link_support)
                == Some(true),
            hovers: preferred(hover.and_then(|hover| hover.content_format.as_deref())),
            completions: preferred(item.and_then(|item| item.documentation_format.as_deref())),
            signatures: preferred(
                signature.and_then(|signature| signature.documentation_format.as_deref()),
            ),
        }
    }
}

/// What the client likes best; one that says nothing is sure to show plain text.
fn preferred(kinds: Option<&[MarkupKind]>) -> Markup {
    match kinds.and_then(|kinds| kinds.first()) {
        Some(MarkupKind::Markdown) => Markup::Markdown,
        Some(MarkupKind::PlainText) | None => Markup::Plain,
    }
}

/// The encodings that the client offers, in the order of its preference.
pub(super) fn encodings(client: &ClientCapabilities) -> &[PositionEncodingKind] {
    client
        .general
        .as_ref()
        .and_then(|general| general.position_encodings.as_deref())
        .unwrap_or(&[])
}
