//! What there is to be read of an item.

use gutta_checks::markdown::{block, code};
use gutta_checks::rule;
use gutta_notation::words::{STANZAS, stanza_kind};
use gutta_notation::{StanzaKind, in_style};

use super::About;
use crate::state::Site;

/// The contract with authors, from which the words are explained.
const REFERENCE: &str = include_str!("../../../../grammar/reference/notation.md");

/// In Markdown. A name is looked up as the workspace stands now.
pub(crate) fn documentation(site: &Site<'_>, about: &About) -> Option<String> {
    let style = site.workspace.house.style;
    match about {
        About::Stanza(word) => Some(in_style(section(word)?.trim(), style).into_owned()),
        About::Line(word, home) => Some(in_style(&line(word, home)?, style).into_owned()),
        About::Rule(name) => Some(rule(name)?.page(style).into_owned()),
        About::Named(word, name) => {
            let kind = stanza_kind(word)?;
            named(site, kind, name)
        }
    }
}

/// What the reference says under a stanza's heading.
fn section(word: &str) -> Option<&'static str> {
    // A specimen is written as an order.
    let heading = format!("### `{word}`\n");
    let (_, rest) = REFERENCE.split_once(heading.as_str())?;
    let end = rest.find("\n##").unwrap_or(rest.len());
    rest.get(..end)
}

/// The paragraph, or point of a list, that explains a line: under its own
/// stanza's heading, else anywhere; else all that is said of the stanza.
fn line(word: &str, home: &str) -> Option<String> {
    let home = if home == "specimen" { "order" } else { home };
    let own = section(home).and_then(|text| paragraph(text, word));
    let found = own.or_else(|| {
        let homes = STANZAS.iter().filter_map(|stanza| section(stanza.word));
        let mut found = homes.filter_map(|text| paragraph(text, word));
        found.next()
    });
    let found = found.or_else(|| section(home));
    found.map(|text| text.trim().trim_start_matches("- ").to_owned())
}

fn paragraph(text: &'static str, word: &str) -> Option<&'static str> {
    let named = |part: &&str| {
        let begins = format!("`{word} ");
        let alone = format!("`{word}`");
        !part.trim_start().starts_with("```") && (part.contains(&begins) || part.contains(&alone))
    };
    let parts = text.split("\n\n");
    let mut parts = parts.flat_map(|part| {
        if part.trim_start().starts_with("- ") {
            part.split("\n- ").collect::<Vec<_>>()
        } else {
            vec![part]
        }
    });
    parts.find(named)
}

/// A stanza as it is written.
fn named(site: &Site<'_>, kind: StanzaKind, name: &str) -> Option<String> {
    let workspace = site.workspace;
    let id = workspace.resolve(site.file, kind, name).one()?;
    let text = workspace.stanza_text(id).trim_end();
    let path = &workspace.file(id.file).path;
    Some(format!("{}\n\n{}", block("gtt", text), code(path)))
}
