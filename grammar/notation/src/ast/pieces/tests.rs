//! The quantities of lines.

use crate::{Style, read};

/// Each quantity of the lines, as it is written.
fn quantities(text: &str) -> Vec<&str> {
    let file = read(text, Style::USUAL);
    let placed = file.stanzas.first().unwrap();
    let lines = placed.stanza.lines.iter();
    lines
        .flat_map(|line| line.fact.quantities())
        .map(|written| written.span.text(text))
        .collect()
}

#[test]
fn of_an_order() {
    let text = "\
order a
  patient weight 40 to 120 kg
  mix 20 mg/kg, at most 2 g, added to 100 mL of saline, counted as 100 mL
  run 50 mL at 2 mL/h, at most 9 mL/h every 8 h for 3 days
  bolus 5 mL over 2 min
  adjust 1, 2 mL/h every 5 min
  expect flow 3 mL/h at 70 kg
";
    assert_eq!(
        quantities(text),
        [
            "40", "120 kg", "20 mg/kg", "2 g", "100 mL", "100 mL", "50 mL", "2 mL/h", "9 mL/h",
            "8 h", "3 days", "5 mL", "2 min", "1", "2 mL/h", "5 min", "3 mL/h", "70 kg"
        ]
    );
}

#[test]
fn of_a_drug() {
    let text = "\
drug a
  supplied 4 mg in 4 mL
  usual dose 1 to 2 mg/h for 2 to 10 kg after the first 1 h
  never total above 4 g in any 24 h except aged up to 3 years
  equals 1 g, 4.06 mmol
";
    assert_eq!(
        quantities(text),
        [
            "4 mg",
            "4 mL",
            "1",
            "2 mg/h",
            "2",
            "10 kg",
            "1 h",
            "4 g",
            "24 h",
            "3 years",
            "1 g",
            "4.06 mmol"
        ]
    );
}
