//! What the formatter does, and what it never does.

use super::guard::{comments, meaning};
use crate::{DigitGroups, Micro, Style, format};

pub(super) const STYLES: [Style; 4] = [
    style(DigitGroups::Comma, Micro::Mcg),
    style(DigitGroups::Comma, Micro::Micrograms),
    style(DigitGroups::Space, Micro::Mcg),
    style(DigitGroups::Space, Micro::Micrograms),
];

const fn style(digit_groups: DigitGroups, micro: Micro) -> Style {
    Style {
        digit_groups,
        micro,
    }
}

fn formatted(text: &str) -> String {
    format(text, &Style::USUAL)
}

fn stays(text: &str) {
    assert_eq!(formatted(text), text);
}

/// What must hold for every text.
fn holds(text: &str) {
    for style in STYLES {
        holds_in(text, style);
    }
}

pub(super) fn holds_in(text: &str, style: Style) {
    let once = format(text, &style);
    let shown = || format!("{text:?}\n{once:?}");
    assert_eq!(meaning(&once, style), meaning(text, style), "{}", shown());
    assert_eq!(comments(&once), comments(text), "{}", shown());
    assert_eq!(format(&once, &style), once, "{}", shown());
}

pub(super) const DRUG: &str = r#"# Everything about noradrenaline.

drug noradrenaline "Noradrenaline (as base)"
  also       norepinephrine
  dosed in   mcg/kg/min
  supplied   4 mg in 4 mL
  with       glucose-5, saline
  not with   sodium-bicarbonate, insulin
  only by    central vein, peripheral vein
  usual dose       0.01 to 1 mcg/kg/min
  never dose       above 2 mcg/kg/min
  never strength   above 16 mcg/mL by peripheral vein
  never by   intrathecal, epidural
  never undiluted
  high-alert
  source     "Tarnwick formulary 2026, 4.2"
"#;

pub(super) const PLACES: &str = r#"use "pumps.gtt"
use "solutions.gtt"

pump volumetric "Ward volumetric pump"
  flow       0.5 to 99.9 mL/h in steps of 0.1 mL/h
  flow       100 to 900 mL/h in steps of 1 mL/h
  volume     up to 5,000 mL
  accuracy   5 %

# The smallest patients.
area neonatal "Neonatal intensive care"
  patient    weight 500 g to 6 kg
  pump       syringe
  ceiling    25 mL/h                # no run above this here, whatever the order says
  bolus ceiling 120 mL/h
  fluid      up to 180 mL/kg/day

solution glucose-10 "Glucose 10 %"
  contains   glucose 100 mg/mL
  osmolarity 555 mOsm/L
"#;

pub(super) const PHASES: &str = r#"order acetylcysteine-three-bags "Acetylcysteine, adults"
  drug       acetylcysteine
  area       emergency
  patient    weight 40 to 110 kg
  route      peripheral vein
  phase      first
    mix      150 mg/kg added to 200 mL of glucose-5
    run      all over 60 min
  phase      second
    mix      50 mg/kg added to 500 mL of glucose-5
    note     "half the time of the third"
    run      all over 4 h
  phase      third
    mix      100 mg/kg added to 1 L of glucose-5
    change bag every 24 h
    run      all over 16 h
  then       stop
  expect     total 300 mg/kg

set overdose "Overdose"
  include    acetylcysteine-three-bags
  line       proximal: acetylcysteine-three-bags
  potassium  up to 3 mmol/kg/day
"#;

pub(super) const ORDER: &str = r#"specimen heparin-slip "A slip"
  drug       heparin
  mix        25,000 units made up to 50 mL with saline
  bolus      80 units/kg over 5 min, at most 8,000 units
  run        all at 18 units/kg/h, at most 2,000 units/h
  adjust     8 to 30 units/kg/h by 2 units/kg/h every 6 h
  then       renew
  stop when  "bleeding # or a fall"
  waive      limit.unusual of dose up to 24 mg/h because "agreed" until 2027-01-01
  expect     flow 2.5 mL/h at 70 kg
  review by  2027-11-01
"#;

#[test]
fn the_notations_own_layout_stays() {
    for text in [DRUG, PLACES, PHASES, ORDER] {
        stays(text);
        holds(text);
    }
}

#[test]
fn blanks_and_indents_are_made_even() {
    let text = "order  a   \"A  b\"  \n\tdrug\tnoradrenaline\n      run   50 mL   at  5 mL/h   \n\
                \x20 with saline,glucose-5 , dextran\nthen stop";
    let laid = "order a \"A  b\"\n  drug       noradrenaline\n  run        50 mL at 5 mL/h\n\
                \x20 with saline,glucose-5 , dextran\n  then       stop\n";
    assert_eq!(formatted(text), laid);
    let drug = "drug a \"A\"\n with saline,glucose-5 , dextran\n";
    assert_eq!(
        formatted(drug),
        "drug a \"A\"\n  with       saline, glucose-5, dextran\n"
    );
}

#[test]
fn one_blank_line_parts_stanzas() {
    let text = "\n\n# top\n\n\n# of a\ndrug a \"A\"\n\n\n  high-alert\n# of b\ndrug b \"B\"\n\
                \x20 high-alert\n\n\n\n";
    let laid = "# top\n\n# of a\ndrug a \"A\"\n\n  high-alert\n\n# of b\ndrug b \"B\"\n\
                \x20 high-alert\n";
    assert_eq!(formatted(text), laid);
}

#[test]
fn comments_stay_with_their_text() {
    let text = "drug a \"A\"\n# of the line below\n  high-alert\n    # an afterthought\n\n  # of b\n\
                drug b \"B\"\n  high-alert\n";
    let laid = "drug a \"A\"\n  # of the line below\n  high-alert\n  # an afterthought\n\n# of b\n\
                drug b \"B\"\n  high-alert\n";
    assert_eq!(formatted(text), laid);
    holds(text);
}

