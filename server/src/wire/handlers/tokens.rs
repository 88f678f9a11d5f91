//! `textDocument/semanticTokens/full`, `full/delta` and `range`.

use std::sync::PoisonError;
use std::sync::atomic::{AtomicU64, Ordering};

use gutta_notation::{Span, StanzaKind};
use tower_lsp::lsp_types::{
    SemanticToken, SemanticTokenModifier, SemanticTokenType, SemanticTokens, SemanticTokensDelta,
    SemanticTokensDeltaParams, SemanticTokensEdit, SemanticTokensFullDeltaResult,
    SemanticTokensLegend, SemanticTokensParams, SemanticTokensRangeParams, Url,
};

use crate::features::tokens::{self, TokenKind};
use crate::state::FileRef;
use crate::text::Forward;
use crate::wire::context::ServerContext;
use crate::wire::from_proto;

/// The types, in the order of their numbers.
const TYPES: [SemanticTokenType; 15] = [
    SemanticTokenType::KEYWORD,
    SemanticTokenType::MODIFIER,
    SemanticTokenType::NUMBER,
    SemanticTokenType::TYPE,
    SemanticTokenType::STRING,
    SemanticTokenType::COMMENT,
    SemanticTokenType::CLASS,
    SemanticTokenType::STRUCT,
    SemanticTokenType::NAMESPACE,
    SemanticTokenType::INTERFACE,
    SemanticTokenType::FUNCTION,
    SemanticTokenType::PROPERTY,
    SemanticTokenType::VARIABLE,
    SemanticTokenType::ENUM_MEMBER,
    SemanticTokenType::DECORATOR,
];

const DECLARATION: u32 = 1;

pub(in crate::wire) fn legend() -> SemanticTokensLegend {
    SemanticTokensLegend {
        token_types: TYPES.to_vec(),
        token_modifiers: vec![SemanticTokenModifier::DECLARATION],
    }
}

fn type_of(kind: TokenKind) -> SemanticTokenType {
    match kind {
        TokenKind::Keyword => SemanticTokenType::KEYWORD,
        TokenKind::Word => SemanticTokenType::MODIFIER,
        TokenKind::Number => SemanticTokenType::NUMBER,
        TokenKind::Unit => SemanticTokenType::TYPE,
        TokenKind::Text => SemanticTokenType::STRING,
        TokenKind::Comment => SemanticTokenType::COMMENT,
        TokenKind::Name(StanzaKind::Drug) => SemanticTokenType::CLASS,
        TokenKind::Name(StanzaKind::Solution) => SemanticTokenType::STRUCT,
        TokenKind::Name(StanzaKind::Ingredient) => SemanticTokenType::PROPERTY,
        TokenKind::Name(StanzaKind::Area) => SemanticTokenType::NAMESPACE,
        TokenKind::Name(StanzaKind::Pump | StanzaKind::GivingSet) => SemanticTokenType::INTERFACE,
        TokenKind::Name(_) => SemanticTokenType::FUNCTION,
        TokenKind::Substance | TokenKind::Measure => SemanticTokenType::PROPERTY,
        TokenKind::Phase | TokenKind::Line => SemanticTokenType::VARIABLE,
        TokenKind::Purpose | TokenKind::Route => SemanticTokenType::ENUM_MEMBER,
        TokenKind::Rule => SemanticTokenType::DECORATOR,
    }
}

