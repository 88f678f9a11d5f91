#![doc = include_str!("meet.md")]

use gutta_protocol::sets::{Objection, Word};

use super::together;
use crate::{Check, Finding, Rule, Severity, StanzaContext};

pub(crate) static RULE: Rule = Rule {
    name: "set.meet",
    severity: Severity::Error,
    locked: false,
    page: include_str!("meet.md"),
    check: Check::Stanza(check),
};

fn check(context: &StanzaContext<'_>, findings: &mut Vec<Finding>) {
    let Some(set) = together(context) else { return };
    for meeting in set.meetings() {
        let [one, other] = meeting.names;
        let (what, against) = match &meeting.word {
            Word::Against(what) => (what, true),
            Word::Unknown(what) => (what, false),
            Word::For => continue,
        };
        let told = if against {
            "are not compatible"
        } else {
            "are not known to be compatible"
        };
        let message = format!(
            "{} and {} {told}, and they meet in the line `{}`: `{}` and `{}` both run through it.",
            what.drug, what.other, meeting.line.value, one.value, other.value
        );
        let mut finding = context
            .finding(&RULE, other.span, message)
            .related(context.place(one.span), "the other order in this line");
        finding = rule_of_drug(context, finding, what);
        finding = if against {
            finding.note("Put one of them on another line.")
        } else {
            finding.severity(Severity::Warning).note(format!(
                "Put one of them on another line. If a source says that they are compatible, write it in the drug's stanza: `with {}`.",
                what.other
            ))
        };
        findings.push(finding);
    }
}

fn rule_of_drug(context: &StanzaContext<'_>, finding: Finding, what: &Objection) -> Finding {
    let workspace = context.workspace;
    let (span, label) = match what.span {
        Some(span) => (span, "the drug's rule"),
        None => (workspace.stanza(what.id).header, "the drug's stanza"),
    };
    finding.related(workspace.place(what.id, span), label)
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    const ORDERS: &str = r#"
use "tarnwick.gtt"

drug furosemide "Furosemide"
  supplied   250 mg in 25 mL
  with       saline, morphine

drug morphine "Morphine"
  supplied   10 mg in 1 mL
  with       saline

drug amiodarone "Amiodarone"
  supplied   150 mg in 3 mL
  with       glucose-5
  not with   saline

order furosemide-steady "Furosemide"
  drug       furosemide
  route      central vein
  undiluted  25 mL
  run        all at 10 mg/h
  then       renew

order morphine-steady "Morphine"
  drug       morphine
  route      central vein
  mix        50 mg made up to 50 mL with saline
  run        all at 2 mg/h
  then       renew

order amiodarone-steady "Amiodarone"
  drug       amiodarone
  route      central vein
  mix        300 mg made up to 250 mL with glucose-5
  run        all at 30 mg/h
  then       renew

order midazolam-sedation "Midazolam"
  drug       midazolam
  route      central vein
  undiluted  10 mL
  run        all at 2 mg/h
  then       renew

order saline-steady "Sodium chloride 0.9 %"
  route      central vein
  hang       1 L of saline
  run        all at 40 mL/h
  then       renew
"#;

    #[test]
    fn by_the_other_drugs_word_and_by_the_diluent() {
        assert_findings(&format!(
            r#"{ORDERS}
set known "Known to go together"
  include    furosemide-steady, morphine-steady, saline-steady, amiodarone-steady
  line       proximal: furosemide-steady, morphine-steady, saline-steady
  line       distal: amiodarone-steady

set diluted-in-it "Meets the other's diluent"
  include    morphine-steady, amiodarone-steady
  line       proximal: morphine-steady, amiodarone-steady
                                        ^^^^^^^^^^^^^^^^^ set.meet: amiodarone and saline are not compatible, and they meet in the line `proximal`

set fluid "Meets a fluid"
  include    saline-steady, amiodarone-steady
  line       proximal: amiodarone-steady, saline-steady
                                          ^^^^^^^^^^^^^ set.meet: are not compatible
"#
        ));
    }

    #[test]
    fn where_nothing_is_known() {
        assert_findings(&format!(
            r#"{ORDERS}
set unknown "Nothing is known"
  include    morphine-steady, midazolam-sedation
  line       proximal: morphine-steady, midazolam-sedation
                                        ^^^^^^^^^^^^^^^^^^ set.meet: morphine and midazolam are not known to be compatible
"#
        ));
    }
}