#[test]
fn comments_in_a_column_stay_in_one() {
    let text = "pump a \"A\" # none\n  flow 1 to 9 mL/h    # one\n  volume up to 5 mL   # two\n  \
                bolus up to 9 mL/h # three\n";
    let laid = "pump a \"A\"  # none\n  flow       1 to 9 mL/h  # one\n  volume     up to 5 mL   \
                # two\n  bolus      up to 9 mL/h  # three\n";
    assert_eq!(formatted(text), laid);
    let wide = "pump a \"A\"\n  flow 1 to 900 mL/h # one\n  volume up to 5 mL  # two\n";
    let laid =
        "pump a \"A\"\n  flow       1 to 900 mL/h  # one\n  volume     up to 5 mL     # two\n";
    assert_eq!(formatted(wide), laid);
    holds(text);
}

#[test]
fn the_house_spells() {
    let text = "order a \"A\"\n  mix 200 micrograms made up to 10000 microlitres with saline\n  \
                run 10000 mL at 5 micrograms/kg/minute\n  bolus 1 litre over 2 hours 30 minutes\n  \
                note \"5 micrograms\" # 5 micrograms\n";
    let laid = formatted(text);
    assert!(
        laid.contains("run        10,000 mL at 5 mcg/kg/min\n"),
        "{laid}"
    );
    assert!(laid.contains("bolus      1 L over 2 h 30 min\n"), "{laid}");
    assert!(
        laid.contains("note       \"5 micrograms\"  # 5 micrograms\n"),
        "{laid}"
    );
    let other = format(&laid, &STYLES[3]);
    assert!(
        other.contains("run        10,000 mL at 5 mcg/kg/min\n"),
        "{other}"
    );
    let spaced = "drug a \"A\"\n  dosed in mcg/kg/min\n  usual dose 1 to 10000 mcg\n";
    let laid = format(spaced, &STYLES[3]);
    assert!(laid.contains("dosed in   micrograms/kg/min\n"), "{laid}");
    assert!(
        laid.contains("usual dose       1 to 10 000 micrograms\n"),
        "{laid}"
    );
    let nano = "drug a \"A\"\n  dosed in ng/kg/min\n  usual dose 1 to 50 nanograms/kg/min\n  \
                never strength above 1 mcg/mL\n";
    let laid = format(nano, &STYLES[1]);
    for said in [
        "dosed in   nanograms/kg/min\n",
        "1 to 50 nanograms/kg/min\n",
        "above 1 microgram/mL\n",
    ] {
        assert!(laid.contains(said), "{laid}");
    }
    let back = formatted(&laid);
    for said in [
        "dosed in   ng/kg/min\n",
        "1 to 50 ng/kg/min\n",
        "above 1 mcg/mL\n",
    ] {
        assert!(back.contains(said), "{back}");
    }
    holds(text);
    holds(spaced);
    holds(nano);
}

#[test]
fn a_line_that_cannot_be_read_is_left_alone() {
    let text = "ordr  a  \"A\"\n   run   50 mL  \n\ndrug a \"A\"\n     usal  dose 1   to 2 mg/h  # c\n\
                \x20 usual dose 0,5   to 2 mg/h\n  note   \"open  \n";
    stays(text);
    holds(text);
}

#[test]
fn line_ends_and_mark_are_kept() {
    assert_eq!(
        formatted("\u{feff}drug a \"A\"\r\n high-alert\r\ndrug b \"B\"\r\n high-alert"),
        "\u{feff}drug a \"A\"\r\n  high-alert\r\n\r\ndrug b \"B\"\r\n  high-alert\r\n"
    );
    assert_eq!(
        formatted("drug a \"A\"\r high-alert\r"),
        "drug a \"A\"\n  high-alert\n"
    );
    for empty in ["", "\n", " \r\n\t\n", "\u{feff}"] {
        holds(empty);
        assert_eq!(formatted(empty).trim_start_matches('\u{feff}'), "");
    }
}

#[test]
fn a_reference_that_was_not_indented_stays_one() {
    stays("order a \"A\"\n  run        50 mL at 5 mL/h\ndrug b\n");
    holds("order a \"A\"\n  run 50 mL at 5 mL/h\n# c\ndrug b\n");
    holds("order a \"A\"\n  run 50 mL at 5 mL/h\n  # c\ndrug b\n");
}

#[test]
fn stops_belong_to_the_word_before() {
    let text = "set a \"A\"\n  include b , c,d\n  line one :b,c , d\n  waive :limit , x\n";
    holds(text);
    let laid = formatted(text);
    assert!(
        laid.contains("  include    b, c, d\n  line       one: b, c, d\n"),
        "{laid}"
    );
}

#[test]
fn groups_of_blanks_never_part_a_number() {
    let text = "order a \"A\"\n  run 10000mL over 4 h\n  run 25  000 mL over 4 h\n";
    holds(text);
    let laid = format(text, &STYLES[2]);
    assert!(laid.contains("  run        10 000 mL over 4 h\n"), "{laid}");
}

#[test]
fn no_byte_order_mark_comes_about() {
    holds("\n\u{feff}order a \"A\"\n");
    holds("drug é  \"A\"\n  source     é    \"Tarnwick\"\n");
}

#[test]
fn a_stanza_at_the_limit_of_length_is_left_alone() {
    for lines in 1_990..2_010 {
        let text = format!(
            "order a \"A\"\n{}\norder b \"B\"\n",
            "  note  \"x\"\n\n".repeat(lines / 2)
        );
        holds(&text);
    }
}
