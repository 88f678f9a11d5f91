//! What one giving is, and what counts in it.

use crate::harness::{assert_findings, findings};

/// Rates that rise step by step from one bag are one giving: 4 mL/kg of
/// 100 mg/mL are 400 mg/kg, by hand; and so are two bags of 200 mg/kg, one after the
/// other.
#[test]
fn a_giving_at_several_rates_is_one_dose() {
    let head = r#"
use "tarnwick.gtt"

drug globulin "Globulin, invented"
  dosed in   mg/kg/h
  supplied   10 g in 100 mL
  usual dose       10 to 500 mg/kg/h
  never dose       above 800 mg/kg/h
  usual single dose 100 to 300 mg/kg
  never single dose above 300 mg/kg

order globulin-ladder "Globulin"
  drug       globulin
  area       ward
  patient    weight 40 to 90 kg
  route      peripheral vein
  pump       volumetric
"#;
    assert_findings(&format!(
        "{head}{}",
        r#"  undiluted  4 mL/kg
  run        0.5 mL/kg at 0.5 mL/kg/h
  run        1 mL/kg at 1 mL/kg/h
  run        all at 2 mL/kg/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: 400 mg/kg; never above 300 mg/kg.
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.unusual
  then       stop
"#
    ));
    assert_findings(&format!(
        "{head}{}",
        r#"  phase      first
    undiluted  2 mL/kg
               ^^^^^^^ limit.slip
    run        all at 1 mL/kg/h
  phase      second
    undiluted  2 mL/kg
    run        all at 2 mL/kg/h
    ^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: The single dose of globulin in phases first and second is 400 mg/kg; never above 300 mg/kg.
    ^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.unusual
  then       stop
"#
    ));
}

/// 7 mg/kg and the first 5 mg/kg follow one another at once: 12 mg/kg, by
/// hand. A load that is renewed has no end.
#[test]
fn what_repeats_and_what_is_renewed_hides_no_giving() {
    let drug = r#"
use "tarnwick.gtt"

drug mycin "Mycin, invented"
  supplied   80 mg in 2 mL
  with       saline
  usual single dose 3 to 7 mg/kg
  never single dose above 7 mg/kg
  never interval   below 20 h

drug leptine "Leptine, invented"
  supplied   500 mg in 5 mL
  with       saline
  usual bolus      20 to 60 mg/kg
  never bolus      above 4.5 g
"#;
    assert_findings(&format!(
        r#"{drug}
order mycin-twice "Mycin"
  drug       mycin
  area       ward
  patient    weight 60 to 80 kg
  route      peripheral vein
  pump       volumetric
  phase      first
    mix      7 mg/kg made up to 100 mL with saline
             ^^^^^^^ limit.slip
    run      all over 60 min
  phase      second
    mix      5 mg/kg made up to 100 mL with saline
    run      all over 60 min every 24 h
    ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: The single dose of mycin in phases first and second is 12 mg/kg; never above 7 mg/kg.
    ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.unusual

order leptine-renewed "Leptine"
  drug       leptine
  area       ward
  patient    weight 60 to 80 kg
  route      peripheral vein
  pump       volumetric
  purpose    loading
  mix        40 mg/kg made up to 100 mL with saline
  run        all over 30 min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: has no end
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.unusual
  then       renew
"#
    ));
}

/// 500 mg twice without a pause is 1 g, and 1 g with what follows the last
/// of three at once, by hand. With an hour between, each is a giving.
#[test]
fn repetitions_without_an_hour_between_are_one_giving() {
    let ferrum = |phases: &str| {
        format!(
            r#"
use "tarnwick.gtt"

drug ferrum "Iron, invented"
  supplied   500 mg in 10 mL
  with       saline
  usual single dose 100 to 600 mg
  never single dose above 800 mg

order ferrum-repeated "Iron"
  drug       ferrum
  area       ward
  patient    weight 60 to 80 kg
  route      peripheral vein
  pump       volumetric
{phases}"#
        )
    };
    let mix = "mix        500 mg made up to 100 mL with saline";
    assert_findings(&ferrum(&format!(
        r#"  {mix}
             ^^^^^^ limit.slip
  run        all over 30 min every 30 min for 2 doses
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: is 1000 mg; never above 800 mg
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.unusual
"#
    )));
    assert_findings(&ferrum(&format!(
        r#"  phase      first
    {mix}
    run      all over 30 min every 90 min for 3 doses
  phase      second
    {mix}
               ^^^^^^ limit.slip
    run      all over 30 min
    ^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: in phases first and second is 1000 mg; never above 800 mg
    ^^^^^^^^^^^^^^^^^^^^^^^^ limit.unusual
  then       stop
"#
    )));
}

