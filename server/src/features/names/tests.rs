use super::{declarations, declared_as, named_at, occurrences, prepare, rename};
use crate::features::harness::Fixture;

const DRUGS: &str = "\
drug noradrenaline \"Noradrenaline\"
  also       norepinephrine
  with       glucose-5

drug potassium-chloride \"Potassium chloride\"
  contains   potassium 2 mmol/mL

solution glucose-5 \"Glucose 5 %\"
  contains   glucose 50 mg/mL

solution insulin \"Insulin in saline\"
  contains   sodium 154 micromol/mL
drug insulin \"Insulin\"
  not with   insulin
";

const WARD: &str = "\
use \"drugs.gtt\"
order norad \"Noradrenaline\"
  drug       norepinephrine
  mix        4 mg made up to 50 mL with glucose-5
  phase      first
    run      10 mL at 5 mL/h
  phase      second
    run      all at 5 mL/h
  expect     flow 5 mL/h in first
order kalium \"Potassium\"
  drug       kcl
  expect     potassium 5 mmol
order again \"Again\"
  drug       noradrenaline
set both \"Both\"
  include    norad, kalium
  line       proximal: norad
  potassium  up to 3 mmol/kg/day
";

/// The repository with the cursor in the first place that `marked` names.
fn at(marked: &str) -> Fixture {
    let bare = marked.replace('|', "");
    let put = |text: &str| text.replacen(&bare, marked, 1);
    if WARD.contains(&bare) {
        Fixture::new([("drugs.gtt", DRUGS), ("ward.gtt", put(WARD).as_str())])
    } else {
        assert!(DRUGS.contains(&bare), "{bare}");
        Fixture::new([("drugs.gtt", put(DRUGS).as_str()), ("ward.gtt", WARD)])
    }
}

fn defined(marked: &str) -> Vec<String> {
    let fixture = at(marked);
    let named = named_at(fixture.site(), fixture.cursor()).unwrap();
    let found = declarations(fixture.site(), &named.target);
    found.iter().map(|found| fixture.told(found.name)).collect()
}

fn meant(marked: &str) -> Vec<String> {
    let fixture = at(marked);
    let named = named_at(fixture.site(), fixture.cursor()).unwrap();
    let found = occurrences(fixture.site(), &named.target, None);
    let told = found.iter().map(|found| {
        let mark = if found.declares { " declared" } else { "" };
        format!("{}{mark}", fixture.told(found.place))
    });
    told.collect()
}

fn renamed(marked: &str, new: &str) -> Result<Vec<String>, String> {
    let fixture = at(marked);
    let changes = rename(fixture.site(), fixture.cursor(), new)?;
    let told = changes.iter().map(|change| {
        assert_eq!(change.text, new);
        fixture.told(change.place)
    });
    Ok(told.collect())
}

#[test]
fn a_mention_leads_to_what_it_means() {
    assert_eq!(
        defined("drug       norepine|phrine"),
        ["drugs.gtt:1 noradrenaline"]
    );
    assert_eq!(defined("with |glucose-5"), ["drugs.gtt:8 glucose-5"]);
    assert_eq!(defined("glucose-5|\n  phase"), ["drugs.gtt:8 glucose-5"]);
    assert_eq!(
        defined("drug       kc|l"),
        ["drugs.gtt:5 potassium-chloride"]
    );
    assert_eq!(defined("include    norad, |kalium"), ["ward.gtt:10 kalium"]);
    assert_eq!(defined("in fir|st"), ["ward.gtt:5 first"]);
    assert_eq!(defined("expect     pot|assium"), ["drugs.gtt:6 potassium"]);
    assert_eq!(defined("\"dru|gs.gtt"), ["drugs.gtt:1 "]);
    assert_eq!(
        defined("not with   ins|ulin"),
        ["drugs.gtt:11 insulin", "drugs.gtt:13 insulin"]
    );
}

#[test]
fn a_declaration_is_the_name_as_it_was_mentioned() {
    let fixture = at("drug       norepine|phrine");
    let named = named_at(fixture.site(), fixture.cursor()).unwrap();
    let found = declared_as(fixture.site(), &named);
    assert_eq!(fixture.told(found[0].name), "drugs.gtt:2 norepinephrine");
}

#[test]
fn everything_that_means_the_same_is_found() {
    let drug = [
        "drugs.gtt:1 noradrenaline declared",
        "drugs.gtt:2 norepinephrine declared",
        "ward.gtt:3 norepinephrine",
        "ward.gtt:14 noradrenaline",
    ];
    assert_eq!(meant("drug       norepine|phrine"), drug);
    assert_eq!(meant("drug nor|adrenaline \"N"), drug);
    assert_eq!(
        meant("contains   pota|ssium"),
        [
            "drugs.gtt:6 potassium declared",
            "ward.gtt:12 potassium",
            "ward.gtt:18 potassium"
        ]
    );
    assert_eq!(
        meant("phase      fi|rst"),
        ["ward.gtt:5 first declared", "ward.gtt:9 first"]
    );
    assert_eq!(meant("prox|imal"), ["ward.gtt:17 proximal declared"]);
    assert_eq!(meant("\"dru|gs.gtt"), ["ward.gtt:1 \"drugs.gtt\""]);
}

