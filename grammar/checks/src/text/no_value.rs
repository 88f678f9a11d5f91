#![doc = include_str!("no_value.md")]

use gutta_notation::{MarkKind, NoValue};

use crate::{Check, Finding, MarkContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "text.no-value",
    severity: Severity::Error,
    locked: true,
    page: include_str!("no_value.md"),
    check: Check::Mark(check),
};

fn check(context: &MarkContext<'_>) -> Option<Finding> {
    let MarkKind::NoValue(reason) = context.mark.kind else {
        return None;
    };
    let found = context.marked();
    let (wrong, advice) = match reason {
        NoValue::LeadingZero => (
            "begins with a zero",
            "It may be a stray zero, or a point may be missing. Write `5` or `0.5`.",
        ),
        NoValue::TrailingPoint => (
            "ends in a point",
            "A digit may be missing after the point. Write `5` or `5.2`.",
        ),
        NoValue::Fraction => (
            "is a fraction",
            "`1/2` has been read as 1 or 2. Write `0.5`.",
        ),
        NoValue::Sign => (
            "has a sign",
            "Nothing in an order is below zero. Write the number alone; for a range write `1 to 4`.",
        ),
        NoValue::Exponent => (
            "is written with an exponent",
            "Write the number out, with its thousands in groups.",
        ),
        NoValue::TooManyDigits => (
            "has more than 12 digits",
            "No clinical number needs so many. Choose a larger unit.",
        ),
        NoValue::Zero => (
            "is nothing at all",
            "Zero stands only at the lower end of a range. To give nothing for a while, end the run.",
        ),
        NoValue::FallingRange => ("is a range that falls", "Write the smaller end first."),
        NoValue::MixedRange => (
            "is a range with ends of two kinds",
            "Both ends of a range measure the same thing.",
        ),
        NoValue::Date => (
            "is no date of the calendar",
            "Write a date that exists as year, month and day: `2026-11-25`.",
        ),
        NoValue::CompoundTime => (
            "is no time",
            "Write the larger unit first, each unit once, in whole numbers: `2 h 30 min`.",
        ),
        NoValue::FallingList => (
            "is a list that does not rise",
            "Write the steps from the lowest to the highest.",
        ),
        NoValue::Malformed => (
            "looks like a number and is none",
            "Write digits with at most one point.",
        ),
    };
    Some(
        context
            .report(&RULE, format!("`{found}` {wrong}, so no value was read."))
            .note(advice),
    )
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn a_leading_zero() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order cefuroxime-dose "Cefuroxime"
  drug       cefuroxime
  route      central vein
  mix        1.5 g made up to 50 mL with saline
  run        all over 030 min
                      ^^^ text.no-value: begins with a zero
  then       stop
"#,
        );
    }
}
