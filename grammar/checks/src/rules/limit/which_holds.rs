//! Which limit holds, sentence by sentence of the notation's reference.

use crate::harness::assert_findings;

/// An order of a drug with these limits; the drug is no other's.
fn order(limits: &str, order: &str) -> String {
    format!(
        r#"
use "tarnwick.gtt"

drug limitamine "A drug with limits"
  supplied   40 mg in 4 mL
  with       saline
{limits}

{order}"#
    )
}

/// Every `never` whose conditions hold is in force, all at once: each form by
/// itself.
#[test]
fn every_never_is_in_force() {
    assert_findings(&order(
        "  never dose above 10 mg/h\n  never dose above 2 mcg/kg/min",
        r#"order a "A"
  drug       limitamine
  area       ward
  route      central vein
  mix        40 mg made up to 40 mL with saline
  run        all at 9 mg/h
  ^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: Below 75 kg the dose of limitamine is more than 2 mcg/kg/min, the most ever allowed: 3.75 mcg/kg/min at 40 kg.
  then       renew
"#,
    ));
}

/// It is loosened by name only.
#[test]
fn an_exception_loosens_by_name() {
    let limits = "  never dose above 5 mg/h except in adult-icu";
    let body = "  route      central vein\n  mix        40 mg made up to 40 mL with saline\n";
    assert_findings(&order(
        limits,
        &format!(
            "order a \"A\"\n  drug       limitamine\n             ^^^^^^^^^^ limit.none: No limit of limitamine applies\n  area       adult-icu\n{body}  run        all at 9 mg/h\n  then       renew\n"
        ),
    ));
    assert_findings(&order(
        limits,
        &format!(
            "order a \"A\"\n  drug       limitamine\n  area       ward\n{body}  run        all at 9 mg/h\n  ^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: never above 5 mg/h\n  then       renew\n"
        ),
    ));
}

/// A condition left open counts as fulfilled for a `never` and as not
/// fulfilled for an `except`, and is `limit.unanswered`.
#[test]
fn what_is_left_open_is_taken_strictly() {
    assert_findings(&order(
        "  never dose above 5 mg/h by peripheral vein",
        r#"order a "A"
^^^^^^^^^^^ limit.unanswered: by which route
  drug       limitamine
  area       ward
  mix        40 mg made up to 40 mL with saline
  run        all at 9 mg/h
  ^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: never above 5 mg/h
  then       renew
"#,
    ));
    assert_findings(&order(
        "  never dose above 5 mg/h except by central vein",
        r#"order a "A"
^^^^^^^^^^^ limit.unanswered: by which route
  drug       limitamine
  area       ward
  mix        40 mg made up to 40 mL with saline
  run        all at 9 mg/h
  ^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: never above 5 mg/h
  then       renew
"#,
    ));
}

/// `route any` says so on purpose: the strictest limits then hold.
#[test]
fn any_is_the_strictest() {
    assert_findings(&order(
        "  never dose above 5 mg/h by peripheral vein",
        r#"order a "A"
  drug       limitamine
  area       ward
  route      any
  mix        40 mg made up to 40 mL with saline
  run        all at 9 mg/h
  ^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: never above 5 mg/h
  then       renew
"#,
    ));
}

/// A `usual` gives way to one of its measure, form and side whose conditions
/// include all of its own.
#[test]
fn a_usual_gives_way_to_the_more_particular() {
    let limits = "  usual dose 1 to 5 mg/h\n  usual dose 5 to 20 mg/h in adult-icu";
    let body = "  route      central vein\n  mix        40 mg made up to 40 mL with saline\n";
    assert_findings(&order(
        limits,
        &format!(
            "order a \"A\"\n  drug       limitamine\n  area       adult-icu\n{body}  run        all at 9 mg/h\n  then       renew\n"
        ),
    ));
    assert_findings(&order(
        limits,
        &format!(
            "order a \"A\"\n  drug       limitamine\n  area       ward\n{body}  run        all at 9 mg/h\n  ^^^^^^^^^^^^^^^^^^^^^^^^ limit.unusual: The dose of limitamine is 9 mg/h, more than the usual maximum of 5 mg/h.\n  then       renew\n"
        ),
    ));
}

/// A patient range that crosses weight bands is checked band by band.
#[test]
fn band_by_band() {
    assert_findings(&order(
        "  never dose above 5 mg/h for 40 to 60 kg\n  never dose above 12 mg/h for 60 to 150 kg",
        r#"order a "A"
  drug       limitamine
  area       ward
  route      central vein
  mix        40 mg made up to 40 mL with saline
  run        all at 0.1 mg/kg/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: Between 50 kg and 60 kg the dose of limitamine is more than 5 mg/h, the most ever allowed: 6 mg/h at 60 kg
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: Above 120 kg the dose of limitamine is more than 12 mg/h, the most ever allowed: 15 mg/h at 150 kg
  then       renew
"#,
    ));
}

