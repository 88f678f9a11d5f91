//! SARIF 2.1.0, the Static Analysis Results Interchange Format of OASIS:
//! <https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/sarif-v2.1.0-errata01-os-complete.html>.
//! Columns count characters from 1 (`unicodeCodePoints`); an end is the place
//! after the last one.

use std::borrow::Cow;
use std::collections::BTreeMap;

use gutta_checks::{Finding, Fix, Page, Rule, Severity, causes};
use gutta_notation::{Style, visible, visible_line};
use gutta_protocol::{CAUTION, FileId, Place};
use percent_encoding::{AsciiSet, NON_ALPHANUMERIC, utf8_percent_encode};
use serde::Serialize;

use super::{Report, said};
use crate::holder::holder;
use crate::prose::Prose;

const SCHEMA: &str =
    "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json";

/// What stands in a relative reference as it is: RFC 3986's unreserved
/// characters, and the bar between folders.
const PATH: &AsciiSet = &NON_ALPHANUMERIC
    .remove(b'-')
    .remove(b'.')
    .remove(b'_')
    .remove(b'~')
    .remove(b'/');

/// What the tool is for.
const WHAT: &str = "Checks infusion orders written in plain text.";

/// The width that a rule's page is set in, where it is plain text; a paragraph
/// of it stands on one line.
const PAGE: Prose = Prose::new(false, 80);
const PARAGRAPH: Prose = Prose::new(false, 10_000);

