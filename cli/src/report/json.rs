//! Findings for programs. Lines and columns count from 1, columns in
//! characters; an end is the place after the last character.

use gutta_checks::{Finding, Fix, causes};
use gutta_protocol::{CAUTION, Place};
use serde::Serialize;

use super::{Position, Report, Summary};
use crate::baseline::Held;

/// The version of this form: 2 since a finding names its cause.
const VERSION: u8 = 2;

/// All findings, of every severity, and the counts.
#[derive(Serialize)]
pub(crate) struct Document<'a> {
    /// The form's own version, raised where a reader has to know.
    version: u8,
    caution: &'static str,
    findings: Vec<JsonFinding<'a>>,
    summary: Summary,
    /// What a baseline held back, where there is one.
    #[serde(skip_serializing_if = "Option::is_none")]
    baseline: Option<&'a Held>,
}

/// A finding.
#[derive(Serialize)]
pub(crate) struct JsonFinding<'a> {
    rule: &'a str,
    severity: &'a str,
    message: &'a str,
    #[serde(flatten)]
    place: Stretch<'a>,
    /// The stanza's name.
    stanza: Option<&'a str>,
    /// Marks it as the same in the next run, wherever its lines have moved.
    fingerprint: String,
    /// The fingerprint of the finding from which it follows.
    cause: Option<String>,
    related: Vec<Other<'a>>,
    notes: &'a [String],
    fixes: Vec<Correction<'a>>,
}

#[derive(Serialize)]
struct Stretch<'a> {
    file: &'a str,
    start: Position,
    end: Position,
}

#[derive(Serialize)]
struct Other<'a> {
    message: &'a str,
    #[serde(flatten)]
    place: Stretch<'a>,
}

#[derive(Serialize)]
struct Correction<'a> {
    title: &'a str,
    /// Whether it changes spelling only.
    spelling: bool,
    edits: Vec<Replacement<'a>>,
    /// What it changes in what the patient gets, where that was reckoned.
    #[serde(skip_serializing_if = "Option::is_none")]
    doses: Option<Doses<'a>>,
}

#[derive(Serialize)]
struct Doses<'a> {
    measure: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    patient: Option<&'a str>,
    old: String,
    new: String,
}

#[derive(Serialize)]
struct Replacement<'a> {
    #[serde(flatten)]
    place: Stretch<'a>,
    text: &'a str,
}

impl Report<'_> {
    /// All of it.
    pub(crate) fn document(&self) -> Document<'_> {
        Document {
            version: VERSION,
            caution: CAUTION,
            findings: self.found().collect(),
            summary: self.summary,
            baseline: self.baseline,
        }
    }

    /// The findings alone.
    pub(crate) fn found(&self) -> impl Iterator<Item = JsonFinding<'_>> {
        let all: Vec<_> = self.findings.iter().collect();
        let marks = self.fingerprints();
        let causes = causes(&all);
        all.into_iter().enumerate().map(move |(index, finding)| {
            let cause = causes[index].map(|cause| marks[cause].clone());
            self.one(finding, marks[index].clone(), cause)
        })
    }

    fn one<'b>(
        &'b self,
        finding: &'b Finding,
        fingerprint: String,
        cause: Option<String>,
    ) -> JsonFinding<'b> {
        let stanza = finding.stanza.map(|id| self.workspace.stanza(id));
        let related = finding.related.iter().map(|other| Other {
            message: &other.message,
            place: self.stretch(other.place),
        });
        JsonFinding {
            rule: finding.rule.name,
            severity: finding.severity.word(),
            message: &finding.message,
            place: self.stretch(finding.place),
            stanza: stanza.and_then(|stanza| stanza.name.as_ref().map(|name| name.value.as_str())),
            fingerprint,
            cause,
            related: related.collect(),
            notes: &finding.notes,
            fixes: finding
                .fixes
                .iter()
                .map(|fix| self.replacement(fix))
                .collect(),
        }
    }

    fn replacement<'b>(&'b self, fix: &'b Fix) -> Correction<'b> {
        let edits = fix.edits.iter().map(|edit| Replacement {
            place: self.stretch(edit.place),
            text: &edit.text,
        });
        Correction {
            title: &fix.title,
            spelling: fix.spelling,
            edits: edits.collect(),
            doses: fix.doses.as_ref().map(|change| Doses {
                measure: &change.measure,
                patient: change.patient.as_deref(),
                old: change.old.to_string(),
                new: change.new.to_string(),
            }),
        }
    }

    fn stretch(&self, place: Place) -> Stretch<'_> {
        let (start, end) = self.positions(place);
        Stretch {
            file: &self.workspace.file(place.file).path,
            start,
            end,
        }
    }
}
