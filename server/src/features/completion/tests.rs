//! What is offered at a cursor.

use super::{Kind, complete, documentation};
use crate::features::harness::Fixture;

const REFERENCE: &str = "\
solution saline \"Sodium chloride 0.9 %\"
  contains   sodium 0.154 mmol/mL

solution glucose-5 \"Glucose 5 %\"
  contains   glucose 50 mg/mL

solution bicarbonate \"Sodium bicarbonate\"
  contains   sodium 1 mmol/mL

pump syringe \"Syringe pump\"
  flow       0.1 to 200 mL/h in steps of 0.1 mL/h

area ward \"Ward\"
  patient    weight 40 to 120 kg

drug noradrenaline \"Noradrenaline\"
  dosed in   mcg/kg/min
  supplied   4 mg in 4 mL
  with       glucose-5
  not with   bicarbonate
  only by    central vein, umbilical vein
  usual dose 0.01 to 0.5 mcg/kg/min
  never dose above 2 mcg/kg/min except as rescue

drug heparin \"Heparin\"
  dosed in   units/h
  supplied   20,000 units in 20 mL
";

fn scene(text: &str) -> Fixture {
    Fixture::new([("reference.gtt", REFERENCE), ("page.gtt", text)]).checked()
}

/// The labels at the `|`, behind the word that they replace.
fn offered(text: &str) -> String {
    let scene = scene(text);
    let Some(offer) = complete(&scene.site(), scene.cursor()) else {
        return "nothing".to_owned();
    };
    let word = offer.span.text(scene.text());
    let labels = offer.items.iter().take(12).map(|item| &*item.label);
    format!("[{word}] {}", labels.collect::<Vec<_>>().join(", "))
}

fn in_order(line: &str) -> String {
    let said = offered(&format!(
        "use \"reference.gtt\"\n\norder press \"Pressor\"\n  drug       noradrenaline\n{line}\n  note       \"x\"\n"
    ));
    format!("{line}: {said}")
}