/// A whole log.
#[derive(Serialize)]
pub(crate) struct Log {
    #[serde(rename = "$schema")]
    schema: &'static str,
    version: &'static str,
    runs: [Run; 1],
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Run {
    tool: Tool,
    invocations: [Invocation; 1],
    column_kind: &'static str,
    newline_sequences: [&'static str; 3],
    results: Vec<Outcome>,
}

#[derive(Serialize)]
struct Tool {
    driver: Driver,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Driver {
    name: &'static str,
    semantic_version: &'static str,
    short_description: Message,
    full_description: Message,
    rules: Vec<Descriptor>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Invocation {
    execution_successful: bool,
}

/// A rule. There is no `helpUri`: its page has no address of its own, and
/// stands here whole.
#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Descriptor {
    id: &'static str,
    short_description: Message,
    full_description: Message,
    help: Help,
    default_configuration: Configuration,
    properties: Properties,
}

#[derive(Serialize)]
struct Help {
    text: String,
    markdown: Cow<'static, str>,
}

#[derive(Serialize)]
struct Configuration {
    level: &'static str,
}

#[derive(Serialize)]
struct Properties {
    tags: [&'static str; 1],
    locked: bool,
}

#[derive(Serialize)]
struct Message {
    text: String,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Outcome {
    rule_id: &'static str,
    rule_index: usize,
    level: &'static str,
    message: Message,
    locations: [Location; 1],
    #[serde(skip_serializing_if = "Vec::is_empty")]
    related_locations: Vec<Location>,
    partial_fingerprints: Fingerprints,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    fixes: Vec<Correction>,
    #[serde(skip_serializing_if = "Option::is_none")]
    properties: Option<Follows>,
}

/// Where a result follows from another.
#[derive(Serialize)]
struct Follows {
    /// The fingerprint of the result that tells its cause.
    cause: String,
}

#[derive(Serialize)]
struct Fingerprints {
    #[serde(rename = "gutta/v1")]
    first: String,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Location {
    #[serde(skip_serializing_if = "Option::is_none")]
    id: Option<usize>,
    physical_location: Physical,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    logical_locations: Vec<Logical>,
    #[serde(skip_serializing_if = "Option::is_none")]
    message: Option<Message>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Physical {
    artifact_location: Artifact,
    region: Region,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Logical {
    fully_qualified_name: String,
}

#[derive(Serialize)]
struct Artifact {
    uri: String,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Region {
    start_line: usize,
    start_column: usize,
    end_line: usize,
    end_column: usize,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Correction {
    description: Message,
    artifact_changes: Vec<Changes>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Changes {
    artifact_location: Artifact,
    replacements: Vec<Replacement>,
}

#[derive(Serialize)]
#[serde(rename_all = "camelCase")]
struct Replacement {
    deleted_region: Region,
    inserted_content: Content,
}

#[derive(Serialize)]
struct Content {
    text: String,
}

impl Report<'_> {
    /// The findings chosen, and the pages of their rules.
    pub(crate) fn sarif(&self, chosen: impl Fn(&Finding) -> bool) -> Log {
        let mut rules: Vec<&'static Rule> = Vec::new();
        let mut results = Vec::new();
        let marked = self.findings.iter().zip(self.fingerprints());
        let (told, marks): (Vec<_>, Vec<_>) = marked.filter(|(found, _)| chosen(found)).unzip();
        let causes = causes(&told);
        for (index, finding) in told.iter().enumerate() {
            let known = rules.iter().position(|rule| rule.name == finding.rule.name);
            let rule_index = known.unwrap_or(rules.len());
            if known.is_none() {
                rules.push(finding.rule);
            }
            let first = marks[index].clone();
            let cause = causes[index].map(|cause| marks[cause].clone());
            let properties = cause.map(|cause| Follows { cause });
            results.push(Outcome {
                properties,
                ..self.outcome(finding, rule_index, Fingerprints { first })
            });
        }
        let driver = Driver {
            name: "gutta",
            semantic_version: env!("CARGO_PKG_VERSION"),
            short_description: message(WHAT),
            full_description: message(&format!("{WHAT} {CAUTION}")),
            rules: rules
                .into_iter()
                .map(|rule| descriptor(rule, self.workspace.house.style))
                .collect(),
        };
        Log {
            schema: SCHEMA,
            version: "2.1.0",
            runs: [Run {
                tool: Tool { driver },
                invocations: [Invocation {
                    execution_successful: true,
                }],
                column_kind: "unicodeCodePoints",
                newline_sequences: ["\r\n", "\n", "\r"],
                results,
            }],
        }
    }

    fn outcome(
        &self,
        finding: &Finding,
        rule_index: usize,
        partial_fingerprints: Fingerprints,
    ) -> Outcome {
        let holder = holder(self.workspace, finding);
        let logical = (!holder.is_empty()).then(|| Logical {
            fully_qualified_name: visible_line(&holder).into_owned(),
        });
        let related = finding.related.iter().enumerate();
        let related = related.map(|(index, other)| Location {
            id: Some(index + 1),
            physical_location: self.physical(other.place),
            logical_locations: Vec::new(),
            message: Some(message(&other.message)),
        });
        Outcome {
            rule_id: finding.rule.name,
            rule_index,
            level: level(finding.severity),
            message: message(&said(finding, "\n")),
            locations: [Location {
                id: None,
                physical_location: self.physical(finding.place),
                logical_locations: logical.into_iter().collect(),
                message: None,
            }],
            related_locations: related.collect(),
            partial_fingerprints,
            fixes: finding
                .fixes
                .iter()
                .map(|fix| self.correction_of(fix))
                .collect(),
            properties: None,
        }
    }

    /// A correction, whose title says what it does to the dose: a viewer may
    /// carry it out at a click.
    fn correction_of(&self, fix: &Fix) -> Correction {
        let mut by_file: BTreeMap<FileId, Vec<Replacement>> = BTreeMap::new();
        for edit in &fix.edits {
            let replacement = Replacement {
                deleted_region: self.region(edit.place),
                inserted_content: Content {
                    text: edit.text.clone(),
                },
            };
            by_file
                .entry(edit.place.file)
                .or_default()
                .push(replacement);
        }
        let changes = by_file.into_iter().map(|(file, replacements)| Changes {
            artifact_location: self.artifact(file),
            replacements,
        });
        Correction {
            description: message(&fix.title),
            artifact_changes: changes.collect(),
        }
    }

    fn physical(&self, place: Place) -> Physical {
        Physical {
            artifact_location: self.artifact(place.file),
            region: self.region(place),
        }
    }

    fn artifact(&self, file: FileId) -> Artifact {
        Artifact {
            uri: utf8_percent_encode(&self.typed(file), PATH).to_string(),
        }
    }

    fn region(&self, place: Place) -> Region {
        let (start, end) = self.positions(place);
        Region {
            start_line: start.line,
            start_column: start.column,
            end_line: end.line,
            end_column: end.column,
        }
    }
}

fn descriptor(rule: &'static Rule, style: Style) -> Descriptor {
    let text = rule.page(style);
    let page = Page::of(&text);
    Descriptor {
        id: rule.name,
        short_description: message(&rule.summary(style)),
        full_description: message(PARAGRAPH.page(page.section("What it finds")).trim_end()),
        help: Help {
            text: PAGE.page(&text),
            markdown: text.clone(),
        },
        default_configuration: Configuration {
            level: level(rule.severity),
        },
        properties: Properties {
            tags: [rule.family()],
            locked: rule.locked,
        },
    }
}

const fn level(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
        Severity::Information | Severity::Hint => "note",
    }
}

/// A plain text message: braces are doubled, since single ones are
/// placeholders (3.11.5), and nothing an author wrote becomes a link (3.11.6).
fn message(text: &str) -> Message {
    let text = text.replace('{', "{{").replace('}', "}}");
    Message {
        text: visible(&text.replace("](", "] (")).into_owned(),
    }
}
