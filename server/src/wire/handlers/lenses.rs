//! `textDocument/codeLens` and `codeLens/resolve`.

use gutta_notation::Span;
use serde::{Deserialize, Serialize};
use tower_lsp::lsp_types::{CodeLens, CodeLensParams, Command, Location, Url};

use crate::features::lenses::{self, About, Lens};
use crate::wire::context::ServerContext;
use crate::wire::to_proto;

/// What a client runs that can show places: the lens's own, its position, and
/// the places.
const SHOW: &str = "gutta.showReferences";

/// What finds a lens's stanza again.
#[derive(Serialize, Deserialize)]
struct Data {
    uri: Url,
    version: Option<i32>,
    start: u32,
    end: u32,
    uses: bool,
}

/// The places of the lenses of a document, without their words.
pub(in crate::wire) fn answer(
    server: &ServerContext,
    params: &CodeLensParams,
) -> Option<Vec<CodeLens>> {
    let state = &server.state;
    let uri = &params.text_document.uri;
    let file = state.file(uri)?;
    let found = lenses::lenses(state.site(file)?);
    let version = state.version(file);
    state.with_lines(file, |lines| {
        let lens = |lens: Lens| CodeLens {
            range: lines.range(lens.span),
            command: None,
            data: serde_json::to_value(Data {
                uri: uri.clone(),
                version,
                start: lens.span.start,
                end: lens.span.end,
                uses: lens.about == About::Uses,
            })
            .ok(),
        };
        found.into_iter().map(lens).collect()
    })
}

/// The lens with its words; where the document has changed since, they are on
/// the way: without any, an editor shows words of its own.
pub(in crate::wire) fn resolve(server: &ServerContext, mut lens: CodeLens) -> CodeLens {
    let waiting = || Command {
        title: "…".to_owned(),
        ..Command::default()
    };
    let command = command(server, &lens).or_else(|| lens.command.take());
    lens.command = Some(command.unwrap_or_else(waiting));
    lens
}

fn command(server: &ServerContext, lens: &CodeLens) -> Option<Command> {
    let data = Data::deserialize(lens.data.as_ref()?).ok()?;
    let state = &server.state;
    let file = state.file(&data.uri)?;
    (state.version(file) == data.version).then_some(())?;
    let about = if data.uses { About::Uses } else { About::Order };
    let span = Span::new(data.start, data.end);
    let said = lenses::said(state.site(file)?, Lens { span, about })?;
    let places: Vec<Location> = said
        .places
        .iter()
        .filter_map(|place| to_proto::location(state, file.0, *place))
        .collect();
    // Without places there is nothing to run: an empty command is shown alone.
    let runs = !places.is_empty();
    let arguments = runs.then(|| {
        vec![
            serde_json::json!(data.uri),
            serde_json::json!(lens.range.start),
            serde_json::json!(places),
        ]
    });
    Some(Command {
        title: to_proto::seen(&said.title),
        command: if runs { SHOW.to_owned() } else { String::new() },
        arguments,
    })
}
