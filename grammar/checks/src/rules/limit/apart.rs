//! What is given apart, later, or once more: no limit is passed by writing it
//! in phases, behind a flush, or before something without an end. Sums by hand.

use crate::harness::assert_findings;

const HEAD: &str = r#"
use "tarnwick.gtt"
"#;

/// 500 mg at 0, 4 and 8 h, with fluid between: 4 h apart, as `every 4 h` is.
#[test]
fn an_interval_between_phases() {
    assert_findings(&format!(
        r#"{HEAD}
drug mycin "Mycin, invented"
  supplied   500 mg in 10 mL
  with       saline
  never single dose above 1500 mg
  never interval   below 6 h

order mycin-in-phases "Mycin"
  drug       mycin
  area       ward
  route      peripheral vein
  pump       volumetric
  phase      one
    mix      500 mg made up to 100 mL with saline
    run      all over 60 min
  phase      between
    hang     250 mL of saline
    run      all over 3 h
  phase      two
    mix      500 mg made up to 100 mL with saline
    run      all over 60 min
    ^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: The interval of mycin in phase two is 4 h; never below 6 h.
  then       stop

order mycin-repeated "Mycin"
  drug       mycin
  area       ward
  route      peripheral vein
  pump       volumetric
  mix        500 mg made up to 100 mL with saline
  run        all over 60 min every 4 h for 2 doses
                             ^^^^^^^^^^^^^^^^^^^^^ limit.never: The interval of mycin is 4 h; never below 6 h.
"#
    ));
}

/// 7 h from start to start are more than the 6 h that are usual.
#[test]
fn an_interval_that_is_too_long() {
    assert_findings(&format!(
        r#"{HEAD}
drug penem "Penem, invented"
  supplied   1 g in 20 mL
  with       saline
  never single dose above 1 g
  usual interval   4 to 6 h

order penem-late "Penem"
  drug       penem
  area       ward
  route      peripheral vein
  pump       volumetric
  phase      one
    mix      1 g made up to 50 mL with saline
    run      all over 30 min
  phase      between
    hang     500 mL of saline
    run      all over 6.5 h
  phase      two
    mix      1 g made up to 50 mL with saline
    run      all over 30 min
    ^^^^^^^^^^^^^^^^^^^^^^^^ limit.unusual: The interval of penem in phase two is 7 h
  then       stop
"#
    ));
}

/// A second load of 1 g, 12 h after the first, is no first load.
#[test]
fn a_load_that_comes_back_in_a_phase() {
    assert_findings(&format!(
        r#"{HEAD}
drug mycin "Mycin, invented"
  supplied   500 mg in 10 mL
  with       saline
  never single dose above 600 mg
  never single dose above 1 g as loading

order mycin-loads "Mycin"
  drug       mycin
  area       ward
  route      peripheral vein
  pump       volumetric
  phase      one
    purpose  loading
    mix      1 g made up to 100 mL with saline
    run      all over 60 min
  phase      between
    hang     500 mL of saline
    run      all over 11 h
  phase      two
    purpose  loading
    mix      1 g made up to 100 mL with saline
    run      all over 60 min
    ^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: The single dose of mycin in phase two is 1000 mg; never above 600 mg.
  then       stop
"#
    ));
}

/// Three times 500 mg, the last with 500 mg at once behind it, in one phase.
/// And 600 mg once with 600 mg each time, whichever is written first.
#[test]
fn in_one_phase_too() {
    assert_findings(&format!(
        r#"{HEAD}
drug mycin "Mycin, invented"
  supplied   500 mg in 10 mL
  with       saline
  never single dose above 1400 mg

order mycin-last "Mycin"
  drug       mycin
  area       ward
  route      peripheral vein
  pump       volumetric
  mix        1500 mg made up to 100 mL with saline
  run        50 mL over 60 min every 8 h for 3 doses
  run        all over 60 min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: The single dose of mycin is 1500 mg; never above 1400 mg.
  then       stop

drug caine "Caine, invented"
  supplied   500 mg in 10 mL
  with       saline
  never bolus above 1 g
  never dose  above 2 g/h

order caine-each-first "Caine"
  drug       caine
  area       ward
  route      peripheral vein
  pump       volumetric
  mix        2 g made up to 100 mL with saline
  bolus      600 mg over 30 min, each time
  bolus      600 mg over 30 min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: The bolus of caine is 1.2 g; never above 1 g.
  run        500 mg over 60 min every 12 h

order caine-once-first "Caine"
  drug       caine
  area       ward
  route      peripheral vein
  pump       volumetric
  mix        2 g made up to 100 mL with saline
  bolus      600 mg over 30 min
  bolus      600 mg over 30 min, each time
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: The bolus of caine is 1.2 g; never above 1 g.
  run        500 mg over 60 min every 12 h
"#
    ));
}

