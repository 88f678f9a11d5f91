//! What stanzas state, and what becomes of them.

use super::{BASE, assert_told, compared, told, with};

#[test]
fn what_an_order_states_is_compared_part_by_part() {
    let one = |from: &str, to: &str, wanted: &str| {
        assert_told(BASE, &with(from, to), wanted);
    };
    one(
        "  ceiling    40 mL/h\n",
        "",
        "! steady
         ! ceiling | 40 mL/h → · | widened | removed",
    );
    one(
        "every 30 min",
        "every 10 min",
        "! steady
         ! adjust every | 30 min → 10 min | ×1/3 | widened",
    );
    one(
        "  monitor    \"the pulse every hour\"\n",
        "  monitor    \"the pulse every day\"\n",
        "- steady
         - monitor | the pulse every hour → the pulse every day",
    );
    one(
        "review by  2027-11-01",
        "review by  2028-11-01",
        "- steady
         - review by | 2027-11-01 → 2028-11-01",
    );
    let stopped = told(&compared(
        BASE,
        &with("  then       renew\n", "  then       stop\n"),
    ));
    assert!(stopped.contains("! then | renew → stop"), "{stopped}");
    let cap = told(&compared(
        BASE,
        &with("at most 5 mg/h\n", "at most 8 mg/h\n"),
    ));
    assert!(
        cap.contains("! maximum of the run | 5 mg/h → 8 mg/h | ×8/5 | widened"),
        "{cap}"
    );
    // From 160 kg on it would bind; at 160 kg the dose is 8 mg/h, by hand.
    assert!(
        cap.contains("160 kg 5 mL/h → 8 mL/h | ×8/5 at 160 kg"),
        "{cap}"
    );
}

#[test]
fn another_route_brings_other_limits() {
    let after = BASE.replacen("route      central vein", "route      peripheral vein", 1);
    assert_told(
        BASE,
        &after,
        "! steady
         ! route | central vein → peripheral vein
         - applies: never strength above, by peripheral vein | · → 4 mg/mL | narrowed | added",
    );
}

#[test]
fn what_an_ingredient_limits() {
    let salted = with(
        "0.9 %\"\n  osmolarity 308",
        "0.9 %\"\n  contains   sodium 0.154 mmol/mL\n  osmolarity 308",
    );
    let base = format!(
        "{salted}\ningredient sodium \"Sodium\"\n  never dose above 20 mmol/h by peripheral vein\n  equals 1 g, 43.5 mmol\n"
    );
    let looser = base.replace("above 20 mmol/h", "above 30 mmol/h");
    assert_told(
        &base,
        &looser,
        "! sodium
         ! never dose above, by peripheral vein | 20 mmol/h → 30 mmol/h | ×3/2 | widened",
    );
    let by_arm = base.replacen("route      central vein", "route      peripheral vein", 1);
    assert_told(
        &base,
        &by_arm,
        "! steady
         ! route | central vein → peripheral vein
         - applies: never strength above, by peripheral vein | · → 4 mg/mL | narrowed | added
         - applies: sodium, never dose above, by peripheral vein | · → 20 mmol/h | narrowed | added",
    );
    let gone = told(&compared(&base, &salted));
    assert_eq!(gone, "! sodium removed");
    let comparison = compared(&base, &looser);
    assert_eq!(comparison.subjects[0].used_by, ["steady", "two"]);
}

#[test]
fn waivers_and_worked_examples_are_watched() {
    let one = |from: &str, to: &str, wanted: &str| {
        assert_told(BASE, &with(from, to), wanted);
    };
    one(
        "  expect     flow 2.5 mL/h at 50 kg\n",
        "",
        "! steady
         ! example of flow at 50 kg | 2.5 mL/h → · | removed",
    );
    one(
        " until 2027-01-01\n",
        " until 2029-01-01\n",
        "! steady
         ! waiver of flow.step-error, until | 2027-01-01 → 2029-01-01 | widened",
    );
    one(
        "  expect     flow 2.5",
        "  waive limit.unusual of dose up to 8 mg/h because \"new evidence\"\n  expect     flow 2.5",
        "! steady
         ! waiver of limit.unusual, dose up to | · → 8 mg/h | widened | added
         - waiver of limit.unusual, dose up to, because | · → new evidence | added",
    );
    let line = "  waive flow.step-error because \"tried out on the ward\" until 2027-01-01\n";
    one(
        line,
        "",
        "- steady
         - waiver of flow.step-error | · → · | narrowed | removed",
    );
}