#[test]
fn a_new_name_reaches_every_mention_by_the_old_one() {
    assert_eq!(
        renamed("drug nor|adrenaline \"N", "noradrenaline-base").unwrap(),
        ["drugs.gtt:1 noradrenaline", "ward.gtt:14 noradrenaline"]
    );
    assert_eq!(
        renamed("drug       norepine|phrine", "levarterenol").unwrap(),
        ["drugs.gtt:2 norepinephrine", "ward.gtt:3 norepinephrine"]
    );
    assert_eq!(
        renamed("order nor|ad ", "noradrénaline").unwrap(),
        ["ward.gtt:2 norad", "ward.gtt:16 norad", "ward.gtt:17 norad"]
    );
    assert_eq!(
        renamed("in fi|rst", "1").unwrap(),
        ["ward.gtt:5 first", "ward.gtt:9 first"]
    );
    assert_eq!(
        renamed("prox|imal", "distal").unwrap(),
        ["ward.gtt:17 proximal"]
    );
    assert_eq!(
        renamed("\n  potas|sium", "kalium").unwrap(),
        [
            "drugs.gtt:6 potassium",
            "ward.gtt:12 potassium",
            "ward.gtt:18 potassium"
        ]
    );
    // A short form would mean nothing without the full name.
    assert_eq!(
        renamed("drug pota|ssium-chloride", "kalium").unwrap(),
        ["drugs.gtt:5 potassium-chloride", "ward.gtt:11 kcl"]
    );
    assert_eq!(renamed("order nor|ad ", "norad").unwrap(), [""; 0]);
}

#[test]
fn a_name_that_cannot_be_is_refused() {
    let refused = |marked: &str, new: &str| renamed(marked, new).unwrap_err();
    for new in [
        "",
        " ",
        "a b",
        "a\nb",
        "A",
        "5",
        "a-",
        "a,b",
        "a:b",
        "a#b",
        "mg",
        "to",
        "\"a\"",
        "a ",
        "dr\u{43e}p",
    ] {
        for marked in [
            "order nor|ad ",
            "phase      fi|rst",
            "prox|imal",
            "expect     pot|assium",
        ] {
            if new != "5" || !marked.contains("phase") {
                refused(marked, new);
            }
        }
    }
    insta::assert_snapshot!(
        [
            refused("order nor|ad ", "a b"),
            refused("order nor|ad ", "Norad"),
            refused("order nor|ad ", "mg"),
            refused("order nor|ad ", "kalium"),
            refused("drug nor|adrenaline \"N", "norepinephrine"),
            refused("drug nor|adrenaline \"N", "insulin"),
            refused("drug nor|adrenaline \"N", "kcl"),
            refused("drug insu|lin", "insulin-human"),
            refused("drug       kc|l", "kalium"),
            refused("not with   ins|ulin", "insulin-human"),
            refused("in fi|rst", "second"),
            refused("expect     pot|assium", "glucose"),
            refused("expect     pot|assium", "flow"),
            refused("contains   gluc|ose", "dextrose"),
            refused("\"dru|gs.gtt", "x"),
        ]
        .join("\n"),
        @r"
    `a b` cannot be a name: a name is small letters and digits joined by hyphens, with at least one letter.
    `Norad` cannot be a name: names are written in small letters.
    `mg` is a word of the notation and cannot be a name.
    An order is called `kalium` already, in `ward.gtt`.
    `norepinephrine` is a name of it already.
    A drug is called `insulin` already, in `drugs.gtt`.
    `kcl` is an error-prone abbreviation; write `potassium-chloride`.
    A solution is called `insulin` too, and `drugs.gtt` means both: rename that first.
    `kcl` is a short form of `potassium-chloride`: write that, and rename it.
    Several things are called `insulin`, so it is not clear which is meant: rename it where it is defined.
    A phase of this order is called `second` already.
    `glucose` is a word of the notation, and cannot be a substance's name.
    `flow` is a measure, and cannot be the name of a substance.
    `glucose` is a word of the notation, and keeps its name.
    Rename the file itself: the `use` lines that name it follow.
    "
    );
}

#[test]
fn a_word_of_the_notation_is_no_new_name() {
    let places = [
        "order nor|ad",
        "solution glucose|-5",
        "potassium| 2 mmol",
        "phase      fir|st",
        "line       prox|imal",
    ];
    for marked in places {
        for word in [
            "aged", "except", "added", "per", "finding", "pump", "made", "up", "order",
        ] {
            assert_eq!(
                renamed(marked, word),
                Err(format!(
                    "`{word}` is a word of the notation and cannot be a name."
                )),
                "{marked}"
            );
        }
    }
    assert_eq!(
        renamed("drug norad|renaline", "glucose-5"),
        Err("A solution is called `glucose-5` already, in `drugs.gtt`.".to_owned())
    );
    assert_eq!(
        renamed("solution glucose|-5", "norepinephrine"),
        Err("A drug is called `norepinephrine` already, in `drugs.gtt`.".to_owned())
    );
}

#[test]
fn of_two_with_one_name_the_mentions_stay_with_the_other() {
    let fixture = Fixture::of(
        "drug a| \"A\"\n  high-alert\ndrug a \"B\"\n  high-alert\norder b \"B\"\n  drug a\n",
    );
    let changes = rename(fixture.site(), fixture.cursor(), "c").unwrap();
    let told: Vec<_> = changes
        .iter()
        .map(|change| fixture.told(change.place))
        .collect();
    assert_eq!(told, ["ward.gtt:1 a"]);
}

#[test]
fn nothing_stands_where_no_name_stands() {
    for marked in [
        "4 m|g made",
        "m|ix ",
        "\"Norad|renaline\"\n  drug",
        "ma|de up to",
    ] {
        let fixture = at(marked);
        assert_eq!(
            prepare(fixture.site(), fixture.cursor()),
            Ok(None),
            "{marked}"
        );
    }
}
