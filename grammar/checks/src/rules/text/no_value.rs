#![doc = include_str!("no_value.md")]

use std::borrow::Cow;

use gutta_notation::{MarkKind, NoValue, Style};
use gutta_quantity::Exact;

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
    let style = context.style();
    let (wrong, advice): (&str, Cow<'_, str>) = match reason {
        NoValue::LeadingZero => ("begins with a zero", leading_zero(found, style).into()),
        NoValue::TrailingPoint => ("ends in a point", trailing_point(found, style).into()),
        NoValue::Fraction => (
            "is a fraction",
            "A fraction has been misread as one of its two numbers. Write it as a decimal or in a smaller unit, from the source.".into(),
        ),
        NoValue::Sign => (
            "has a sign",
            "Nothing in an order is below zero. Write the number without a sign; for a range write both ends with `to` between them.".into(),
        ),
        NoValue::Exponent => (
            "is written with an exponent",
            "Write the number out, with its thousands in groups.".into(),
        ),
        NoValue::TooManyDigits => (
            "has more than 12 digits",
            "No clinical number needs so many digits. Choose a larger unit.".into(),
        ),
        NoValue::Zero => (
            "is zero",
            "Zero is allowed only as the lower end of a range. To give nothing for a while, end the run.".into(),
        ),
        NoValue::FallingRange => ("is a range with the larger end first", "Write the smaller end first.".into()),
        NoValue::MixedRange => (
            "is a range with ends of two kinds",
            "Both ends of a range must be of the same kind.".into(),
        ),
        NoValue::Date => (
            "is not a date in the calendar",
            "Write a date that exists, as year, month and day (`YYYY-MM-DD`).".into(),
        ),
        NoValue::CompoundTime => (
            "is not a time",
            "Write the larger unit first, each unit once, in whole numbers.".into(),
        ),
        NoValue::FallingList => (
            "is a list that is not in rising order",
            "Write the steps from the lowest to the highest.".into(),
        ),
        NoValue::Malformed => (
            "looks like a number but is not one",
            "Write digits with at most one point.".into(),
        ),
    };
    Some(
        context
            .report(&RULE, format!("`{found}` {wrong}, so no value was read."))
            .note(advice),
    )
}

/// The numbers that may have been meant, from the digits found.
fn leading_zero(found: &str, style: Style) -> String {
    let rest = found.trim_start_matches('0');
    let point = if rest.starts_with('.') { "0" } else { "" };
    let stray = number(&format!("{point}{rest}"), style);
    let behind = found.strip_prefix('0').unwrap_or(found);
    let pointed = number(&format!("0.{behind}"), style);
    match (stray, pointed) {
        (Some(stray), Some(pointed)) => format!(
            "It may be a stray zero, or a point may be missing: `{stray}` or `{pointed}`. Check in the source, and write the one that is meant."
        ),
        (Some(stray), None) => format!(
            "It may be a stray zero, or a mistyped digit. Check in the source; write `{stray}` only if the zero is stray."
        ),
        (None, _) => "Check in the source which number is meant, and write that.".to_owned(),
    }
}

fn trailing_point(found: &str, style: Style) -> String {
    let whole: String = found.chars().filter(char::is_ascii_digit).collect();
    match number(&whole, style) {
        Some(whole) => format!(
            "A digit may be missing after the point. Check in the source; write `{whole}` only if nothing is missing."
        ),
        None => "A digit may be missing after the point. Check in the source.".to_owned(),
    }
}

/// The number as it would be written; none for zero, or where it is none.
fn number(text: &str, style: Style) -> Option<String> {
    let value = Exact::parse_decimal(text).filter(|value| !value.is_zero())?;
    style.decimal_exact(&value)
}

#[cfg(test)]
mod tests {
    use crate::harness::{assert_findings, findings};

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

    /// What is said of a number of an order.
    fn advice(number: &str) -> String {
        let text = format!(
            "use \"tarnwick.gtt\"\n\norder saline-bag \"Saline\"\n  route peripheral vein\n  hang 1 L of saline\n  run all at {number} mL/h\n  then stop\n"
        );
        let found = findings(&text)
            .into_iter()
            .find(|finding| finding.rule.name == "text.no-value");
        found.unwrap().notes.remove(0)
    }

    #[test]
    fn the_numbers_are_those_of_the_case() {
        for (number, told) in [
            ("075", "a point may be missing: `75` or `0.75`."),
            ("030", "a point may be missing: `30` or `0.3`."),
            ("007", "a point may be missing: `7` or `0.07`."),
            ("020000", "a point may be missing: `20,000` or `0.2`."),
            ("05.5", "write `5.5` only if the zero is stray."),
            ("00.5", "write `0.5` only if the zero is stray."),
            ("00", "Check in the source which number is meant"),
            ("75.", "write `75` only if nothing is missing."),
            ("20,000.", "write `20,000` only if nothing is missing."),
            ("0.", "after the point. Check in the source."),
        ] {
            let advice = advice(number);
            assert!(advice.contains(told), "{number}: {advice}");
        }
    }

    #[test]
    fn no_figure_where_none_was_found() {
        for number in ["3/4", "-5", "\u{bd}"] {
            let advice = advice(number);
            assert!(!advice.contains(|c: char| c.is_ascii_digit()), "{advice}");
        }
    }
}
