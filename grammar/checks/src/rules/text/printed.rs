#![doc = include_str!("printed.md")]

use gutta_notation::ast::WordsKind;
use gutta_notation::{Edit, Fact, Mark, MarkKind, Span, StanzaKind, read_text};

use crate::finding::TextEdit;
use crate::words::all_of;
use crate::{Check, Finding, Fix, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "text.printed",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("printed.md"),
    check: Check::Stanza(check),
};

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    if context.stanza().kind == StanzaKind::Specimen {
        return;
    }
    let style = context.workspace.house.style;
    for span in printed(context) {
        let text = context.text(span);
        let marks = read_text(text, style).marks;
        if marks.is_empty() {
            continue;
        }
        let shown = |mark: &Mark| {
            let found = mark.span.text(text);
            match safe(mark, text) {
                Some(safe) => format!("`{found}` ({safe})"),
                None => format!("`{found}`"),
            }
        };
        let forms: Vec<_> = marks.iter().map(shown).collect();
        let what = match forms.len() {
            1 => "there is a form that has been misread",
            _ => "there are forms that have been misread",
        };
        let message = format!("In this text {what}: {}.", all_of(&forms));
        let mut finding = context
            .finding(&RULE, span, message)
            .note("This text is printed for the bedside exactly as it is. Write quantities in it as in a line.");
        // All together, or none: half a text put right reads as if it were right.
        if marks.iter().all(|mark| mark.fixes.len() == 1) {
            let edits = marks.iter().flat_map(|mark| &mark.fixes);
            let edits = edits.map(|Edit { span: at, text }| TextEdit {
                place: context.place(Span::new(span.start + at.start, span.start + at.end)),
                text: text.clone(),
            });
            finding = finding.fix(Fix {
                title: "write it safely".to_owned(),
                edits: edits.collect(),
                spelling: false,
                doses: None,
            });
        }
        findings.push(finding);
    }
}

/// The texts of a stanza that reach the bedside: its title and its phases',
/// what is written for people, and the reasons of waivers. A `source`, a path
/// and a specimen do not.
fn printed(context: &StanzaContext<'_>) -> Vec<Span> {
    let stanza = context.stanza();
    let title = stanza.title.as_ref().map(|title| title.span);
    let title = title.filter(|_| stanza.kind != StanzaKind::Use);
    let of_lines = stanza.lines.iter().filter_map(|line| match &line.fact {
        Fact::Phase { title, .. } => title.as_ref().map(|title| title.span),
        Fact::Words { kind, text } => (*kind != WordsKind::Source).then_some(text.span),
        Fact::Waive(waive) => waive.because.as_ref().map(|because| because.span),
        _ => None,
    });
    title.into_iter().chain(of_lines).collect()
}

/// What is to be done with a form, in a few words.
fn safe(mark: &Mark, text: &str) -> Option<String> {
    let found = mark.span.text(text);
    let fixed = |edit: &Edit| {
        let at = |place: u32| (place - mark.span.start) as usize;
        let (before, after) = (
            found.get(..at(edit.span.start))?,
            found.get(at(edit.span.end)..)?,
        );
        Some(format!("write `{before}{}{after}`", edit.text))
    };
    match (&mark.kind, mark.fixes.first()) {
        (MarkKind::NoSpace, _) => Some("put a space before the unit".to_owned()),
        (MarkKind::DecimalComma, _) => Some("write a point, or groups of three digits".to_owned()),
        (MarkKind::RatioStrength, _) => Some("write mg/mL".to_owned()),
        (_, Some(edit)) => fixed(edit),
        (_, None) => None,
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn every_text_that_is_printed() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order noradrenaline-steady "Noradrenaline, .1 mcg/kg/min"
                           ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ text.printed: In this text there is a form that has been misread: `.1` (write `0.1`).
  drug       noradrenaline
  area       adult-icu
  route      central vein
  mix        4 mg made up to 50 mL with glucose-5
  run        all at 0.1 mcg/kg/min
  then       renew
  note       "Rescue 5.0 mg; 10U; 20 µg; 1,5 mL; 10000 units; MgSO4 qd"
             ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ text.printed: `5.0` (write `5`), `10U` (write `10 units`), `20 µg` (write `20 mcg`), `1,5` (write a point, or groups of three digits), `10000` (write `10,000`), `MgSO4` (write `magnesium sulfate`) and `qd` (write `every 24 h`).
  goal       "urine above .5 mL/kg/h"
             ^^^^^^^^^^^^^^^^^^^^^^^^ text.printed: `.5`
  monitor    "potassium 4.0 to 5.0 mmol/L"
  source     "Tarnwick formulary 2026, 2.10, IU"
"#,
        );
    }
}
