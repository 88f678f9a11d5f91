//! The page: everything that an author wrote is escaped on its way here.

use gutta_notation::visible_line;
use gutta_protocol::CAUTION;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::sources::together;
use super::values::Whose;
use super::{Document, Html, Printed, Set, Source, plot};
use crate::sheet::{Fact, Phase, Review, Sheet};

pub(crate) const STYLE: &str = include_str!("style.css");

/// Nothing is loaded, run or sent.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'";

impl Document {
    /// As one page of HTML.
    #[must_use]
    pub fn html(&self) -> Html {
        let sources = self.sheets.iter().flat_map(|printed| &printed.sources);
        let digest = together(sources);
        // Hexadecimal digits alone, in every page's margin.
        let margin = format!(
            "@page {{ @bottom-left {{ content: \"sheet {}\" }} }}",
            digest.get(..16).unwrap_or_default()
        );
        let title = match (&self.set, self.sheets.first()) {
            (Some(set), _) => set.title.as_str(),
            (None, first) => first.map_or("", |printed| &printed.sheet.title),
        };
        let page = html! {
            (DOCTYPE)
            html lang="en-GB" {
                head {
                    meta charset="utf-8";
                    meta name="viewport" content="width=device-width, initial-scale=1";
                    meta http-equiv="Content-Security-Policy" content=(POLICY);
                    meta name="generator" content={ "gutta " (env!("CARGO_PKG_VERSION")) };
                    title { (title) }
                    style { (PreEscaped(STYLE)) (PreEscaped(margin)) }
                }
                body {
                    @if !self.links.is_empty() { (links(&self.links)) }
                    main {
                        @if let Some(set) = &self.set { (set.cover(self)) }
                        @for (index, printed) in self.sheets.iter().enumerate() {
                            (printed.article(index))
                        }
                    }
                }
            }
        };
        Html::of(page)
    }
}

/// To other pages of a site; not printed.
pub(crate) fn links(links: &[(String, String)]) -> Markup {
    html! {
        nav.links aria-label="Pages" {
            @for (to, name) in links { a href=(to) { (name) } " " }
        }
    }
}

impl Set {
    fn cover(&self, document: &Document) -> Markup {
        html! {
            header.set {
                h1 { (self.title) }
                p.name { "set " code { (self.name) } }
                ul { @for line in &self.lines { li { (line) } } }
                h2 { "Orders" }
                ol {
                    @for Printed { sheet, .. } in &document.sheets {
                        li { (sheet.title) " (" code { (sheet.name) } ")" }
                    }
                }
            }
        }
    }
}

impl Printed {
    fn article(&self, index: usize) -> Markup {
        let Self { sheet, sources } = self;
        html! {
            article.draft[sheet.review.is_draft()] data-order=(sheet.name) {
                (head(sheet))
                (patient(&sheet.title))
                @for (place, phase) in sheet.phases.iter().enumerate() {
                    (self::phase(phase, &format!("drawing-{index}-{place}")))
                }
                (watch(sheet))
                @if !sheet.totals.is_empty() {
                    section.totals {
                        h2 { "Totals" }
                        (Whose(None).values(&sheet.totals))
                    }
                }
                (known(sheet))
                (signatures())
                (foot(sheet, sources))
            }
        }
    }
}

fn head(sheet: &Sheet) -> Markup {
    html! {
        header {
            @if let Some(draft) = draft(&sheet.review) { p.draft { "Draft: not for use. " (draft) } }
            h1 { (sheet.title) }
            p.name {
                "order " code { (sheet.name) }
                @if sheet.high_alert { " " strong.alert { "High alert" } }
            }
            (facts(&sheet.about))
        }
    }
}

fn draft(review: &Review) -> Option<String> {
    match review {
        Review::Due(_) => None,
        Review::Overdue(date) => Some(format!("Its review was due by {date}.")),
        Review::Unknown => Some("No review date is stated.".to_owned()),
    }
}

fn facts(facts: &[Fact]) -> Markup {
    html! {
        @if !facts.is_empty() {
            dl.facts {
                @for Fact { label, text } in facts { div { dt { (label) } dd { (text) } } }
            }
        }
    }
}

/// To be filled in by hand.
fn patient(of: &str) -> Markup {
    html! {
        section.patient aria-label={ "This patient: " (of) } {
            p.label { "Patient (label)" }
            p.blank { "Weight, kg" }
            p.blank { "Dose" }
            p.blank { "Pump set to" }
        }
    }
}

fn phase(phase: &Phase, id: &str) -> Markup {
    let name = phase.name.as_deref();
    let whose = Whose(name);
    html! {
        section.phase {
            @if let Some(name) = name { h2.phase { "Phase " (name) } }
            (facts(&phase.about))
            @if !phase.prepare.is_empty() {
                h2 { "Prepare" }
                ol.steps { @for step in &phase.prepare { li { (step) } } }
                (whose.values(&phase.bag))
            }
            h2 { "Run" }
            @for run in &phase.runs { p.order { (run) } }
            (facts(&phase.around))
            @if let Some(then) = &phase.then { (facts(std::slice::from_ref(then))) }
            (whose.values(&phase.boluses))
            (whose.values(&phase.values))
            @if let Some(titration) = &phase.titration {
                h2 { "Change the setting" }
                p { (titration) }
            }
            @for settings in &phase.settings { (whose.settings(settings)) }
            @for (index, drawing) in phase.drawings.iter().enumerate() {
                (plot::figure(drawing, &format!("{id}-{index}")))
            }
        }
    }
}

fn watch(sheet: &Sheet) -> Markup {
    html! {
        @if !sheet.watch.is_empty() {
            section.watch { h2 { "Monitoring and notes" } (facts(&sheet.watch)) }
        }
    }
}

/// What the check warns of, and what was waived.
fn known(sheet: &Sheet) -> Markup {
    html! {
        @if !(sheet.warnings.is_empty() && sheet.waivers.is_empty()) {
            section.known {
                h2 { "Warnings and waivers" }
                ul {
                    @for warning in &sheet.warnings { li { "Warning: " (warning) } }
                    @for waiver in &sheet.waivers { li { "Waived: " code { (waiver) } } }
                }
            }
        }
    }
}

fn signatures() -> Markup {
    html! {
        section.signatures {
            h2 { "Prepared and checked" }
            table.blank {
                thead {
                    tr {
                        td.corner {}
                        th scope="col" { "Name" }
                        th scope="col" { "Signature" }
                        th scope="col" { "Date and time" }
                    }
                }
                tbody {
                    tr { th scope="row" { "Prepared by" } td {} td {} td {} }
                    tr { th scope="row" { "Checked independently by" } td {} td {} td {} }
                }
            }
        }
    }
}

fn foot(sheet: &Sheet, sources: &[Source]) -> Markup {
    let review = match &sheet.review {
        Review::Due(date) | Review::Overdue(date) => format!("Review by {date}."),
        Review::Unknown => "No review date is stated.".to_owned(),
    };
    html! {
        footer {
            p.caution { (CAUTION) }
            p {
                (review) " Made by gutta " (env!("CARGO_PKG_VERSION")) " from "
                (sheet.file) ":" (sheet.line) ". SHA-256 checksums of its files (sha256sum); of "
                "these lines together " code { (together(sources)) } ":"
            }
            ul.digests {
                @for Source { path, digest } in sources { li { code { (digest) } " " (visible_line(path)) } }
            }
        }
    }
}
