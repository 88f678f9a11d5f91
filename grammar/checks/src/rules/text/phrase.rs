#![doc = include_str!("phrase.md")]

use gutta_notation::{MarkKind, Phrase};

use crate::{Check, Finding, MarkContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "text.phrase",
    severity: Severity::Warning,
    locked: false,
    page: include_str!("phrase.md"),
    check: Check::Mark(check),
};

fn check(context: &MarkContext<'_>) -> Option<Finding> {
    let MarkKind::Phrase(phrase) = context.mark.kind else {
        return None;
    };
    let found = context.marked();
    let message = match phrase {
        Phrase::Capital => {
            format!("`{found}` is written with a capital; the notation uses small letters.")
        }
        Phrase::Indent => {
            "This line belongs to the stanza above it and should be indented.".to_owned()
        }
        Phrase::Lid => format!(
            "The lid `{found}` is read, but a lid follows what it bounds, after a comma: `20 mg/kg, at most 2 g`."
        ),
        Phrase::UnitOrder => {
            format!("`{found}` names the time before the weight; weight or surface comes first.")
        }
        Phrase::Spelling => format!("`{found}` is read, but the notation spells it otherwise."),
        Phrase::PerDay => format!(
            "`{found}` is read as a total per day; the notation writes `total`, the amount, and then `per day`."
        ),
        Phrase::Comma => {
            "The comma is read past; the notation writes one here only after a lid.".to_owned()
        }
        Phrase::WordOrder => {
            format!("`{found}` is read, but the notation puts these words in another order.")
        }
    };
    Some(
        context
            .report_spelling(&RULE, message)
            .note("One way of writing is read faster, and a comparison of two versions shows only what changed for the patient."),
    )
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn a_capital() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order cefuroxime-dose "Cefuroxime"
  drug       cefuroxime
  route      central vein
  mix        1.5 g made up to 50 mL with saline
  Run        all over 30 min
  ^^^ text.phrase: capital
  then       stop
"#,
        );
    }
}