/// The tokens of the file, or of the stanzas in a stretch of it, each counted
/// from the one before.
fn encoded(
    server: &ServerContext,
    file: FileRef,
    within: Option<Span>,
) -> Option<Vec<SemanticToken>> {
    let site = server.state.site(file)?;
    let found = tokens::tokens(site, within);
    // A stretch is not counted from the file's start.
    let (start, base) = match found.first().filter(|_| within.is_some()) {
        Some(first) => {
            let start = site.start_of(site.stanza_at(first.span.start)?);
            let line = server
                .state
                .with_lines(file, |lines| lines.position(start))?;
            (start, line.line)
        }
        None => (0, 0),
    };
    let text = site.source().text.get(start as usize..)?;
    let mut forward = Forward::new(text, server.state.encoding);
    let (mut line, mut column) = (0, 0);
    let mut out = Vec::with_capacity(found.len());
    for token in found {
        let at = forward.position(token.span.start - start);
        let end = forward.position(token.span.end - start);
        let (own_line, length) = (at.line + base, end.character.saturating_sub(at.character));
        let kind = type_of(token.kind);
        let number = TYPES.iter().position(|held| *held == kind).unwrap_or(0);
        out.push(SemanticToken {
            delta_line: own_line - line,
            delta_start: if own_line == line {
                at.character - column
            } else {
                at.character
            },
            length,
            token_type: u32::try_from(number).unwrap_or(0),
            token_modifiers_bitset: if token.declares { DECLARATION } else { 0 },
        });
        (line, column) = (own_line, at.character);
    }
    Some(out)
}

/// Tokens, by the number of the answer in which they were told.
type Numbered = (u64, Vec<SemanticToken>);

/// Keeps the tokens of an open document, and gives their answer its number, and
/// those that were kept before.
fn kept(
    server: &ServerContext,
    url: &Url,
    data: &[SemanticToken],
) -> Option<(String, Option<Numbered>)> {
    static NEXT: AtomicU64 = AtomicU64::new(1);
    let held = &server.state.document(url)?.tokens;
    let number = NEXT.fetch_add(1, Ordering::Relaxed);
    let mut held = held.lock().unwrap_or_else(PoisonError::into_inner);
    let before = held.replace((number, data.to_vec()));
    Some((number.to_string(), before))
}

/// Every token of the document.
pub(in crate::wire) fn full(
    server: &ServerContext,
    params: &SemanticTokensParams,
) -> Option<SemanticTokens> {
    let url = &params.text_document.uri;
    let data = encoded(server, server.state.file(url)?, None)?;
    let result_id = kept(server, url, &data).map(|(number, _)| number);
    Some(SemanticTokens { result_id, data })
}

/// What changed since the answer of that number; where it is no longer held,
/// every token.
pub(in crate::wire) fn delta(
    server: &ServerContext,
    params: &SemanticTokensDeltaParams,
) -> Option<SemanticTokensFullDeltaResult> {
    let url = &params.text_document.uri;
    let data = encoded(server, server.state.file(url)?, None)?;
    let (result_id, before) = kept(server, url, &data).unzip();
    let before = before
        .flatten()
        .filter(|(number, _)| number.to_string() == params.previous_result_id);
    let Some((_, before)) = before else {
        let tokens = SemanticTokens { result_id, data };
        return Some(SemanticTokensFullDeltaResult::Tokens(tokens));
    };
    let edits = edit(&before, &data).into_iter().collect();
    Some(SemanticTokensFullDeltaResult::TokensDelta(
        SemanticTokensDelta { result_id, edits },
    ))
}

/// The one stretch that differs, in numbers of which a token has five.
fn edit(before: &[SemanticToken], after: &[SemanticToken]) -> Option<SemanticTokensEdit> {
    let same = |(one, other): &(&SemanticToken, &SemanticToken)| one == other;
    let head = before.iter().zip(after).take_while(same).count();
    let (old, new) = (before.get(head..)?, after.get(head..)?);
    let ends = old.iter().rev().zip(new.iter().rev());
    let tail = ends.take_while(same).count();
    let (old, new) = (old.len() - tail, new.get(..new.len() - tail)?);
    let numbers = |tokens: usize| u32::try_from(tokens * 5).unwrap_or(u32::MAX);
    (old > 0 || !new.is_empty()).then(|| SemanticTokensEdit {
        start: numbers(head),
        delete_count: numbers(old),
        data: Some(new.to_vec()),
    })
}

/// The tokens of a range.
pub(in crate::wire) fn range(
    server: &ServerContext,
    params: &SemanticTokensRangeParams,
) -> Option<SemanticTokens> {
    let (file, span) = from_proto::span(&server.state, &params.text_document.uri, params.range)?;
    let data = encoded(server, file, Some(span))?;
    Some(SemanticTokens {
        result_id: None,
        data,
    })
}
