//! JUnit XML, of which there is no standard: what Jenkins' schema takes
//! (`junit-4.xsd`). A file is a suite, a stanza a case; a case fails with all
//! findings for which the run fails, and tells the others as its output. Columns
//! count characters from 1.

use std::fmt::Write;

use gutta_checks::words::counted;
use gutta_checks::{Finding, causes};
use gutta_notation::{StanzaKind, visible_line};
use gutta_protocol::{FileId, StanzaId};
use quick_xml::Writer;
use quick_xml::events::{BytesDecl, BytesText, Event};
use rustc_hash::FxHashMap;

use super::{Report, said};
use crate::failure::Failure;
use crate::holder::holder_of;

/// What a case is called that holds what is found in no stanza.
const FILE: &str = "the file itself";

/// A stanza, or what stands in none.
struct Case<'a> {
    name: String,
    failing: Vec<&'a Finding>,
    others: Vec<&'a Finding>,
}

impl Report<'_> {
    /// The findings chosen, and the stanzas in which there are none.
    pub(crate) fn junit(
        &self,
        chosen: impl Fn(&Finding) -> bool,
        fails: impl Fn(&Finding) -> bool,
    ) -> Result<Vec<u8>, Failure> {
        let mut by_stanza: FxHashMap<(FileId, Option<StanzaId>), Vec<&Finding>> =
            FxHashMap::default();
        for finding in self.findings.iter().filter(|found| chosen(found)) {
            let stanza = finding.stanza.filter(|id| self.is_named(*id));
            let held = by_stanza.entry((finding.place.file, stanza)).or_default();
            held.push(finding);
        }
        let suites: Vec<_> = self
            .asked
            .iter()
            .map(|file| {
                let stanzas = self.workspace.stanzas_in(*file);
                let named = stanzas.filter(|id| self.is_named(*id)).map(Some);
                let mut names: FxHashMap<String, usize> = FxHashMap::default();
                let case = |stanza: Option<StanzaId>| {
                    let found = by_stanza.remove(&(*file, stanza)).unwrap_or_default();
                    let (failing, others) = found.into_iter().partition(|found| fails(found));
                    let name = stanza.map_or(FILE.to_owned(), |id| holder_of(self.workspace, id));
                    let count = names.entry(name.clone()).or_default();
                    *count += 1;
                    let name = match count {
                        1 => name,
                        count => format!("{name} ({count})"),
                    };
                    Case {
                        name,
                        failing,
                        others,
                    }
                };
                let cases: Vec<_> = std::iter::once(None).chain(named).map(case).collect();
                (self.shown(*file), cases)
            })
            .collect();
        self.written(&suites)
            .map_err(|error| Failure::new(format!("cannot write XML: {error}")))
    }

    fn is_named(&self, id: StanzaId) -> bool {
        let kind = self.workspace.stanza(id).kind;
        !matches!(
            kind,
            StanzaKind::Preamble | StanzaKind::Unknown | StanzaKind::Use
        )
    }

    fn written(&self, suites: &[(String, Vec<Case<'_>>)]) -> std::io::Result<Vec<u8>> {
        let mut out = Writer::new_with_indent(Vec::new(), b' ', 2);
        out.write_event(Event::Decl(BytesDecl::new("1.0", Some("UTF-8"), None)))?;
        let (tests, failures) = counts(suites.iter().flat_map(|(_, cases)| cases));
        let mut whole = out.create_element("testsuites");
        whole = whole.with_attributes([
            ("name", "gutta"),
            ("tests", tests.as_str()),
            ("failures", failures.as_str()),
            ("errors", "0"),
        ]);
        whole.write_inner_content(|out| {
            for (file, cases) in suites {
                self.suite(out, file, cases)?;
            }
            Ok(())
        })?;
        let mut bytes = out.into_inner();
        bytes.push(b'\n');
        Ok(bytes)
    }

    fn suite(
        &self,
        out: &mut Writer<Vec<u8>>,
        file: &str,
        cases: &[Case<'_>],
    ) -> std::io::Result<()> {
        let file = visible_line(file);
        let (tests, failures) = counts(cases.iter());
        let suite = out.create_element("testsuite").with_attributes([
            ("name", &*file),
            ("tests", tests.as_str()),
            ("failures", failures.as_str()),
            ("errors", "0"),
            ("skipped", "0"),
        ]);
        suite.write_inner_content(|out| {
            for case in cases {
                self.case(out, &file, case)?;
            }
            Ok(())
        })?;
        Ok(())
    }

    fn case(&self, out: &mut Writer<Vec<u8>>, file: &str, case: &Case<'_>) -> std::io::Result<()> {
        let name = visible_line(&case.name);
        let element = out
            .create_element("testcase")
            .with_attributes([("classname", file), ("name", &*name)]);
        if case.failing.is_empty() && case.others.is_empty() {
            element.write_empty()?;
            return Ok(());
        }
        element.write_inner_content(|out| {
            if let Some(first) = case.failing.first() {
                let mut message = visible_line(&first.message).into_owned();
                if let more @ 1.. = case.failing.len() - 1 {
                    let _ = write!(message, " (and {})", counted(more, "other finding"));
                }
                let failure = out
                    .create_element("failure")
                    .with_attributes([("type", first.rule.name), ("message", message.as_str())]);
                failure.write_text_content(BytesText::new(&self.lines_of(&case.failing)))?;
            }
            if !case.others.is_empty() {
                let told = self.lines_of(&case.others);
                let output = out.create_element("system-out");
                output.write_text_content(BytesText::new(&told))?;
            }
            Ok(())
        })?;
        Ok(())
    }

    fn lines_of(&self, findings: &[&Finding]) -> String {
        let mut text = String::new();
        for (finding, cause) in findings.iter().zip(causes(findings)) {
            let (start, _) = self.positions(finding.place);
            let cause = cause.map(|cause| findings[cause]);
            let _ = writeln!(
                text,
                "{}:{}:{}: {} {}: {}{}",
                self.shown(finding.place.file),
                start.line,
                start.column,
                finding.severity.word(),
                finding.rule.name,
                said(finding, "\n  "),
                self.follows_from(finding, cause),
            );
        }
        text
    }
}

/// How many cases there are, and how many of them fail.
fn counts<'a>(cases: impl Iterator<Item = &'a Case<'a>> + Clone) -> (String, String) {
    let failing = cases.clone().filter(|case| !case.failing.is_empty());
    let failing = failing.count().to_string();
    (cases.count().to_string(), failing)
}
