//! Orders and sets as resources of HL7 FHIR: an order is an
//! `ActivityDefinition`, one with phases or a set a `PlanDefinition`, what a
//! bag holds a `Medication`. Nothing clinical is computed here: every number is
//! one that the order states or that `gutta derive` gives.

mod activity;
mod choice;
mod context;
mod derived;
mod dosage;
mod fate;
mod fhir;
mod left_out;
mod medication;
mod names;
mod narrative;
mod outcome;
mod plan;
mod text;

use clap::ValueEnum;
use gutta_protocol::{StanzaId, Workspace};
use gutta_quantity::Style;
use rustc_hash::FxHashMap;

pub(crate) use choice::{Choice, Refused, choose};
pub(crate) use names::base_url;

use fhir::{Bundle, Entry, Reference, Resource};
use left_out::LeftOut;
use names::{Name, Names};

use crate::holder::holder_of;
use crate::report::Lines;

/// A release of the standard.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum Release {
    /// FHIR R4, 4.0.1
    R4,
    /// FHIR R5, 5.0.0
    R5,
}

/// What an export came to.
#[derive(Debug)]
pub(crate) struct Exported {
    /// The resources.
    pub(crate) bundle: Bundle,
    /// What no field of them holds, a line a stanza.
    pub(crate) left_out: Vec<String>,
}

/// Writes the chosen orders and sets.
pub(crate) fn export(
    workspace: &Workspace,
    choice: &Choice,
    release: Release,
    base_url: Option<&str>,
) -> Exported {
    let mut exporter = Exporter {
        workspace,
        release,
        names: Names { base_url },
        lines: Lines::of(workspace),
        style: workspace.house.style,
        entries: Vec::new(),
        left: Vec::new(),
        held: FxHashMap::default(),
    };
    for analysis in &choice.orders {
        exporter.order(analysis);
    }
    for (id, set) in &choice.sets {
        exporter.set(*id, set);
    }
    let outcome = exporter.outcome(&choice.refused);
    exporter.entries.push(outcome);
    let told = exporter.left.iter();
    Exported {
        left_out: told
            .filter(|left| !left.omissions.is_empty())
            .map(LeftOut::told)
            .collect(),
        bundle: Bundle {
            resource_type: "Bundle",
            kind: "collection",
            entry: exporter.entries,
        },
    }
}

struct Exporter<'a> {
    workspace: &'a Workspace,
    release: Release,
    names: Names<'a>,
    lines: Lines<'a>,
    style: Style,
    entries: Vec<Entry>,
    left: Vec<LeftOut>,
    /// The stanzas that are done, each with the URL of its resource; empty for
    /// one that has none.
    held: FxHashMap<StanzaId, String>,
}

impl Exporter<'_> {
    /// The name of a stanza's resource, or of a part of it.
    fn name(&self, resource: &str, id: StanzaId, part: &str) -> Name {
        let file = &self.workspace.file(id.file).path;
        let holder = holder_of(self.workspace, id);
        self.names.of(resource, &[file, &holder, part])
    }

    /// The stanza's title, else its name.
    fn title(&self, id: StanzaId) -> String {
        let stanza = self.workspace.stanza(id);
        let title = stanza.title.as_ref().or(stanza.name.as_ref());
        title.map_or_else(String::new, |title| text::plain(&title.value))
    }

    /// The stanza's name.
    fn plain_name(&self, id: StanzaId) -> String {
        let name = self.workspace.stanza(id).name.as_ref();
        name.map_or_else(String::new, |name| text::plain(&name.value))
    }

    /// The lines of a stanza as written, its header first.
    fn lines_of(&self, id: StanzaId) -> impl Iterator<Item = &str> {
        let stanza = self.workspace.stanza(id);
        let spans = std::iter::once(stanza.header).chain(stanza.lines.iter().map(|line| line.span));
        spans.map(move |span| self.workspace.text_at(self.workspace.place(id, span)))
    }

    fn push(&mut self, url: String, resource: Resource) -> Reference {
        self.entries.push(Entry {
            full_url: url.clone(),
            resource,
        });
        Reference { reference: url }
    }
}
