#![doc = include_str!("missing.md")]

use gutta_notation::MarkKind;

use crate::words::{any_of, quoted};
use crate::{Check, Finding, MarkContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "unit.missing",
    severity: Severity::Error,
    locked: false,
    page: include_str!("missing.md"),
    check: Check::Mark(check),
};

fn check(context: &MarkContext<'_>) -> Option<Finding> {
    let MarkKind::MissingUnit { fits } = &context.mark.kind else {
        return None;
    };
    let number = context.marked();
    let fitting = if fits.is_empty() {
        String::new()
    } else {
        format!(" Here {} would fit.", any_of(&quoted(fits)))
    };
    Some(
        context
            .report(&RULE, format!("`{number}` has no unit.{fitting}"))
            .note("A number alone is read by each reader in the unit that they are used to. Write the unit."),
    )
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn a_number_alone() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order saline-litre "Saline"
  route      peripheral vein
  hang       1 L of saline
  run        all at 125
                    ^^^ unit.missing: `mL/h`
  then       stop
"#,
        );
    }
}
