//! What could stand at a place of a line that is being written.

use crate::lines::LineKind;
use crate::parse::{Rule, parse};
use crate::read::said;

/// Something that could stand at a place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Next {
    /// One of the notation's own words, or several (`made up to`).
    Word(&'static str),
    /// An amount of drug, or of what holds it.
    Amount,
    /// A volume.
    Volume,
    /// A flow, a dose or a drip.
    Rate,
    /// A dose or a flow.
    Dose,
    /// A strength, a share or an osmolarity.
    Strength,
    /// A step of a pump or an `adjust`.
    Step,
    /// A time.
    Time,
    /// A quantity whose kind the line's other words tell.
    Value,
    /// A plain number.
    Count,
    /// A unit alone.
    Unit,
    /// A name.
    Name,
    /// A rule's name.
    RuleName,
    /// A text in quotes.
    Text,
    /// A date.
    Date,
    /// A route.
    Route,
    /// What a limit measures.
    Measure,
    /// What an `expect` measures.
    ExpectMeasure,
    /// A comma, before one more of what stands before it.
    Comma,
    /// A colon.
    Colon,
}

/// What could stand behind `before`: the line's text after its keyword, up to
/// a blank, a comma or a colon. Empty where that much cannot be read, or is
/// the whole of a line.
#[must_use]
pub fn next(kind: LineKind, before: &str) -> Vec<Next> {
    // No token but those met below begins so, and every other one ends at it.
    const STOP: char = ':';
    let before = before.trim_start_matches([' ', '\t']);
    let special = match kind {
        LineKind::Expect if before.trim().is_empty() => {
            Some(vec![Next::Word("finding"), Next::ExpectMeasure])
        }
        LineKind::Expect if before.trim() == "finding" => Some(vec![Next::RuleName]),
        LineKind::Expect if !before.contains(|found: char| found.is_ascii_digit()) => {
            Some(vec![Next::Value])
        }
        LineKind::Waive if before.is_empty() => Some(vec![Next::RuleName]),
        LineKind::DosedIn if before.is_empty() => Some(vec![Next::Unit]),
        LineKind::Drops if before.trim_end().ends_with(" per") => Some(vec![Next::Unit]),
        LineKind::Drops if !before.trim().is_empty() && !before.contains("per") => {
            Some(vec![Next::Word("per")])
        }
        LineKind::SecondPart => Some(Vec::new()),
        _ => None,
    };
    if let Some(special) = special {
        return special;
    }
    let mut tokens = Vec::new();
    let text = format!("{before}{STOP}");
    let Err(stuck) = parse(kind.row().rule, &text, 0, &mut tokens) else {
        return Vec::new();
    };
    if stuck.at != before.len() {
        return Vec::new();
    }
    let mut found = Vec::new();
    for rule in stuck.tried {
        if let Some(next) = of(rule)
            && !found.contains(&next)
        {
            found.push(next);
        }
    }
    found
}

fn of(rule: Rule) -> Option<Next> {
    Some(match rule {
        Rule::end | Rule::daily => return None,
        Rule::amount => Next::Amount,
        Rule::volume => Next::Volume,
        Rule::rate => Next::Rate,
        Rule::dose => Next::Dose,
        Rule::strength => Next::Strength,
        Rule::step => Next::Step,
        Rule::time => Next::Time,
        Rule::value => Next::Value,
        Rule::count => Next::Count,
        Rule::unit => Next::Unit,
        Rule::name => Next::Name,
        Rule::rule_name => Next::RuleName,
        Rule::text => Next::Text,
        Rule::date => Next::Date,
        Rule::route => Next::Route,
        Rule::measure => Next::Measure,
        Rule::word => Next::ExpectMeasure,
        Rule::comma => Next::Comma,
        Rule::colon => Next::Colon,
        other => Next::Word(said(other).strip_prefix('`')?.strip_suffix('`')?),
    })
}

#[cfg(test)]
mod tests {
    use super::{Next, next};
    use crate::lines::LineKind as K;

