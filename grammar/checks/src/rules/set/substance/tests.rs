//! Every number is by hand.

use crate::harness::assert_findings;

const FLUIDS: &str = r#"
use "tarnwick.gtt"

solution saline-kalium "Sodium chloride 0.9 % with potassium 40 mmol/L"
  contains   sodium 0.154 mmol/mL
  contains   potassium 0.04 mmol/mL
  contains   chloride 0.194 mmol/mL

solution kalium-by-mass "Potassium, counted by mass"
  contains   potassium 1.9549 mg/mL
  osmolarity 300 mOsm/L

drug kalium "Potassium chloride, invented"
  dosed in   mmol/h
  supplied   20 mmol in 10 mL
  contains   potassium 2 mmol/mL
  contains   chloride 2 mmol/mL
  with       saline
  LIMITS
  high-alert
"#;

/// The drug at `dose` by a central vein and a fluid at `flow` by a peripheral
/// one, both in a set that bears these marks.
#[track_caller]
fn assert_set((of_drug, ingredient): (&str, &str), (dose, hung): (&str, &str), marks: &str) {
    let fluids = FLUIDS.replace("LIMITS", of_drug);
    let (flow, fluid) = hung.split_once(" of ").unwrap();
    assert_findings(&format!(
        r#"{fluids}
{ingredient}
order kalium-dose "Potassium chloride"
  drug       kalium
  patient    weight 40 to 100 kg
  route      central vein
  pump       volumetric
  mix        40 mmol made up to 100 mL with saline
  run        all at {dose}
  then       stop

order maintenance "Maintenance"
  patient    weight 40 to 100 kg
  route      peripheral vein
  pump       volumetric
  hang       1 L of {fluid}
  run        all at {flow}
  then       renew

set both "Both"
{marks}  include    kalium-dose, maintenance
"#
    ));
}

const MARK: &str = "^^^^^^^^^^^^^^^";

/// 8 mmol/h of the drug and 200 mL/h of 40 mmol/L are 16 mmol/h.
#[test]
fn what_a_fluid_and_a_drug_bring_together() {
    let limit = "never dose above 10 mmol/h";
    let told =
        "set.substance: The potassium of all orders together is 16 mmol/h; never above 10 mmol/h.";
    let fast = ("8 mmol/h", "200 mL/h of saline-kalium");
    let slow = ("8 mmol/h", "50 mL/h of saline-kalium");
    let of_drug = (limit, "");
    assert_set(of_drug, fast, &format!("{MARK} {told}\n"));
    assert_set(of_drug, slow, "");
    let ingredient = format!("ingredient potassium \"Potassium\"\n  {limit}\n");
    let own = ("usual dose 1 to 20 mmol/h", ingredient.as_str());
    assert_set(own, fast, &format!("{MARK} {told}\n"));
    assert_set(own, slow, "");
}

/// What an ingredient says of a measure takes the place of the drug's limit.
#[test]
fn an_ingredient_may_allow_more() {
    let ingredient = "ingredient potassium\n  never dose above 20 mmol/h\n";
    let limits = ("never dose above 10 mmol/h", ingredient);
    assert_set(limits, ("8 mmol/h", "200 mL/h of saline-kalium"), "");
}

/// 40 mmol of the drug, and 24 h at 100 mL/h of 40 mmol/L, 96 mmol: 136 in a day,
/// 3.4 mmol/kg at 40 kg, 3 at 45.3 kg. In any 4 h 32 mmol and 16.
#[test]
fn by_the_day_and_in_any_time() {
    let (fluid, own) = (
        ("8 mmol/h", "100 mL/h of saline-kalium"),
        "usual dose 1 to 20 mmol/h",
    );
    let ingredient = "ingredient potassium\n  never total above 3 mmol/kg per day\n";
    assert_set(
        (own, ingredient),
        fluid,
        &format!(
            "{MARK} set.substance: Below 45.4 kg the potassium of all orders together in 24 h is more than 3 mmol/kg, the most ever allowed: 3.4 mmol/kg at 40 kg.\n"
        ),
    );
    let ingredient = "ingredient potassium\n  never total above 45 mmol in any 4 h\n";
    assert_set(
        (own, ingredient),
        fluid,
        &format!("{MARK} set.substance: in 4 h is 48 mmol; never above 45 mmol.\n"),
    );
}

/// By a peripheral vein comes 4 mmol/h alone; up to 50 kg the sum is 12 mmol/h.
#[test]
fn a_condition_counts_the_orders_for_which_it_holds() {
    let (fluid, own) = (
        ("8 mmol/h", "100 mL/h of saline-kalium"),
        "usual dose 1 to 20 mmol/h",
    );
    let limit = |limit: &str| format!("ingredient potassium\n  never dose above {limit}\n");
    assert_set((own, &limit("6 mmol/h by peripheral vein")), fluid, "");
    assert_set(
        (own, &limit("10 mmol/h by peripheral vein, central vein")),
        fluid,
        &format!("{MARK} set.substance: is 12 mmol/h; never above 10 mmol/h.\n"),
    );
    assert_set(
        (own, &limit("10 mmol/h for 40 to 50 kg")),
        fluid,
        &format!("{MARK} set.substance: is 12 mmol/h; never above 10 mmol/h.\n"),
    );
    assert_set(
        (
            own,
            &limit("10 mmol/h for 10 to 30 kg\n  never dose above 20 mmol/h"),
        ),
        fluid,
        "",
    );
}

/// 100 mL/h of 1.9549 mg/mL are 5 mmol/h; activity is tied to nothing.
#[test]
fn countings_are_brought_together_or_said() {
    let (fluid, own) = (
        ("8 mmol/h", "100 mL/h of kalium-by-mass"),
        "usual dose 1 to 20 mmol/h",
    );
    let limit = |limit: &str| format!("ingredient potassium\n  never dose above {limit}\n");
    assert_set(
        (own, &limit("12 mmol/h")),
        fluid,
        &format!("{MARK} set.substance: is 13 mmol/h; never above 12 mmol/h.\n"),
    );
}

/// 12 mmol/h are more than usual, and not more than ever allowed.
#[test]
fn what_is_usual_is_a_warning() {
    let (fluid, own) = (
        ("8 mmol/h", "100 mL/h of saline-kalium"),
        "usual dose 1 to 20 mmol/h",
    );
    let ingredient =
        "ingredient potassium\n  usual dose up to 10 mmol/h\n  never dose above 20 mmol/h\n";
    assert_set(
        (own, ingredient),
        fluid,
        &format!(
            "{MARK} set.unusual: The potassium of all orders together is 12 mmol/h, more than the usual maximum of 10 mmol/h.\n"
        ),
    );
}
