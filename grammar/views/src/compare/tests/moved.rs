//! What follows from an order, and what moves it from elsewhere.

use gutta_protocol::{House, Workspace};
use gutta_quantity::Exact;

use super::{BASE, assert_told, compared, told, with, workspace};
use crate::compare::compare;

#[test]
fn what_means_the_same_is_no_change() {
    let other_spelling = BASE
        .replace(
            "0.05 mg/kg/h, at most 5 mg/h",
            "50 micrograms/kg/h, at most 5000 mcg/h",
        )
        .replace("every 30 min", "every 0.5 h   # as before")
        .replace("above 20 mg/h", "above 0.02 g/h")
        .replace("saline, glucose-5", "glucose-5, saline")
        .replace("phase      first", "phase      fast")
        .replace("phase      second", "phase      slow");
    let mut stanzas: Vec<_> = other_spelling.split("\n\n").collect();
    stanzas.reverse();
    let turned = format!("# Turned round.\n\n{}\n", stanzas.join("\n\n\n"));
    let comparison = compared(BASE, &turned);
    assert!(comparison.is_same(), "{}", told(&comparison));
    assert_eq!(comparison.orders_same, 2);
    // A file of another name, and lines of a stanza in another order.
    let moved = Workspace::new(
        vec![("b.gtt", with("  route      central vein\n  pump       syringe\n  mix        50 mg made up to 50 mL with saline\n  prime", "  pump       syringe\n  route      central vein\n  mix        50 mg made up to 50 mL with saline\n  prime").as_str())],
        House::default(),
    );
    assert!(compare(&workspace(BASE), &moved).is_same());
}

#[test]
fn a_dose_is_told_by_all_that_follows() {
    // 1 mg/mL. Before 0.05 mg/kg/h, from 100 kg on 5 mg/h; after it 0.06, from
    // 83.33 kg on 5 mg/h: the ratio is 1.2 up to there, by hand.
    let found = compared(BASE, &with("at 0.05 mg/kg/h,", "at 0.06 mg/kg/h,"));
    let told = told(&found);
    let flow = "  ! flow | 40 kg 2 mL/h → 2.4 mL/h | 160 kg 5 mL/h → 5 mL/h | ×6/5 at 40 kg";
    assert!(told.contains(flow), "{told}");
    // What does not follow from the setting is not there.
    assert!(
        !told.contains("strength") && !told.contains("lowest"),
        "{told}"
    );
    assert_eq!(found.subjects.len(), 1, "{told}");
    assert!(found.subjects[0].marked);
}

#[test]
fn a_small_change_is_told_and_not_marked() {
    // 0.052 over 0.05 is 26/25, by hand: less than the threshold of 10 %.
    let found = compared(BASE, &with("at 0.05 mg/kg/h,", "at 0.052 mg/kg/h,"));
    let subject = &found.subjects[0];
    let flow = subject
        .changes
        .iter()
        .find(|change| change.what == "flow")
        .unwrap();
    assert_eq!(
        flow.greatest.as_ref().unwrap().ratio,
        Exact::ratio(26, 25).unwrap()
    );
    assert!(!flow.marked);
    // A house that wants to see it, and a change that lifts the threshold.
    let strict = || House::from_toml("[house]\nmarked-change = \"2 %\"\n").unwrap();
    let after = with("at 0.05 mg/kg/h,", "at 0.052 mg/kg/h,");
    let before = Workspace::new(vec![("a.gtt", BASE)], strict());
    let found = compare(&before, &workspace(&after));
    assert!(found.subjects[0].marked);
    assert!(
        told(&found).contains("! marked change | 2 % → 10 % | ×5 | widened"),
        "{}",
        told(&found)
    );
}