    fn words(kind: K, before: &str) -> String {
        let found = next(kind, before);
        let told = found.iter().map(|next| match next {
            Next::Word(word) => format!("`{word}`"),
            other => format!("{other:?}"),
        });
        told.collect::<Vec<_>>().join(", ")
    }

    #[test]
    fn what_could_stand_there() {
        let cases = [
            (K::Run, ""),
            (K::Run, "all "),
            (K::Run, "all at "),
            (K::Run, "50 mL at 5 mL/h "),
            (K::Run, "50 mL at 5 mL/h every 6 h "),
            (K::Mix, "4 mg "),
            (K::Mix, "4 mg made up to "),
            (K::Mix, "4 mg made up to 50 mL "),
            (K::Mix, "4 mg made up to 50 mL with "),
            (K::Adjust, "1 to 5 mg/h "),
            (K::Usual, ""),
            (K::Usual, "dose "),
            (K::Usual, "dose 1 to 2 mg/h "),
            (K::Never, "dose above 2 mg/h "),
            (K::Never, ""),
            (K::Waive, ""),
            (K::Waive, "limit.unusual "),
            (K::Waive, "limit.unusual of "),
            (K::Expect, ""),
            (K::Expect, "finding "),
            (K::Expect, "pump flow "),
            (K::Expect, "flow 3.2 mL/h "),
            (K::With, "saline, "),
            (K::With, "saline "),
            (K::Patient, ""),
            (K::Patient, "weight "),
            (K::Then, ""),
            (K::Route, ""),
            (K::OnlyBy, "central vein, "),
            (K::ReviewBy, ""),
            (K::LineMembers, "proximal: "),
            (K::DosedIn, ""),
            (K::PumpFlow, "0.1 to 200 mL/h "),
        ];
        let told: Vec<_> = cases
            .iter()
            .map(|(kind, before)| format!("{kind:?} {before}| {}", words(*kind, before)))
            .collect();
        insta::assert_snapshot!(told.join("\n"), @r"
    Run | Amount, Comma, `all`, `at`, `over`, `at most`
    Run all | Comma, `at`, `over`, `at most`
    Run all at | Rate
    Run 50 mL at 5 mL/h | Comma, `at`, `over`, `every`, `at most`
    Run 50 mL at 5 mL/h every 6 h | Comma, `for`, `at most`
    Mix 4 mg | Comma, `at most`, `made up to`, `added to`
    Mix 4 mg made up to | Volume
    Mix 4 mg made up to 50 mL | `with`
    Mix 4 mg made up to 50 mL with | Name
    Adjust 1 to 5 mg/h | `by`
    Usual | Measure
    Usual dose | Value, `below`, `up to`
    Usual dose 1 to 2 mg/h | `for`, `in`, `by`, `as`, `aged`, `per day`, `in any`, `after the first`
    Never dose above 2 mg/h | `for`, `in`, `by`, `as`, `aged`, `except`, `per day`, `in any`, `after the first`
    Never | Measure, `in`, `by`, `undiluted`
    Waive | RuleName
    Waive limit.unusual | `of`, `because`, `until`
    Waive limit.unusual of | Measure
    Expect | `finding`, ExpectMeasure
    Expect finding | RuleName
    Expect pump flow | Value
    Expect flow 3.2 mL/h | `at`, `in`, `per day`
    With saline, | Name
    With saline | Comma
    Patient | `weight`, `surface`, `age`
    Patient weight | Value, `below`, `up to`
    Then | `stop`, `renew`, `keep open`
    Route | Route, `any`
    OnlyBy central vein, | Route
    ReviewBy | Date
    LineMembers proximal: | Name
    DosedIn | Unit
    PumpFlow 0.1 to 200 mL/h | `in steps of`
    ");
    }

    #[test]
    fn what_cannot_be_read_goes_on_with_nothing() {
        for before in [
            "all ovr ",
            "\u{1D54F} ",
            "all at 5 mL/h for ever and ",
            "é,",
        ] {
            assert_eq!(next(K::Run, before), []);
        }
    }
}