/// What stands behind something without an end is never given, and said.
#[test]
fn behind_what_has_no_end() {
    assert_findings(&format!(
        r#"{HEAD}
drug mycin "Mycin, invented"
  supplied   500 mg in 10 mL
  with       saline
  never total above 2 g per day

order mycin-for-ever "Mycin"
  drug       mycin
  area       ward
  route      peripheral vein
  pump       volumetric
  phase      one
    mix      500 mg made up to 100 mL with saline
    run      all over 60 min every 8 h
  phase      two
    mix      5 g made up to 100 mL with saline
    run      all over 60 min
    ^^^^^^^^^^^^^^^^^^^^^^^^ run.none: This is never given
  then       stop

order mycin-kept-open "Mycin"
  drug       mycin
  area       ward
  route      peripheral vein
  pump       volumetric
  then       keep open 5 mL/h with saline
  phase      one
    mix      1 g made up to 100 mL with saline
    run      all over 60 min
  phase      between
    hang     500 mL of saline
    run      all over 7 h
  phase      two
    mix      1500 mg made up to 100 mL with saline
    run      all over 60 min
    ^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: All mycin given in 24 h is 2.5 g; never above 2 g.

order mycin-each-time "Mycin"
  drug       mycin
  area       ward
  route      peripheral vein
  pump       volumetric
  mix        240 mg made up to 100 mL with saline
  bolus      100 mg over 10 min, each time
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ run.none: `each time` has no effect
  run        all at 20 mg/h
  then       renew
"#
    ));
}

/// What is given before the time is none of a limit that begins then.
#[test]
fn after_the_first_time() {
    let drug = r#"
drug mycin "Mycin, invented"
  supplied   500 mg in 10 mL
  with       saline
  never total       above 1 g per day after the first 48 h
  never single dose above 600 mg after the first 48 h
  never interval    below 20 h after the first 48 h
"#;
    let order = |later: &str| {
        format!(
            r#"
order mycin-course "Mycin"
  drug       mycin
  area       ward
  route      peripheral vein
  pump       volumetric
  phase      one
    mix      800 mg made up to 100 mL with saline
    run      all over 60 min every 12 h for 3 doses
  phase      between
    hang     500 mL of saline
    run      all over 24 h
  phase      two
    mix      400 mg made up to 100 mL with saline
{later}"#
        )
    };
    let right = order("    run      all over 60 min every 24 h\n");
    assert_findings(&format!("{HEAD}{drug}{right}"));
    let often = order(
        r#"    run      all over 60 min every 8 h
    ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: All mycin given in 24 h is 1.2 g; never above 1 g.
                             ^^^^^^^^^ limit.never: The interval of mycin in phase two is 8 h; never below 20 h.
"#,
    );
    assert_findings(&format!("{HEAD}{drug}{often}"));
}

/// A load is judged by itself before a run without end; and what a flush pushes
/// in at once, as a bolus.
#[test]
fn loads_and_flushes() {
    assert_findings(&format!(
        r#"{HEAD}
drug pressorine "Pressorine, invented"
  dosed in   mcg/kg/min
  supplied   5 g in 50 mL
  with       saline
  never dose        above 20 mcg/kg/min
  never single dose above 5 mg/kg as loading
  never bolus time  below 30 min

order pressorine-load "Pressorine"
  drug       pressorine
  area       ward
  patient    weight 40 to 80 kg
  route      central vein
  pump       volumetric
  mix        4 g made up to 500 mL with saline
  bolus      25 mg/kg over 60 min
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ limit.never: The single dose of pressorine is 25 mg/kg; never above 5 mg/kg.
  run        all at 10 mcg/kg/min
  then       renew

drug parine "Parine, invented"
  dosed in   units/kg/h
  supplied   25,000 units in 5 mL
  with       saline
  never dose  above 30 units/kg/h
  never bolus above 8,000 units

order parine-flushed "Parine"
  drug       parine
  area       ward
  patient    weight 40 to 80 kg
  route      peripheral vein
  pump       volumetric
  mix        50,000 units made up to 100 mL with saline
  prime      20 mL
  run        all at 10 units/kg/h
  flush      20 mL with saline
             ^^^^^ limit.never: The bolus of parine is 10,000 units; never above 8000 units.
  then       stop
"#
    ));
}