#[test]
fn orders_come_go_and_are_renamed() {
    let steady = BASE.find("order steady").unwrap();
    let two = BASE.find("order two").unwrap();
    let without = format!("{}{}", &BASE[..steady], &BASE[two..]).replace("steady, two", "two");
    let set = "! both
         ! includes steady | · → · | removed";
    assert_told(BASE, &without, &format!("! steady removed\n{set}"));
    assert_told(
        &without,
        BASE,
        "! steady added
         ! both
         ! includes steady | · → · | added",
    );
    let renamed = BASE
        .replace("order steady", "order calm")
        .replace("steady, two", "calm, two");
    assert_told(
        BASE,
        &renamed,
        "! calm renamed from steady
         ! both
         ! includes steady | · → · | removed
         ! includes calm | · → · | added",
    );
}

#[test]
fn an_order_that_cannot_be_derived_is_said() {
    let broken = with("run        all at 0.05", "run        al at 0.05");
    assert_told(
        BASE,
        &broken,
        "! steady
         ! values | derived → none: line 35 could not be read
         ! run set by | a dose by mass per kg → · | removed
         ! maximum of the run | 5 mg/h → · | widened | removed
         ! line that could not be read | · → run al at 0.05 mg/kg/h, at most 5 mg/h | added",
    );
    let back = told(&compared(&broken, BASE));
    assert!(
        back.contains("! values | none: line 35 could not be read → derived"),
        "{back}"
    );
    // In both states: that nothing was compared, and what else is otherwise.
    let worse = broken.replace("0.05 mg/kg/h", "0.5 mg/kg/h");
    let found = told(&compared(&broken, &worse));
    assert!(
        found.contains("line that could not be read | run al at 0.05"),
        "{found}"
    );
    assert!(found.contains("? the values of order steady"), "{found}");
    let comparison = compared(&broken, &broken);
    assert!(comparison.subjects.is_empty() && !comparison.is_same());
    // A stanza that is none.
    let gone = compared(BASE, &BASE.replace("order two", "ordr two"));
    let gone = told(&gone);
    assert!(gone.contains("! two removed"), "{gone}");
    assert!(
        gone.contains("? after: no stanza could be read at a.gtt:44"),
        "{gone}"
    );
}

#[test]
fn ranges_of_patients_are_compared_where_both_cover() {
    let wider = with(
        "patient    weight 40 to 160 kg",
        "patient    weight 40 to 200 kg",
    );
    let found = told(&compared(BASE, &wider));
    let state = "- patient weight up to | 160 kg → 200 kg | ×5/4 | widened";
    assert_eq!(found.matches(&state[1..]).count(), 3, "{found}");
    assert!(!found.contains("flow"), "{found}");
    let apart = with(
        "patient    weight 40 to 160 kg",
        "patient    weight 2 to 6 kg",
    );
    let found = told(&compared(BASE, &apart));
    assert!(
        found.contains("! values | · → not compared: they have no patient in common"),
        "{found}"
    );
}

#[test]
fn a_new_phase_is_told_and_the_others_keep_their_names() {
    let after = with(
        "  phase      second\n",
        "  phase      between\n    run      5 mL over 1 h\n  phase      second\n",
    );
    let found = told(&compared(BASE, &after));
    assert!(found.contains("! phase between | · → · | added"), "{found}");
    assert!(
        !found.contains("(second)") && !found.contains("(first)"),
        "{found}"
    );
}