/// Loads are judged by their own limits; where the drug states none of the
/// three, its `never dose` holds for them too.
#[test]
fn loads_apart_from_upkeep() {
    let body = r#"order a "A"
  drug       limitamine
  area       ward
  route      central vein
  mix        40 mg made up to 40 mL with saline
"#;
    let bolus = "  bolus      5 mg over 10 min\n";
    let rest = "  run        all at 2 mg/h\n  then       renew\n";
    assert_findings(&order(
        "  never dose above 10 mg/h",
        &format!(
            "{body}{bolus}  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: The dose of limitamine during the bolus or loading dose is 30 mg/h; never above 10 mg/h.\n{rest}"
        ),
    ));
    assert_findings(&order(
        "  never dose above 10 mg/h\n  never bolus above 5 mg",
        &format!("{body}{bolus}{rest}"),
    ));
    assert_findings(&order(
        "  never dose above 10 mg/h\n  never bolus above 4 mg",
        &format!(
            "{body}{bolus}  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: The bolus of limitamine is 5 mg; never above 4 mg\n{rest}"
        ),
    ));
    // The drug's limits are for loads alone: nothing judges its upkeep.
    let alone = rest.replace(
        "2 mg/h\n",
        "2 mg/h\n  ^^^^^^^^^^^^^^^^^^^^^^^^ limit.as-load: The only limits of limitamine for this run are for loading doses\n",
    );
    assert_findings(&order(
        "  never bolus rate above 20 mg/h",
        &format!(
            "{body}{bolus}  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: The rate of the bolus of limitamine is 30 mg/h\n{alone}"
        ),
    ));
    assert_findings(&order(
        "  never bolus time below 15 min",
        &format!(
            "{body}{bolus}  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: The time of the bolus of limitamine is 10 min; never below 15 min\n{alone}"
        ),
    ));
}

/// `adjust` counts as doses: both ends for a `never`, and leaving the `usual`
/// is a warning.
#[test]
fn adjust_counts_as_doses() {
    assert_findings(&order(
        "  usual dose 1 to 5 mg/h\n  never dose above 8 mg/h",
        r#"order a "A"
  drug       limitamine
  area       ward
  route      central vein
  mix        40 mg made up to 40 mL with saline
  run        all at 2 mg/h
  adjust     1 to 10 mg/h by 1 mg/h every 30 min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.adjust-escapes: At the highest step of `adjust` the dose of limitamine is 10 mg/h; never above 8 mg/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.unusual: At the highest step of `adjust` the dose of limitamine is 10 mg/h, more than the usual maximum of 5 mg/h
  then       renew
"#,
    ));
}

/// Totals: the most in any 24 hours, repeats included; single doses and
/// intervals of what repeats.
#[test]
fn totals_single_doses_and_intervals() {
    let body = r#"order a "A"
  drug       limitamine
  area       ward
  route      central vein
  mix        40 mg made up to 40 mL with saline
  run        all over 1 h every 6 h
"#;
    assert_findings(&order(
        "  never total above 120 mg per day",
        &format!(
            "{body}  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: All limitamine given in 24 h is 160 mg; never above 120 mg\n"
        ),
    ));
    assert_findings(&order(
        "  never single dose above 30 mg",
        &format!(
            "{body}  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: The single dose of limitamine is 40 mg; never above 30 mg\n"
        ),
    ));
    assert_findings(&order(
        "  never interval below 8 h",
        &format!(
            "{body}                          ^^^^^^^^^ limit.never: The interval of limitamine is 6 h; never below 8 h\n  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.none: No limit of limitamine says how much this run may give, or how fast.\n"
        ),
    ));
    assert_findings(&order(
        "  never total above 160 mg per day\n  never interval below 6 h",
        body,
    ));
}

/// `after the first TIME`: what ends within it is not judged.
#[test]
fn after_the_first_time() {
    let limits =
        "  never dose above 5 mg/h after the first 30 min\n  never single dose above 40 mg";
    let start = r#"order a "A"
  drug       limitamine
  area       ward
  route      central vein
  mix        40 mg made up to 40 mL with saline
"#;
    assert_findings(&order(
        limits,
        &format!("{start}  run        4 mL over 30 min\n  then       stop\n"),
    ));
    assert_findings(&order(
        limits,
        &format!(
            "{start}  run        4 mL over 31 min\n  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: never above 5 mg/h\n  then       stop\n"
        ),
    ));
}

/// Limits hold against the worse of the counted and the true strength.
#[test]
fn the_worse_strength_is_judged() {
    assert_findings(&order(
        "  never strength above 0.15 mg/mL\n  never dose above 5 mg/h",
        r#"order a "A"
  drug       limitamine
  area       ward
  route      central vein
  mix        40 mg added to 250 mL of saline, counted as 250 mL
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: The strength of limitamine is 0.16 mg/mL; never above 0.15 mg/mL
  run        all at 2 mg/h
  then       renew
"#,
    ));
}

/// A weight at which the bound is just kept is not told among those beyond it.
#[test]
fn the_last_good_weight_may_be_the_lightest() {
    assert_findings(&order(
        "  never dose above 2 mg/h",
        r#"order a "A"
  drug       limitamine
  area       ward
  route      central vein
  mix        40 mg made up to 40 mL with saline
  run        all at 0.05 mg/kg/h
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: Above 40 kg the dose of limitamine is more than 2 mg/h, the most ever allowed: 7.5 mg/h at 150 kg
  then       renew
"#,
    ));
}
