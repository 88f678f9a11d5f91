//! What the client can do.

use serde_json::Value;

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
    /// Whether it takes findings that are pushed, also where it fetches others.
    pub(super) takes_diagnostics: bool,
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
    /// Whether actions can be more than commands, of which there are none.
    pub(super) takes_actions: bool,
    pub(super) resolves_actions: bool,
    pub(super) prepares_renames: bool,
    /// Whether it knows the kinds of symbols that came after the first ones.
    pub(super) all_symbols: bool,
    /// The same of completions.
    pub(super) all_completions: bool,
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
    /// Whether a parameter may be told by where it stands in its signature.
    pub(super) label_offsets: bool,
}

impl Abilities {
    /// From the client's capabilities as they came. A newer protocol may know
    /// more values than this one: what is not known is passed over.
    pub(super) fn of(client: &Value) -> Self {
        let flag = |pointer: &str| client.pointer(pointer) == Some(&Value::Bool(true));
        let object = |pointer: &str| client.pointer(pointer).is_some_and(Value::is_object);
        let lists = |pointer: &str, value: &Value| {
            let listed = client.pointer(pointer).and_then(Value::as_array);
            listed.is_some_and(|listed| listed.contains(value))
        };
        let markup = |pointer: &str| {
            if lists(pointer, &Value::from("markdown")) {
                Markup::Markdown
            } else {
                Markup::Plain
            }
        };
        let takes = object("/textDocument/publishDiagnostics");
        let refreshes = flag("/workspace/diagnostics/refreshSupport");
        // Findings change with other files: who fetches them and cannot be
        // told so would go on showing the old ones, and is pushed to instead.
        let pulls = object("/textDocument/diagnostic") && (refreshes || !takes);
        let watches = flag("/workspace/didChangeWatchedFiles/dynamicRegistration");
        let published = |key: &str| flag(&format!("/textDocument/publishDiagnostics/{key}"));
        Self {
            pulls_diagnostics: pulls,
            takes_diagnostics: takes,
            refreshes_diagnostics: refreshes,
            refreshes_hints: flag("/workspace/inlayHint/refreshSupport"),
            refreshes_lenses: flag("/workspace/codeLens/refreshSupport"),
            refreshes_tokens: flag("/workspace/semanticTokens/refreshSupport"),
            related: pulls || published("relatedInformation"),
            described: pulls || published("codeDescriptionSupport"),
            tags: pulls
                || lists(
                    "/textDocument/publishDiagnostics/tagSupport/valueSet",
                    &Value::from(UNNECESSARY),
                ),
            watches,
            watches_anywhere: watches
                && flag("/workspace/didChangeWatchedFiles/relativePatternSupport"),
            configures: flag("/workspace/configuration"),
            registers_settings: flag("/workspace/didChangeConfiguration/dynamicRegistration"),
            shows_progress: flag("/window/workDoneProgress"),
            snippets: flag("/textDocument/completion/completionItem/snippetSupport"),
            takes_actions: object("/textDocument/codeAction/codeActionLiteralSupport"),
            resolves_actions: lists(
                "/textDocument/codeAction/resolveSupport/properties",
                &Value::from("edit"),
            ),
            prepares_renames: flag("/textDocument/rename/prepareSupport"),
            all_symbols: object("/textDocument/documentSymbol/symbolKind"),
            all_completions: object("/textDocument/completion/completionItemKind"),
            nests_symbols: flag("/textDocument/documentSymbol/hierarchicalDocumentSymbolSupport"),
            changes_documents: flag("/workspace/workspaceEdit/documentChanges"),
            links_definitions: flag("/textDocument/definition/linkSupport"),
            links_declarations: flag("/textDocument/declaration/linkSupport"),
            hovers: markup("/textDocument/hover/contentFormat"),
            completions: markup("/textDocument/completion/completionItem/documentationFormat"),
            signatures: markup(
                "/textDocument/signatureHelp/signatureInformation/documentationFormat",
            ),
            label_offsets: flag(
                "/textDocument/signatureHelp/signatureInformation/parameterInformation/labelOffsetSupport",
            ),
        }
    }
}

/// The protocol's `DiagnosticTag.Unnecessary`.
const UNNECESSARY: u32 = 1;
