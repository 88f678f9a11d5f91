#![doc = include_str!("twice.md")]

use gutta_notation::MarkKind;

use crate::{Check, Finding, MarkContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "text.twice",
    severity: Severity::Error,
    locked: false,
    page: include_str!("twice.md"),
    check: Check::Mark(check),
};

fn check(context: &MarkContext<'_>) -> Option<Finding> {
    let MarkKind::Twice { first } = context.mark.kind else {
        return None;
    };
    let keyword = context.keyword().unwrap_or("line");
    Some(
        context
            .report(
                &RULE,
                format!("`{keyword}` is stated a second time, but is allowed only once."),
            )
            .related(context.place(first), "it is stated here first")
            .note("Either of the two may be meant, so neither is used. Remove one of them."),
    )
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn one_bag_and_then_another() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order cefuroxime-dose "Cefuroxime"
  drug       cefuroxime
  route      central vein
  mix        1.5 g made up to 50 mL with saline
  mix        750 mg made up to 50 mL with saline
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ text.twice: `mix` is stated a second time, but is allowed only once.
  run        all over 30 min
  then       stop
"#,
        );
    }
}