#[test]
fn words_and_names_of_an_order() {
    let lines = [
        "  |",
        "  r|",
        "  bolus c|",
        "  mi|",
        "  route      |",
        "  pump       s|yr",
        "  mix        4 mg |",
        "  mix        4 mg made up to 50 mL with |",
        "  mix        4 mg made up to 50 mL with gl|ucose",
        "  run        |",
        "  run        all |",
        "  run        all at 5 mcg/kg/min |",
        "  then       |",
        "  purpose    |",
        "  expect     |",
        "  expect     finding limit.nev|",
        "  waive      limit.n|",
        "  waive      limit.unusual |",
        "  review by  |",
        "  note       \"a |",
        "  run        all # at |",
        "  run        all ovr |",
    ];
    let told: Vec<_> = lines.iter().map(|line| in_order(line)).collect();
    insta::assert_snapshot!(told.join("\n"), @r#"
    |: [] area, patient, dosing weight, purpose, route, pump, giving-set, mix, premixed, hang, undiluted, prime
    r|: [r] area, patient, dosing weight, purpose, route, pump, giving-set, mix, premixed, hang, undiluted, prime
    bolus c|: [bolus c] bolus ceiling
    mi|: [mi] area, patient, dosing weight, purpose, route, pump, giving-set, mix, premixed, hang, undiluted, prime
    route      |: [] central vein, umbilical vein, any
    pump       s|yr: [syr] syringe
    mix        4 mg |: [] at most, made up to, added to
    mix        4 mg made up to 50 mL with |: [] glucose-5, saline
    mix        4 mg made up to 50 mL with gl|ucose: [glucose] glucose-5, saline
    run        |: [] all, at, over, at most
    run        all |: [] at, over, at most
    run        all at 5 mcg/kg/min |: [] at, over, every, at most
    then       |: [] stop, renew, keep open
    purpose    |: [] loading, rescue
    expect     |: [] finding, flow, pump flow, strength, true strength, drops, time, dose, bolus, bolus time, draw, total
    expect     finding limit.nev|: [limit.nev] name.unknown, order.no-route, limit.not-checked, review.none, text.bare-point, text.decimal-comma, text.look-alike, text.no-space, text.no-value, text.odd-character, text.phrase, text.pounds
    waive      limit.n|: [limit.n] name.unknown, review.none, text.bare-point, text.look-alike, text.no-space, text.odd-character, text.phrase, text.pounds, text.printed, text.ratio-strength, text.risky-name, text.risky-unit
    waive      limit.unusual |: [] of, because, until
    review by  |: [] 2027-11-25, 2028-11-25, 2029-11-25
    note       "a |: nothing
    run        all # at |: nothing
    run        all ovr |: nothing
    "#);
}

#[test]
fn units_that_fit() {
    let lines = [
        "  mix        4 |",
        "  mix        4 m|",
        "  mix        4 mg made up to 50 |",
        "  run        50 |",
        "  run        all at 0.5 |",
        "  run        all at 0.5 mcg|/kg/min",
        "  run        all over 2 |",
        "  run        all over 2 h 30 |",
        "  run        all over 1 |",
        "  adjust     0.1 to 0.5 mcg/kg/min by 0.1 |",
        "  patient    weight 40 to 80 |",
        "  patient    age 2 |",
        "  ceiling    20 |",
        "  expect     flow 3.2 |",
        "  expect     flow 3.2 mL/h at 70 |",
        "  waive      limit.unusual of dose up to 3 |",
        "  run        5|",
        "  run        5m|",
    ];
    let told: Vec<_> = lines.iter().map(|line| in_order(line)).collect();
    insta::assert_snapshot!(told.join("\n"), @r"
    mix        4 |: [] mg, mcg, g, mg/kg, mg/m2, mcg/kg, mcg/m2, g/kg, g/m2, mL
    mix        4 m|: [m] mg, mcg, g, mg/kg, mg/m2, mcg/kg, mcg/m2, g/kg, g/m2, mL
    mix        4 mg made up to 50 |: [] mL, L
    run        50 |: [] mL, L, mg, mcg, g, mL/kg, mg/kg, mg/m2, mcg/kg, mcg/m2, g/kg, g/m2
    run        all at 0.5 |: [] mcg/kg/min, mg/h, mg/min, mg/kg/h, mg/kg/min, mg/day, mg/kg/day, mg/m2/day, mcg/h, mcg/min, mcg/kg/h, mcg/day
    run        all at 0.5 mcg|/kg/min: [mcg/kg/min] mcg/kg/min, mg/h, mg/min, mg/kg/h, mg/kg/min, mg/day, mg/kg/day, mg/m2/day, mcg/h, mcg/min, mcg/kg/h, mcg/day
    run        all over 2 |: [] min, h, s, days
    run        all over 2 h 30 |: [] min
    run        all over 1 |: [] min, h, s, day
    adjust     0.1 to 0.5 mcg/kg/min by 0.1 |: [] mcg/kg/min, mg/h, mg/min, mg/kg/h, mg/kg/min, mg/day, mg/kg/day, mg/m2/day, mcg/h, mcg/min, mcg/kg/h, mcg/day
    patient    weight 40 to 80 |: [] kg, g
    patient    age 2 |: [] years, months, weeks, days
    ceiling    20 |: [] mL/h, mL/kg/h
    expect     flow 3.2 |: [] mL/h, mL/kg/h, mL/min, mL/day, mL/kg/day
    expect     flow 3.2 mL/h at 70 |: [] kg, g, m2, mcg/kg/min, mg/h, mg/min, mg/kg/h, mg/kg/min, mg/day, mg/kg/day, mg/m2/day, mcg/h
    waive      limit.unusual of dose up to 3 |: [] mcg/kg/min, mg/h, mg/min, mg/kg/h, mg/kg/min, mg/day, mg/kg/day, mg/m2/day, mcg/h, mcg/min, mcg/kg/h, mcg/day
    run        5|: nothing
    run        5m|: nothing
    ");
}

#[test]
fn other_stanzas() {
    let texts = [
        "|",
        "or|",
        "use \"reference.gtt\"\nuse |\n",
        "use \"re|\n",
        "order na|",
        "use \"reference.gtt\"\ndrug a \"A\"\n  dosed in   |\n",
        "use \"reference.gtt\"\ndrug a \"A\"\n  dosed in   mg/h\n  usual |\n",
        "use \"reference.gtt\"\ndrug a \"A\"\n  dosed in   mg/h\n  usual dose 1 to 2 |\n",
        "use \"reference.gtt\"\ndrug a \"A\"\n  dosed in   mg/h\n  never strength above 2 |\n",
        "use \"reference.gtt\"\ndrug a \"A\"\n  never dose above 2 mg/h |\n",
        "use \"reference.gtt\"\ndrug a \"A\"\n  never dose above 2 mg/h in |\n",
        "use \"reference.gtt\"\ndrug a \"A\"\n  never dose above 2 mg/h except by |\n",
        "use \"reference.gtt\"\ndrug a \"A\"\n  with       saline, |\n",
        "use \"reference.gtt\"\narea a \"A\"\n  |\n",
        "order a \"A\"\norder b \"B\"\nset s \"S\"\n  include    a, |\n",
        "order a \"A\"\norder b \"B\"\nset s \"S\"\n  include    a, b\n  line       x: |\n",
        "use \"reference.gtt\"\nset s \"S\"\n  glucose    up to 5 |\n",
    ];
    let told: Vec<_> = texts
        .iter()
        .map(|text| format!("{}: {}", text.lines().last().unwrap_or(""), offered(text)))
        .collect();
    insta::assert_snapshot!(told.join("\n"), @r#"
    |: [] use, pump, giving-set, area, solution, ingredient, drug, order, specimen, set
    or|: [or] use, pump, giving-set, area, solution, ingredient, drug, order, specimen, set
    use |: nothing
    use "re|: [re] reference.gtt
    order na|: nothing
      dosed in   |: [] mg/h, mg/min, mg/kg/h, mg/kg/min, mg/day, mg/kg/day, mg/m2/day, mcg/h, mcg/min, mcg/kg/h, mcg/kg/min, mcg/day
      usual |: [] dose, flow, single dose, interval, strength, osmolarity, bolus, bolus rate, bolus time, total, time
      usual dose 1 to 2 |: [] mg/h, mg/min, mg/kg/h, mg/kg/min, mg/day, mg/kg/day, mg/m2/day, mcg/h, mcg/min, mcg/kg/h, mcg/kg/min, mcg/day
      never strength above 2 |: [] mg/mL, mcg/mL, g/mL, %
      never dose above 2 mg/h |: [] for, in, by, as, aged, except, per day, in any, after the first
      never dose above 2 mg/h in |: [] ward
      never dose above 2 mg/h except by |: [] central vein, peripheral vein, umbilical vein, intraosseous, subcutaneous, epidural, intrathecal, nerve block, wound, arterial, enteral
      with       saline, |: [] glucose-5, bicarbonate
      |: [] patient, pump, bolus ceiling, ceiling, giving-set, fluid, waive, note, source, monitor, goal, review by
      include    a, |: [] b
      line       x: |: [] a, b
      glucose    up to 5 |: [] mg/kg/min, g/kg/day, g/day
    "#);
}

#[test]
fn what_the_stanza_has_is_not_offered_again() {
    let text = "use \"reference.gtt\"\norder a \"A\"\n  drug       heparin\n  hang       1 L of saline\n  |\n";
    let scene = scene(text);
    let offer = complete(&scene.site(), scene.cursor()).unwrap();
    let has = |word: &str| offer.items.iter().any(|item| item.label == word);
    assert!(!has("drug") && !has("hang") && !has("mix"));
    assert!(has("run") && has("route") && has("phase"));
}

#[test]
fn each_phase_has_its_own_bag() {
    let text =
        "order a \"A\"\n  phase      first\n  hang       1 L of saline\n  phase      second\n  |\n";
    let scene = scene(text);
    let offer = complete(&scene.site(), scene.cursor()).unwrap();
    assert!(offer.items.iter().any(|item| item.label == "mix"));
}

#[test]
fn everything_that_can_be_read_of_is() {
    for text in [
        "|",
        "use \"reference.gtt\"\norder a \"A\"\n  |\n",
        "use \"reference.gtt\"\ndrug a \"A\"\n  |\n",
        "use \"reference.gtt\"\nset a \"A\"\n  |\n",
        "use \"reference.gtt\"\narea a \"A\"\n  |\n",
        "pump a \"A\"\n  |\n",
        "solution a \"A\"\n  |\n",
        "ingredient a \"A\"\n  |\n",
        "giving-set a \"A\"\n  |\n",
        "order a \"A\"\n  waive |\n",
        "use \"reference.gtt\"\norder a \"A\"\n  drug |\n",
    ] {
        let scene = scene(text);
        let offer = complete(&scene.site(), scene.cursor()).unwrap();
        for item in &offer.items {
            let Some(about) = &item.about else { continue };
            let read = documentation(&scene.site(), about);
            assert!(read.is_some_and(|read| read.len() > 10), "{item:?}");
        }
    }
}

#[test]
fn every_whole_stanza_can_be_read_once_it_is_filled_in() {
    let scene = scene("|");
    let offer = complete(&scene.site(), 0).unwrap();
    let stanzas = offer.items.iter().filter(|item| item.kind == Kind::Stanza);
    for item in stanzas {
        let snippet = item.snippet.as_ref().unwrap();
        assert!(snippet.starts_with(&item.text), "{snippet}");
        assert!(!snippet.contains('\t') && snippet.ends_with("$0"));
    }
}

#[test]
fn half_typed_text_gives_an_answer() {
    for (end, _) in REFERENCE.char_indices().chain([(0, ' ')]) {
        for more in ["", "é", "𝕏 ", "  \"", ": "] {
            let text = format!("{}{more}", &REFERENCE[..end]);
            let scene = Fixture::of(&text);
            let at = u32::try_from(text.len()).unwrap();
            let offer = complete(&scene.site(), at);
            let span = offer.map(|offer| offer.span);
            assert!(span.is_none_or(|span| text.is_char_boundary(span.start as usize)));
        }
    }
}
