//! Turns of phrase that features share.

use gutta_notation::StanzaKind;

/// What a stanza is called: `order`, `giving set`.
pub(crate) use gutta_checks::words::kind;

/// The same with its article, at a sentence's start.
pub(crate) fn a_kind(of: StanzaKind) -> String {
    let article = match of {
        StanzaKind::Order | StanzaKind::Area | StanzaKind::Ingredient | StanzaKind::Preamble => {
            "An"
        }
        _ => "A",
    };
    format!("{article} {}", kind(of))
}
