#![doc = include_str!("never.md")]

use gutta_protocol::derive::At;

use super::breach::{finding, worst};
use crate::{Check, Finding, OrderContext, Rule, Severity};

pub(crate) static RULE: Rule = Rule {
    name: "limit.never",
    severity: Severity::Error,
    locked: true,
    page: include_str!("never.md"),
    check: Check::Order(check),
};

fn check(context: &OrderContext<'_>, findings: &mut Vec<Finding>) {
    let Ok(values) = &context.analysis.values else {
        return;
    };
    for breach in worst(context, |breach| {
        !breach.bound.usual && breach.reading.at == At::Start
    }) {
        let found = finding(
            context,
            &RULE,
            breach,
            values,
            "the absolute limit (`never`)",
        );
        findings.push(found.note("Change the order. Only the drug's own stanza can state an exception (`except`), and only with a source."));
    }
}

#[cfg(test)]
mod tests {
    use crate::harness::assert_findings;

    #[test]
    fn a_dose_beyond_the_bound() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order noradrenaline-high "Noradrenaline"
  drug       noradrenaline
  area       adult-icu
  route      central vein
  pump       syringe
  mix        4 mg made up to 50 mL with glucose-5
  run        all at 2.5 mcg/kg/min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ flow.outside-pump
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.unusual: more than the usual maximum of 1 mcg/kg/min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: The dose of noradrenaline is 2.5 mcg/kg/min; never above 2 mcg/kg/min.
                    ^^^^^^^^^^^^^^ limit.slip: by `0.25 mcg/kg/min` (the point one place to the left)
  then       renew
"#,
        );
    }

    /// 20 mmol added to a litre with 40 mmol of its own: 60 mmol in 1,010 mL
    /// are 0.0594 mmol/mL, 15 mmol/h over 4 h and 60 mmol at once, by hand.
    #[test]
    fn an_electrolyte_counts_with_what_the_solution_brings_of_it() {
        assert_findings(
            r#"
use "tarnwick.gtt"

solution saline-potassium "Sodium chloride 0.9 % with potassium 40 mmol/L"
  contains   sodium 0.154 mmol/mL
  contains   potassium 0.04 mmol/mL
  contains   chloride 0.194 mmol/mL

drug kalium "Potassium chloride, invented"
  dosed in   mmol/h
  supplied   20 mmol in 10 mL
  contains   potassium 2 mmol/mL
  contains   chloride 2 mmol/mL
  with       saline-potassium, saline
  usual dose       2 to 10 mmol/h
  never dose       above 10 mmol/h
  never single dose above 40 mmol
  never strength   above 0.04 mmol/mL by peripheral vein

order kalium-into-kalium "Potassium into potassium"
  drug       kalium
  area       ward
  route      peripheral vein
  pump       volumetric
  mix        20 mmol added to 1 L of saline-potassium
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: The strength of kalium is 0.0594 mmol/mL; never above 0.04 mmol/mL.
  run        all over 4 h
  ^^^^^^^^^^^^^^^^^^^^^^^ limit.never: The dose of kalium is 15 mmol/h; never above 10 mmol/h.
  ^^^^^^^^^^^^^^^^^^^^^^^ limit.unusual
  ^^^^^^^^^^^^^^^^^^^^^^^ limit.never: 60 mmol; never above 40 mmol.
  then       stop

order kalium-into-saline "Potassium into saline, whose chloride is not counted"
  drug       kalium
  area       ward
  route      peripheral vein
  pump       volumetric
  mix        20 mmol added to 1 L of saline
  run        all over 4 h
  then       stop
"#,
        );
    }

    /// 20 mg/kg pass 1.5 g above 75 kg, and 0.1 mg/kg/min 8 mg/min above 80 kg,
    /// by hand. What is offered reads, and keeps the limit.
    #[test]
    fn a_maximum_that_was_left_out_is_offered() {
        let text = |line: &str| {
            format!(
                r#"
use "tarnwick.gtt"

drug capped "Capped, invented"
  supplied   1 g in 10 mL
  with       saline
  usual dose 0.05 to 0.2 mg/kg/min
  never dose above 8 mg/min
  never single dose above 1.5 g

order capped-dose "Capped"
  drug       capped
  area       ward
  patient    weight 40 to 100 kg
  route      central vein
  pump       volumetric
  review by  2030-01-01
{line}"#
            )
        };
        for (lines, end, mended) in [
            (
                "  mix        20 mg/kg made up to 250 mL with saline\n  run        all over 5 h\n  then       stop\n",
                "at most 1.5 g",
                "20 mg/kg, at most 1.5 g, made up",
            ),
            (
                "  mix        1 g made up to 250 mL with saline\n  run        all at 0.1 mg/kg/min\n  then       renew\n",
                "at most 8 mg/min",
                "0.1 mg/kg/min, at most 8 mg/min",
            ),
        ] {
            let text = text(lines);
            let found = crate::harness::findings(&text);
            let never = found
                .iter()
                .find(|finding| finding.rule.name == "limit.never");
            let fix = &never.unwrap().fixes[0];
            assert!(
                never.unwrap().notes.iter().any(|note| note.contains(end)),
                "{never:?}"
            );
            let fixed = crate::fixes::apply(&text, &[fix]);
            assert!(fixed.contains(mended), "{fixed}");
            let left: Vec<_> = crate::harness::findings(&fixed)
                .into_iter()
                .filter(|finding| finding.severity >= crate::Severity::Warning)
                .collect();
            assert!(left.is_empty(), "{left:?}");
        }
    }

    /// What is offered beside each `never` of an order.
    fn offered(limits: &str, lines: &str) -> Vec<(String, Vec<String>)> {
        let text = format!(
            r#"
use "tarnwick.gtt"

drug capped "Capped, invented"
  supplied   1 g in 10 mL
  with       saline
{limits}

order a "A"
  drug       capped
  area       ward
  patient    weight 40 to 120 kg
  route      central vein
  pump       volumetric
{lines}"#
        );
        let found = crate::harness::findings(&text).into_iter();
        let found = found.filter(|finding| finding.rule.name == "limit.never");
        let mut offered: Vec<_> = found
            .map(|finding| {
                let limit = finding.related[0].place.span;
                let limit = &text[limit.start as usize..limit.end as usize];
                let fixes = finding.fixes.iter();
                let fixes = fixes.map(|fix| crate::fixes::apply(&text, &[fix]));
                let caps = fixes.map(|fixed| {
                    let cap = fixed.split("at most ").nth(1).unwrap();
                    cap.split([',', '\n']).next().unwrap().to_owned()
                });
                (limit.to_owned(), caps.collect())
            })
            .collect();
        offered.sort();
        offered
    }

    /// 30 mg/kg are 3.6 g at 120 kg, once a day or three times, by hand: with 2 g
    /// each time it would be 6 g a day.
    #[test]
    fn only_a_maximum_that_keeps_the_limit_is_offered() {
        let limits = "  never single dose above 3 g\n  never total above 2 g per day";
        let run = |how: &str| {
            format!(
                "  mix        30 mg/kg made up to 250 mL with saline\n  run        all over 1 h{how}\n"
            )
        };
        let (single, total) = (
            "never single dose above 3 g",
            "never total above 2 g per day",
        );
        let caps = |cap: &[&str]| cap.iter().map(|cap| (*cap).to_owned()).collect();
        assert_eq!(
            offered(limits, &run("\n  then       stop")),
            [
                (single.to_owned(), caps(&["2 g"])),
                (total.to_owned(), caps(&["2 g"])),
            ],
        );
        assert_eq!(
            offered(limits, &run(" every 8 h")),
            [
                (single.to_owned(), caps(&["3 g"])),
                (total.to_owned(), caps(&[])),
            ],
        );
    }

    /// 0.1 mg/kg/min are 12 mg/min and 720 mg/h at 120 kg; 400 mg/h are less than
    /// 8 mg/min, by hand. What two runs give together no maximum of one holds.
    #[test]
    fn of_several_maxima_the_one_that_keeps_all_limits() {
        let limits = "  never dose above 8 mg/min\n  never dose above 400 mg/h";
        let lines = "  mix        1 g made up to 250 mL with saline\n  run        all at 0.1 mg/kg/min\n  then       renew\n";
        let caps = |limits, lines| -> Vec<_> {
            let offered = offered(limits, lines).into_iter();
            offered.map(|(_, caps)| caps).collect()
        };
        assert_eq!(caps(limits, lines), [["400 mg/h"], ["400 mg/h"]]);
        let limits = "  never single dose above 1.2 g\n  never interval below 8 h";
        let lines = "  phase      a\n    mix      9 mg/kg added to 100 mL of saline\n    run      all over 1 h every 12 h for 2 doses\n  phase      b\n    mix      9 mg/kg added to 100 mL of saline\n    run      all over 2 h every 24 h for 3 doses\n";
        assert_eq!(caps(limits, lines), [Vec::<String>::new()]);
    }

    #[test]
    fn the_bound_itself_is_allowed() {
        assert_findings(
            r#"
use "tarnwick.gtt"

order magnesium-fast "Magnesium"
  drug       magnesium-sulfate
  area       ward
  route      peripheral vein
  pump       volumetric
  mix        9 g made up to 200 mL with saline
  run        all over 1 h
  then       stop
"#,
        );
    }

    /// All of a bag over a time is its amount over that time, whatever volume
    /// it is counted as.
    #[test]
    fn all_of_a_counted_bag_over_a_time() {
        assert_findings(
            r#"
use "tarnwick.gtt"

drug solvane "Solvane, invented"
  dosed in   mmol/h
  supplied   20 mmol in 10 mL
  with       saline
  never dose above 5 mmol/h

order solvane-bag "Solvane"
  drug       solvane
  route      central vein
  pump       volumetric
  mix        40 mmol added to 1 L of saline, counted as 1 L
  run        all over 8 h
  then       stop

order solvane-sooner "Solvane"
  drug       solvane
  route      central vein
  pump       volumetric
  mix        40 mmol added to 1 L of saline, counted as 1 L
  run        all over 7 h 30 min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: The dose of solvane is 5.33 mmol/h; never above 5 mmol/h.
  then       stop

order solvane-by-flow "Solvane"
  drug       solvane
  route      central vein
  pump       volumetric
  mix        40 mmol added to 1 L of saline, counted as 1 L
  run        all at 127 mL/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: The dose of solvane is 5.08 mmol/h; never above 5 mmol/h.
  then       stop
"#,
        );
    }
}
