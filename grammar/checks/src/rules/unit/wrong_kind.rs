#![doc = include_str!("wrong_kind.md")]

use gutta_notation::{Span, Style, read_quantity};
use gutta_protocol::model::problem::{Problem, ProblemKind};
use gutta_quantity::{Atom, Unit, units};

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
        let told = told(problem, |span| context.text(span), "", context.style());
        wrong.extend(
            told.map(|(message, note)| context.finding(&RULE, problem.span, message).note(note)),
        );
    }
    findings.extend(in_full(wrong, |finding| {
        context.workspace.text_at(finding.place)
    }));
}

fn check_reference(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let mut wrong = Vec::new();
    for problem in problems::of_reference(context) {
        let told = told(problem, |span| context.text(span), LEANING, context.style())
            .or_else(|| open(problem));
        wrong.extend(
            told.map(|(message, note)| context.finding(&RULE, problem.span, message).note(note)),
        );
    }
    findings.extend(in_full(wrong, |finding| {
        context.workspace.text_at(finding.place)
    }));
}

/// Of the two ends of `40 to 60 mL` the second is told, where the unit stands.
fn in_full<'a>(
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
    wrong
        .into_iter()
        .zip(bare)
        .filter(|(_, bare)| !bare)
        .map(|(finding, _)| finding)
}

/// What stands in a reference is leant on by orders.
const LEANING: &str = " from whatever depends on it";

/// What is wrong, and what to do. `leaning`: of what nothing is derived, if
/// not of the order itself.
fn told<'a>(
    problem: &Problem,
    text: impl Fn(Span) -> &'a str,
    leaning: &str,
    style: Style,
) -> Option<(String, String)> {
    let ProblemKind::WrongKind { found, wanted } = &problem.kind else {
        return None;
    };
    let written = text(problem.span);
    let message = format!("`{written}` is {found}, but {wanted} is needed here.");
    let per_time = match (*wanted, timed(written, style)) {
        ("a flow, a dose or a drip rate" | "a dose or a flow" | "a flow or a dose", Some(unit)) => {
            let flow = if unit.dimension().is_flow() {
                String::new()
            } else {
                format!(" or write a flow (`{}`)", style.unit(units::ML_PER_H))
            };
            Some(format!(
                "State the time in which it is given (such as `{}`){flow}, from the source. Until",
                style.unit(unit)
            ))
        }
        _ => None,
    };
    let what = per_time.unwrap_or_else(|| format!("Write {wanted}; until"));
    Some((
        message,
        format!("{what} then nothing is calculated{leaning}."),
    ))
}

/// An amount's unit per hour.
fn timed(written: &str, style: Style) -> Option<Unit> {
    let unit = read_quantity(written, style)?.unit.known()?;
    let amount = unit.dimension().is_amount() || unit.dimension().is_volume();
    unit.per(Atom::H).filter(|_| amount)
}

/// A range that a reference leaves open where it must end.
fn open(problem: &Problem) -> Option<(String, String)> {
    match &problem.kind {
        ProblemKind::Missing { what } => Some((
            format!("This range lacks {what}."),
            format!("Write {what}; until then nothing is calculated{LEANING}."),
        )),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::{assert_findings, findings};

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
             ^^^^^^^ unit.wrong-kind: `80 mL/h` is a flow, but an amount of drug, or a volume of it is needed here.
                                ^^^^^^ unit.wrong-kind: `100 mg` is a mass, but a volume is needed here.
  prime      20 min
             ^^^^^^ unit.wrong-kind
  run        all over 10 mL/h
                      ^^^^^^^ unit.wrong-kind: a time
  then       stop
"#,
        );
    }

    #[test]
    fn what_to_do_is_by_what_stands_there() {
        let order = |lines: &str| {
            format!(
                "use \"tarnwick.gtt\"\n\norder a \"A\"\n  drug pantoprazole\n  route central vein\n{lines}  then stop\n"
            )
        };
        for (lines, told) in [
            (
                "  mix 80 mg made up to 100 mL with saline\n  run all at 8 mg\n",
                "State the time in which it is given (such as `mg/h`) or write a flow (`mL/h`), from the source. Until then nothing is calculated.",
            ),
            (
                "  mix 80 mg made up to 100 mL with saline\n  run all at 8 mL\n",
                "State the time in which it is given (such as `mL/h`), from the source. Until then nothing is calculated.",
            ),
            (
                "  mix 80 mg made up to 100 mL with saline\n  run all at 8 h\n",
                "Write a flow, a dose or a drip rate; until then nothing is calculated.",
            ),
            (
                "  mix 80 mg made up to 100 mg with saline\n  run all over 8 h\n",
                "Write a volume; until then nothing is calculated.",
            ),
        ] {
            let found = findings(&order(lines))
                .into_iter()
                .find(|finding| finding.rule.name == "unit.wrong-kind");
            assert_eq!(found.unwrap().notes, [told], "{lines}");
        }
    }

    #[test]
    fn what_stands_in_a_reference() {
        assert_findings(
            r#"
use "tarnwick.gtt"

pump bedside "Bedside pump"
  flow       1 to 900 mL in steps of 1 mL/h
                  ^^^^^^ unit.wrong-kind: `900 mL` is a volume, but a flow is needed here.
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
             ^^ unit.wrong-kind: `mg` is a mass, but a dose (drug per time) is needed here.
  supplied   50 mL in 50 mL
             ^^^^^ unit.wrong-kind
  never dose above 4 mg
                   ^^^^ unit.wrong-kind
"#,
        );
    }
}
