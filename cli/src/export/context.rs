//! For whom and where an order or set is meant, until when, and on what it
//! rests.

use gutta_notation::ast::{PatientKind, WordsKind};
use gutta_notation::{Fact, Written};
use gutta_protocol::{CAUTION, StanzaId};

use super::Exporter;
use super::fhir::{
    CodeableConcept, Coding, Frame, Identifier, Period, Quantity, Range, RelatedArtifact,
    UsageContext,
};
use super::left_out::LeftOut;
use super::names::{Name, computable};
use super::narrative::narrative;
use super::text::plain;

const CONTEXTS: &str = "http://terminology.hl7.org/CodeSystem/usage-context-type";

impl Exporter<'_> {
    /// What a definition begins with. `part`: the phase's title, of one.
    pub(super) fn frame(
        &self,
        id: StanzaId,
        name: Name,
        part: Option<&str>,
        area: Option<StanzaId>,
        left: &mut LeftOut,
    ) -> Frame {
        let use_context = self.contexts(id, area, left);
        let stanza = self.workspace.stanza(id);
        let own = self.plain_name(id);
        let facts = || stanza.lines.iter().map(|line| &line.fact);
        let title = match part {
            Some(part) => format!("{}: {part}", self.title(id)),
            None => self.title(id),
        };
        let sources = facts().filter_map(|fact| match fact {
            Fact::Words {
                kind: WordsKind::Source,
                text,
            } => Some(RelatedArtifact {
                kind: "citation",
                display: plain(&text.value),
            }),
            _ => None,
        });
        Frame {
            text: narrative(&title, self.lines_of(id), &left.omissions),
            id: name.id,
            url: name.url,
            name: computable(&own).filter(|_| part.is_none()),
            identifier: vec![Identifier { value: own }],
            title,
            status: "draft",
            experimental: true,
            description: DESCRIPTION.to_owned(),
            use_context,
            usage: CAUTION,
            effective_period: facts().find_map(|fact| match fact {
                Fact::ReviewBy(date) => date.value.map(|date| Period {
                    end: date.to_string(),
                }),
                _ => None,
            }),
            related_artifact: sources.collect(),
        }
    }

    fn contexts(
        &self,
        id: StanzaId,
        area: Option<StanzaId>,
        left: &mut LeftOut,
    ) -> Vec<UsageContext> {
        let context = |code| Coding {
            system: CONTEXTS,
            code,
        };
        let mut contexts = Vec::new();
        contexts.extend(area.map(|area| UsageContext {
            code: context("venue"),
            value_codeable_concept: Some(CodeableConcept::text(self.title(area))),
            value_range: None,
        }));
        for line in &self.workspace.stanza(id).lines {
            let Fact::Patient {
                kind: PatientKind::Age,
                range,
            } = &line.fact
            else {
                continue;
            };
            let end = |end: &Option<Written>| match end {
                None => Some(None),
                Some(end) => Some(Some(Quantity::of(&end.quantity()?, self.style)?)),
            };
            match (end(&range.low), end(&range.high)) {
                (Some(low), Some(high)) => contexts.push(UsageContext {
                    code: context("age"),
                    value_codeable_concept: None,
                    value_range: Some(Range { low, high }),
                }),
                _ => left.note(self.workspace, line.span, super::medication::TOO_LONG),
            }
        }
        contexts
    }
}

/// Fixed words: what an author wrote stands where it is no mark-up.
const DESCRIPTION: &str = "A draft made by gutta from an order that was written as text. The text \
     of this resource holds every line as written, and says which of them no field holds.";
