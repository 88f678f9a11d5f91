#![doc = include_str!("wrong_kind.md")]

use gutta_notation::Span;
use gutta_protocol::model::problem::{Problem, ProblemKind};

use crate::{Check, Finding, OrderContext, Rule, Severity, StanzaContext, problems};

pub(crate) static RULE: Rule = Rule {
    name: "unit.wrong-kind",
    severity: Severity::Error,
    locked: false,
    page: include_str!("wrong_kind.md"),
    check: Check::StanzaAndOrder(check_reference, check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let mut wrong = Vec::new();
    for problem in problems::of_order(context) {
        let message = message(problem, |span| context.text(span));
        wrong.extend(message.map(|message| context.finding(&RULE, problem.span, message)));
    }
    findings.extend(advised(wrong, |finding| {
        context.workspace.text_at(finding.place)
    }));
}

fn check_reference(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let mut wrong = Vec::new();
    for problem in problems::of_reference(context) {
        let message = message(problem, |span| context.text(span)).or_else(|| open(problem));
        wrong.extend(message.map(|message| context.finding(&RULE, problem.span, message)));
    }
    findings.extend(advised(wrong, |finding| {
        context.workspace.text_at(finding.place)
    }));
}

/// Of the two ends of `40 to 60 mL` the second is told, where the unit stands.
fn advised<'a>(
    wrong: Vec<Finding>,
    text: impl Fn(&Finding) -> &'a str,
) -> impl Iterator<Item = Finding> {
    let several = wrong.len() > 1;
    let bare: Vec<_> = wrong
        .iter()
        .map(|finding| {
            several
                && !text(finding).contains(' ')
                && text(finding).starts_with(|c: char| c.is_ascii_digit())
        })
        .collect();
    let advice = "Until it is set right, nothing is derived from what leans on it.";
    wrong
        .into_iter()
        .zip(bare)
        .filter(|(_, bare)| !bare)
        .map(move |(finding, _)| finding.note(advice))
}

fn message<'a>(problem: &Problem, text: impl Fn(Span) -> &'a str) -> Option<String> {
    let ProblemKind::WrongKind { found, wanted } = &problem.kind else {
        return None;
    };
    let written = text(problem.span);
    Some(format!("`{written}` is {found}, where {wanted} belongs."))
}

/// A range that a reference leaves open where it must end.
fn open(problem: &Problem) -> Option<String> {
    match &problem.kind {
        ProblemKind::Missing { what } => Some(format!("This range lacks {what}.")),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn what_stands_in_an_order() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order pantoprazole-steady "Pantoprazole"
  drug       pantoprazole
  route      central vein
  pump       syringe
  mix        80 mL/h made up to 100 mg with saline
             ^^^^^^^ unit.wrong-kind: `80 mL/h` is a flow, where an amount of drug, or a volume of it belongs.
                                ^^^^^^ unit.wrong-kind: `100 mg` is a mass, where a volume belongs.
  prime      20 min
             ^^^^^^ unit.wrong-kind
  run        all over 10 mL/h
                      ^^^^^^^ unit.wrong-kind: a time
  then       stop
"#,
        );
    }

    #[test]
    fn what_stands_in_a_reference() {
        assert_findings(
            r#"
use "tarnwick.gtt"

pump bedside "Bedside pump"
  flow       1 to 900 mL in steps of 1 mL/h
                  ^^^^^^ unit.wrong-kind: `900 mL` is a volume, where a flow belongs.
  volume     up to 5 h
                   ^^^ unit.wrong-kind

giving-set ward-line "Giving set"
  priming    18 mg
             ^^^^^ unit.wrong-kind

area ward-two "Ward"
  patient    weight 40 to 60 mL
                          ^^^^^ unit.wrong-kind
  ceiling    25 mg/h
             ^^^^^^^ unit.wrong-kind

solution glucose-20 "Glucose 20 %"
  contains   glucose 200 mg
                     ^^^^^^ unit.wrong-kind
  osmolarity 1110 mg/mL
             ^^^^^^^^^^ unit.wrong-kind

drug alteplase "Alteplase"
  dosed in   mg
             ^^ unit.wrong-kind: `mg` is a mass, where a dose (drug per time) belongs.
  supplied   50 mL in 50 mL
             ^^^^^ unit.wrong-kind
  never dose above 4 mg
                   ^^^^ unit.wrong-kind
"#,
        );
    }
}
