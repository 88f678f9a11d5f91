#![doc = include_str!("pounds.md")]

use crate::{Check, Finding, MarkContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "text.pounds",
    severity: Severity::Error,
    locked: false,
    page: include_str!("pounds.md"),
    check: Check::Mark(check),
};

fn check(context: &MarkContext<'_>) -> Option<Finding> {
    let weight = context.marked();
    // Inwards, patients of the range would be left out.
    let round = if weight.contains(" to ") {
        " Then round the low end down and the high end up to what the scales show."
    } else {
        ""
    };
    Some(
        context
            .report(
                &RULE,
                format!("`{weight}` is in pounds or ounces; it was read exactly, 1 lb as 0.45359237 kg."),
            )
            .note(format!(
                "A weight in pounds that is taken for kilograms more than doubles every dose per kg. Write it in kg.{round}"
            )),
    )
}

#[cfg(test)]
mod tests {
    use crate::harness::findings;

    #[test]
    fn both_ends_of_a_range_are_rounded_outwards() {
        let note = |weight: &str| {
            let text = format!(
                "use \"tarnwick.gtt\"\n\norder a \"A\"\n  patient weight {weight}\n  route peripheral vein\n  hang 1 L of saline\n  run all over 8 h\n  then stop\n"
            );
            let found = findings(&text)
                .into_iter()
                .find(|finding| finding.rule.name == "text.pounds");
            found.unwrap().notes.remove(0)
        };
        assert!(
            note("110 to 220 lb")
                .ends_with("round the low end down and the high end up to what the scales show.")
        );
        assert!(note("up to 220 lb").ends_with("Write it in kg."));
    }
}
