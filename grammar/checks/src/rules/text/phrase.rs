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
            format!("`{found}` has a capital letter; keywords are written in small letters.")
        }
        Phrase::Indent => {
            "This line belongs to the stanza above it and should be indented.".to_owned()
        }
        Phrase::Lid => format!(
            "`{found}` is read, but a maximum is written after the amount, with a comma: `20 mg/kg, at most 2 g`."
        ),
        Phrase::UnitOrder => {
            format!(
                "`{found}` has the time before the weight; weight or body surface area comes first."
            )
        }
        Phrase::Spelling => format!("`{found}` is read, but the standard spelling is different."),
        Phrase::PerDay => format!(
            "`{found}` is read as a total per day; the standard form is `total`, the amount, and then `per day`."
        ),
        Phrase::Comma => {
            "The comma is ignored; one is written here only after `at most …`.".to_owned()
        }
        Phrase::WordOrder => {
            format!("`{found}` is read, but these words have another standard order.")
        }
    };
    Some(
        context
            .report_spelling(&RULE, message)
            .note("A single way of writing is read faster, and a comparison of two versions then shows only what changed for the patient."),
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
