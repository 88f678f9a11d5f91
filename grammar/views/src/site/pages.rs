//! The pages beside the sheets: the index, the drugs, and why an order has no
//! sheet. Everything that an author wrote is escaped.

use gutta_checks::words::{counted, kind};
use gutta_notation::StanzaKind;
use gutta_protocol::CAUTION;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use sha2::{Digest, Sha256};

use super::{Drug, Entry, Site};
use crate::html::Html;
use crate::html::page::{STYLE, links};

const SEARCH: &str = include_str!("search.js");

impl Site {
    /// Every order, set and drug, with a field to search them.
    pub(super) fn index(&self) -> Html {
        let body = html! {
            h1 { "Orders" }
            p {
                label for="search" { "Search: " }
                input #search type="search" autocomplete="off";
                " " span #found role="status" {}
            }
            (list("Orders", &self.orders))
            @if !self.sets.is_empty() { (list("Sets", &self.sets)) }
            (self.limiting("Drugs", StanzaKind::Drug))
            @if self.drugs.iter().any(|drug| drug.kind == StanzaKind::Ingredient) {
                (self.limiting("Ingredients", StanzaKind::Ingredient))
            }
        };
        page("Orders", &body, true)
    }

    /// Those drugs or ingredients, with how many orders use each.
    fn limiting(&self, head: &str, of: StanzaKind) -> Markup {
        html! {
            h2 { (head) }
            ul.index {
                @for Drug { name, title, path, used_by, .. } in self.drugs.iter().filter(|drug| drug.kind == of) {
                    li data-words=(words([name, title])) {
                        a href=(path) { (title) } " " code { (name) }
                        @match used_by.len() {
                            0 => " used by no order",
                            count => { " used by " (counted(count, "order")) },
                        }
                    }
                }
            }
        }
    }
}

fn list(head: &str, entries: &[Entry]) -> Markup {
    html! {
        h2 { (head) }
        ul.index {
            @for entry in entries {
                @let Entry { name, title, path, about, sheet } = entry;
                li data-words=(words([name, title].into_iter().chain(about))) {
                    a href=(path) { (title) } " " code { (name) }
                    @if sheet.is_err() { " " strong { "no sheet" } }
                    @else if entry.is_draft() { " " strong { "draft" } }
                }
            }
        }
    }
}

/// What something is found by.
fn words<'a>(of: impl IntoIterator<Item = &'a String>) -> String {
    let all: Vec<_> = of.into_iter().map(|words| words.to_lowercase()).collect();
    all.join(" ")
}

impl Entry {
    /// Its sheet, or why there is none.
    pub(super) fn html(&self) -> Html {
        let reasons = match &self.sheet {
            Ok(document) => return document.html(),
            Err(reasons) => reasons,
        };
        let body = html! {
            (links(&back()))
            h1 { (self.title) }
            p.name { code { (self.name) } }
            p { strong { "There is no sheet:" } }
            ul { @for reason in reasons { li { (reason) } } }
        };
        page(&self.title, &body, false)
    }
}

impl Drug {
    /// What it states, and the orders that use it.
    pub(super) fn html(&self) -> Html {
        let body = html! {
            (links(&back()))
            h1 { (self.title) }
            p.name { (kind(self.kind)) " " code { (self.name) } }
            ul { @for line in &self.lines { li { code { (line) } } } }
            h2 { "Used by" }
            @if self.used_by.is_empty() { p { "No order." } }
            ul { @for (path, title) in &self.used_by { li { a href={ "../" (path) } { (title) } } } }
        };
        page(&self.title, &body, false)
    }
}

fn back() -> Vec<(String, String)> {
    vec![("../index.html".to_owned(), "All orders".to_owned())]
}

/// A page; with the script that searches, and no other.
fn page(title: &str, body: &Markup, searches: bool) -> Html {
    let mut nonce = String::new();
    for byte in Sha256::digest(SEARCH).iter().take(16) {
        nonce.push_str(&format!("{byte:02x}"));
    }
    let mut policy = "default-src 'none'; style-src 'unsafe-inline'".to_owned();
    if searches {
        policy.push_str(&format!("; script-src 'nonce-{nonce}'"));
    }
    let page = html! {
        (DOCTYPE)
        html lang="en-GB" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta http-equiv="Content-Security-Policy" content=(policy);
                title { (title) }
                style { (PreEscaped(STYLE)) }
            }
            body {
                main {
                    (body)
                    footer { p.caution { (CAUTION) } }
                }
                @if searches { script nonce=(nonce) { (PreEscaped(SEARCH)) } }
            }
        }
    };
    Html::of(page)
}
