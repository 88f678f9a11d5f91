//! What stands above headers.

use super::{lenses, said};
use crate::features::harness::Fixture;

const TEXT: &str = "\
solution saline
  contains   sodium 0.154 mmol/mL

drug morphine
  supplied   10 mg in 1 mL

order steady
  drug       morphine
  patient    weight 40 to 120 kg
  mix        50 mg made up to 50 mL with saline
  run        all at 0.02 mg/kg/h
  then       stop
  expect     flow 1.4 mL/h at 70 kg

order fixed
  drug       morphine
  mix        50 mg made up to 50 mL with saline
  run        all at 2 mL/h
  then       stop

order begun
  drug       morphine

set night
  include    steady, fixed
";

fn told(text: &str) -> Vec<String> {
    let fixture = Fixture::of(text);
    let found = lenses(fixture.site());
    found
        .into_iter()
        .map(|lens| {
            let header = lens.span.text(&fixture.site().source().text).to_owned();
            let said = said(fixture.site(), lens).unwrap();
            format!("{header}: {} ({})", said.title, said.places.len())
        })
        .collect()
}

#[test]
fn an_order_and_its_drug() {
    assert_eq!(
        told(TEXT),
        [
            "drug morphine: in 3 orders (3)",
            "order steady: 40 to 120 kg \u{b7} 0.8 to 2.4 mL/h \u{b7} 1 worked example (0)",
            "order steady: in 1 set (1)",
            "order fixed: every patient alike \u{b7} 2 mL/h \u{b7} no worked example (0)",
            "order fixed: in 1 set (1)",
            "order begun: not complete: a `run` or a `bolus` is missing (0)",
            "order begun: in no set (0)",
        ]
    );
}

#[test]
fn a_lens_of_a_header_that_moved_is_not_answered() {
    let fixture = Fixture::of(TEXT);
    let mut lens = lenses(fixture.site())[0];
    lens.span.start += 1;
    assert_eq!(said(fixture.site(), lens), None);
}
