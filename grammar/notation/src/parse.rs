//! The grammar's parser, and its answer as a flat list of tokens.

#![allow(
    missing_docs,
    clippy::all,
    reason = "the rules are documented where they are written, in notation.pest"
)]

use pest::Parser;
use pest::error::{ErrorVariant, InputLocation};

#[derive(pest_derive::Parser)]
#[grammar = "notation.pest"]
struct Notation;

/// A token: its rule and where it stands in the text that was parsed.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Token {
    pub(crate) rule: Rule,
    pub(crate) start: usize,
    pub(crate) end: usize,
}

/// Where parsing could not go on, and the rules that were tried there.
#[derive(Debug)]
pub(crate) struct Stuck {
    pub(crate) at: usize,
    pub(crate) tried: Vec<Rule>,
}

/// Parses `text` by `rule` into `tokens`, whose places count from
/// `text`'s start plus `offset`.
pub(crate) fn parse(
    rule: Rule,
    text: &str,
    offset: usize,
    tokens: &mut Vec<Token>,
) -> Result<(), Stuck> {
    tokens.clear();
    match Notation::parse(rule, text) {
        Ok(pairs) => {
            for pair in pairs {
                let span = pair.as_span();
                tokens.push(Token {
                    rule: pair.as_rule(),
                    start: span.start() + offset,
                    end: span.end() + offset,
                });
            }
            Ok(())
        }
        Err(error) => {
            let at = match error.location {
                InputLocation::Pos(at) | InputLocation::Span((at, _)) => at,
            };
            let tried = match error.variant {
                ErrorVariant::ParsingError { positives, .. } => positives,
                ErrorVariant::CustomError { .. } => Vec::new(),
            };
            Err(Stuck {
                at: at + offset,
                tried,
            })
        }
    }
}

/// For the bench: whether the text is parsed; nothing is kept.
pub(crate) fn bare(rule: Rule, text: &str) -> bool {
    Notation::parse(rule, text).is_ok()
}
