use crate::harness::assert_findings;

#[test]
fn drugs() {
    assert_findings(
        r#"
drug ca-x "Calcium gluconate 10 %"
  supplied   1 g in 10 mL
  equals     1 g, 2.26 mmol
  contains   calcium 2.26 mmol/mL
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ mix.contradict: The statements about calcium contradict each other: 0.226 mmol/mL by `equals 1 g, 2.26 mmol`, and 2.26 mmol/mL by `contains calcium 2.26 mmol/mL`.

drug potassium-strong "Potassium"
  supplied   20 mmol in 10 mL
  contains   potassium 0.2 mmol/mL
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ mix.contradict: The statements about potassium

drug magnesium "Magnesium sulphate 50 %"
  supplied   5 g in 10 mL
  equals     1 g, 40.6 mmol
  ^^^^^^^^^^^^^^^^^^^^^^^^^ mix.contradict: By its molar mass 1000 mg of magnesium sulfate is 4.06 to 8.31 mmol, but 40.6 mmol is written.

drug phosphates "Phosphates"
  supplied   10 mmol in 10 mL
  equals     1 mmol, 15 mEq
  ^^^^^^^^^^^^^^^^^^^^^^^^^ mix.contradict: an ion has one to four charges

drug limitamine "A drug"
  supplied   1 g in 10 mL
  equals     1 g, 4 mmol
  equals     2 g, 4 mmol
  ^^^^^^^^^^^^^^^^^^^^^^ mix.contradict: Two `equals` lines of limitamine contradict each other by a factor of 2.

drug glucose-50 "Glucose 50 %"
  supplied   25 g in 50 mL
  contains   glucose 50 mg/mL
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ mix.contradict: The statements about glucose

drug sodium-bicarbonate "Sodium bicarbonate 8.4 %"
  supplied   100 mmol in 100 mL
  contains   sodium 1 mmol/mL
  osmolarity 200 mOsm/L
  ^^^^^^^^^^^^^^^^^^^^^ mix.contradict: The contents by themselves give at least 2000 mOsm/L, but 200 mOsm/L is stated.

drug kalium "An ampoule whose name is no substance"
  supplied   20 mmol in 10 mL
  contains   potassium 0.2 mmol/mL
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ mix.contradict: The statements about potassium
  contains   chloride 0.2 mmol/mL

drug kalium-strong "Ten times too much"
  supplied   1.5 g in 10 mL
  equals     1.5 g, 20 mmol
  contains   potassium 20 mmol/mL
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ mix.contradict: The statements about potassium

drug kalium-heavy "More potassium than there is of anything"
  supplied   1.5 g in 10 mL
  contains   potassium 20 mmol/mL
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ mix.contradict: The statements about potassium

drug potassium-chloride "Potassium chloride 7.5 %"
  supplied   20 mmol in 10 mL
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ mix.contradict: 1.01 mmol/mL by `"Potassium chloride 7.5 %"` (by the molar mass of potassium chloride), and 2 mmol/mL by
"#,
    );
}

#[test]
fn solutions() {
    assert_findings(
        r#"
solution glucose-50 "Glucose 50 %"
  contains   glucose 50 mg/mL
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^ mix.contradict: The statements about glucose contradict each other: 2.52 to 2.78 mmol/mL by `"Glucose 50 %"` (by the molar mass of glucose), and 0.252 to 0.278 mmol/mL by

solution saline "Sodium chloride 0.9 %"
  contains   sodium 1.54 mmol/mL
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ mix.contradict: The statements about sodium
  contains   chloride 0.154 mmol/mL
  ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ mix.contradict: Positive and negative ions are both listed, and one kind is 10 times the other: in a solution they must balance.

solution dextrose-10 "Dextrose 10 %"
  contains   dextrose 100 mg/mL
  osmolarity 55.5 mOsm/L
  ^^^^^^^^^^^^^^^^^^^^^^ mix.contradict: The contents by themselves give at least 505 mOsm/L, but 55.5 mOsm/L is stated.

solution dextrose-5 "Dextrose 5 %"
  contains   dextrose 50 mg/mL
  osmolarity 2,520 mOsm/L
  ^^^^^^^^^^^^^^^^^^^^^^^ mix.contradict: The contents give about 278 mOsm/L, but 2520 mOsm/L is stated.
"#,
    );
}

#[test]
fn labels_are_rounded_and_lists_need_not_be_whole() {
    assert_findings(
        r#"
solution dextrose-5 "Dextrose 5 %"
  contains   glucose 50 mg/mL
  osmolarity 252 mOsm/L

solution saline "Sodium chloride 0.9 %"
  contains   sodium 154 mmol/L
  contains   chloride 154 mmol/L
  osmolarity 286 mOsm/L

solution both "Glucose 5 % in sodium chloride 0.45 % with potassium 20 mmol/L"
  contains   glucose 50 mg/mL
  contains   sodium 0.077 mmol/mL
  contains   potassium 0.02 mmol/mL
  contains   chloride 0.097 mmol/mL

solution ringer-lactate "Compound sodium lactate"
  contains   sodium 0.131 mmol/mL
  contains   potassium 0.005 mmol/mL
  contains   chloride 0.111 mmol/mL
  osmolarity 278 mOsm/L

drug benzylpenicillin "Benzylpenicillin sodium, made up"
  supplied   600 mg in 10 mL
  equals     600 mg, 1.68 mmol
  contains   sodium 0.168 mmol/mL

drug mycin "A drug with a trace beside it"
  supplied   1 g in 10 mL
  equals     1 g, 2 mmol
  contains   potassium 0.01 mmol/mL
  contains   sodium 0.5 mmol/mL

drug calcium-chloride "Calcium chloride 10 %"
  supplied   1 g in 10 mL
  equals     1 g, 6.8 mmol, 13.6 mEq
  contains   calcium 0.68 mmol/mL
  contains   chloride 1.36 mmol/mL

drug magnesium "Magnesium sulfate 50 %"
  supplied   5 g in 10 mL
  equals     1 g, 4.06 mmol, 8.12 mEq
  contains   magnesium 2 mmol/mL
  osmolarity 4,060 mOsm/L
"#,
    );
}