/// 100 mg in 100 mL: 20 mL primed and 80 mL run are all of it, once they
/// are flushed.
#[test]
fn what_was_primed_is_told_where_it_counts() {
    let found = findings(
        r#"
use "tarnwick.gtt"

drug lyticase "Lyticase, invented"
  supplied   50 mg in 1 mL
  with       saline
  usual single dose 50 to 90 mg
  never single dose above 90 mg

order lyticase-hour "Lyticase"
  drug       lyticase
  area       ward
  route      peripheral vein
  pump       volumetric
  mix        100 mg made up to 100 mL with saline
  prime      20 mL
  run        80 mL over 60 min
  flush      20 mL with saline
  then       stop
"#,
    );
    let never = found.iter().find(|found| found.rule.name == "limit.never");
    assert_eq!(
        never.unwrap().notes[0],
        "This includes what the line was primed with: `flush 20 mL with saline` pushes it into the patient."
    );
}

/// 80 mcg/mL pushed out at 30 mL/h are 40 mcg/min: 0.5 mcg/kg/min at 80 kg.
#[test]
fn what_was_primed_is_pushed_out_as_fast_as_what_follows() {
    assert_findings(
        r#"
use "tarnwick.gtt"

drug pressine "Pressine, invented"
  supplied   4 mg in 4 mL
  with       saline
  usual dose 0.01 to 0.4 mcg/kg/min
  never dose above 0.5 mcg/kg/min

order pressine-day "Pressine"
  drug       pressine
  area       adult-icu
  patient    weight 60 to 80 kg
  route      central vein
  pump       syringe
  mix        4 mg made up to 50 mL with saline
  prime      3 mL
  run        all at 0.05 mcg/kg/min
  then       keep open 3 mL/h with saline

order pressine-fast "Pressine, and a fast fluid"
  drug       pressine
  area       adult-icu
  patient    weight 60 to 80 kg
  route      central vein
  pump       syringe
  mix        4 mg made up to 50 mL with saline
  prime      3 mL
  run        all at 0.05 mcg/kg/min
  then       keep open 30 mL/h with saline
                       ^^^^^^^ limit.slip
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: Below 80 kg the dose of pressine is more than 0.5 mcg/kg/min, the most ever allowed: 0.667 mcg/kg/min at 60 kg.
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.unusual
"#,
    );
}

/// 20 mL of 50 mL stay in a line that was not primed: 60 of 100 mg arrive, by
/// hand; 20 mL of fluid push them in.
#[test]
fn what_stays_in_the_line_is_no_dose() {
    let order = |rest: &str| {
        format!(
            r#"
use "tarnwick.gtt"

giving-set ward-line "Giving set of the ward pump"
  drops      20 per mL
  priming    20 mL

drug mycin "Mycin, invented"
  supplied   100 mg in 2 mL
  with       saline
  usual single dose 80 to 120 mg
  never single dose above 200 mg

order mycin-once "Mycin"
  drug       mycin
  area       ward
  route      peripheral vein
  pump       volumetric
  giving-set ward-line
  mix        100 mg made up to 50 mL with saline
{rest}"#
        )
    };
    assert_findings(&order(
        r#"  run        all over 60 min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.unusual: The single dose of mycin is 60 mg, below the usual minimum of 80 mg.
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ volume.left-in-line
  then       stop
"#,
    ));
    assert_findings(&order(
        r#"  run        all over 60 min
  flush      20 mL with saline
  then       stop
"#,
    ));
}