#[test]
fn limits_are_widened_and_narrowed_at_their_drug() {
    let one = |from: &str, to: &str, wanted: &str| {
        assert_told(BASE, &with(from, to), wanted);
    };
    one(
        "never dose       above 20 mg/h",
        "never dose       above 30 mg/h",
        "! testamine
         ! never dose above | 20 mg/h → 30 mg/h | ×3/2 | widened",
    );
    one(
        "usual dose       0.5 to 5 mg/h",
        "usual dose       1 to 5.2 mg/h",
        "! testamine
         ! usual dose from | 0.5 mg/h → 1 mg/h | ×2 | narrowed
         - usual dose up to | 5 mg/h → 5.2 mg/h | ×26/25 | widened",
    );
    one(
        "  never strength   above 4 mg/mL by peripheral vein\n",
        "",
        "! testamine
         ! never strength above, by peripheral vein | 4 mg/mL → · | widened | removed",
    );
    one(
        "  never undiluted\n",
        "",
        "! testamine
         ! never undiluted | · → · | widened | removed",
    );
    one(
        "  never undiluted\n",
        "  never undiluted\n  never in icu except by central vein\n",
        "- testamine
         - never in, except by central vein | · → icu | narrowed | added",
    );
    one(
        "only by    central vein, peripheral vein",
        "only by    central vein, peripheral vein, intraosseous",
        "! testamine
         ! only by | central vein, peripheral vein → central vein, intraosseous, peripheral vein | widened",
    );
}

#[test]
fn areas_and_pumps_show_where_they_are_stated_and_what_they_move() {
    assert_told(
        BASE,
        &with("  ceiling    60 mL/h\n", "  ceiling    50 mL/h\n"),
        "! icu
         ! ceiling | 60 mL/h → 50 mL/h | ×5/6 | narrowed",
    );
    // Settings are 0.1, 0.6, … 2.1, 2.6 … instead of each tenth. 2.25 mL/h, at
    // 45 kg, was run at 2.3 and is run at 2.1, the cap of 5 keeps 5 down to
    // 4.6; no ratio is further from 1 than 21/23: by hand.
    let found = compared(
        BASE,
        &with(
            "99.9 mL/h in steps of 0.1 mL/h",
            "99.9 mL/h in steps of 0.5 mL/h",
        ),
    );
    let told = told(&found);
    let steps = "! syringe\n  ! flow, in steps of | 0.1 mL/h → 0.5 mL/h | ×5";
    let pump_flow = "- pump flow | 40 kg 2 mL/h → 2.1 mL/h | 45 kg 2.3 mL/h → 2.1 mL/h \
                     | 160 kg 5 mL/h → 4.6 mL/h | ×21/23 at 45 kg";
    assert!(told.contains(steps) && told.contains(pump_flow), "{told}");
    // The exact flow is what it was.
    assert!(
        !told.contains("- flow") && !told.contains("! flow |"),
        "{told}"
    );
    let names: Vec<_> = found
        .subjects
        .iter()
        .map(|subject| subject.name.as_str())
        .collect();
    assert_eq!(names, ["steady", "syringe", "two"]);
    assert_eq!(found.subjects[1].used_by, ["steady", "two"]);
}

#[test]
fn a_strength_elsewhere_shows_at_each_order_that_it_moves() {
    let found = compared(
        BASE,
        &with("supplied   50 mg in 5 mL", "supplied   50 mg in 10 mL"),
    );
    let told = told(&found);
    for draw in [
        "! draw | 5 mL → 10 mL | ×2",
        "! draw (first) | 5 mL → 10 mL | ×2",
    ] {
        assert!(told.contains(draw), "{told}");
    }
    assert!(
        told.contains("! supplied strength | 10 mg/mL → 5 mg/mL | ×1/2"),
        "{told}"
    );
    assert!(!told.contains("flow"), "{told}");
}

#[test]
fn ages_are_told_in_years() {
    let age = "  patient    weight 40 to 160 kg\n";
    let before = with(age, &format!("{age}  patient    age 16 years or more\n"));
    let after = before.replace("age 16 years", "age 18 months");
    let found = told(&compared(&before, &after));
    let line = "! patient age from | 16 years → 18 months | ×3/32 | widened";
    assert!(found.contains(line), "{found}");
}
