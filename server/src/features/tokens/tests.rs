use super::{Token, tokens};
use crate::features::harness::Fixture;
use gutta_notation::Span;

const WARD: &str = "\
# Of the ward: \"é\"
use \"drugs.gtt\"  # 𝕏
drug noradrenaline \"Noradrenaline #1\"
  also       norepinephrine
  dosed in   mcg/kg/min
  with       glucose-5,saline
  only by    central vein, wound
  usual dose       0.01 to 1 mcg/kg/min in icu as loading
  never total above 25,000 units in any 2 h 30 min except by wound
order a
  run        5mL at 40 drops/min, at most 5 mL/h  # as told
  mix        4 mg made up too 50 mL \"x
  waive      limit.unusual of dose up to 2 mg/h because \"é\" until 2027-01-01
  expect     potassium 5 mmol at 70 kg in first
ordr x
  run 5 mL
set s
  line       one: a
";

fn check(text: &str, tokens: &[Token]) {
    let mut end = 0;
    for token in tokens {
        assert!(
            token.span.start >= end && !token.span.is_empty(),
            "{text:?}"
        );
        let own = text.get(token.span.start as usize..token.span.end as usize);
        assert!(!own.unwrap().contains(['\n', '\r']), "{text:?}");
        end = token.span.end;
    }
}

#[test]
fn every_piece_has_its_kind() {
    let fixture = Fixture::of(WARD);
    let found = tokens(fixture.site(), None);
    check(WARD, &found);
    let told = found.iter().map(|token| {
        let mark = if token.declares { "!" } else { "" };
        format!("{:?}{mark} {}", token.kind, token.span.text(WARD))
    });
    insta::assert_snapshot!(told.collect::<Vec<_>>().join("\n"), @r#"
    Comment # Of the ward: "é"
    Keyword use
    Text "drugs.gtt"
    Comment # 𝕏
    Keyword drug
    Name(Drug)! noradrenaline
    Text "Noradrenaline #1"
    Keyword also
    Name(Drug)! norepinephrine
    Keyword dosed
    Keyword in
    Unit mcg/kg/min
    Keyword with
    Name(Solution) glucose-5
    Name(Solution) saline
    Keyword only
    Keyword by
    Route central vein
    Route wound
    Keyword usual
    Measure dose
    Number 0.01
    Word to
    Number 1
    Unit mcg/kg/min
    Word in
    Name(Area) icu
    Word as
    Purpose loading
    Keyword never
    Measure total
    Word above
    Number 25,000
    Unit units
    Word in
    Word any
    Number 2
    Unit h
    Number 30
    Unit min
    Word except
    Word by
    Route wound
    Keyword order
    Name(Order)! a
    Keyword run
    Number 5
    Unit mL
    Word at
    Number 40
    Unit drops/min
    Word at
    Word most
    Number 5
    Unit mL/h
    Comment # as told
    Keyword mix
    Number 4
    Number 50
    Text "x
    Keyword waive
    Rule limit.unusual
    Word of
    Measure dose
    Word up
    Word to
    Number 2
    Unit mg/h
    Word because
    Text "é"
    Word until
    Number 2027-01-01
    Keyword expect
    Substance potassium
    Number 5
    Unit mmol
    Word at
    Number 70
    Unit kg
    Word in
    Phase first
    Keyword set
    Keyword line
    Line! one
    Name(Order) a
    "#);
}

#[test]
fn a_range_has_what_the_whole_has() {
    let fixture = Fixture::of(WARD);
    let all = tokens(fixture.site(), None);
    let from = WARD.find("order").unwrap() as u32;
    let span = Span::new(from, from + 60);
    let inside: Vec<_> = all
        .into_iter()
        .filter(|token| token.span.start < span.end && span.start < token.span.end)
        .collect();
    assert!(!inside.is_empty());
    assert_eq!(tokens(fixture.site(), Some(span)), inside);
}

#[test]
fn half_typed_texts_have_pieces_in_order() {
    for (end, _) in WARD.char_indices() {
        let text = &WARD[..end];
        check(text, &tokens(Fixture::of(text).site(), None));
    }
    for text in [
        "",
        "\r",
        "\r\n#",
        "a \"# \n\"",
        "run 5\u{a0}mL,,:\"",
        "order a\r  run\r\n5 ",
    ] {
        check(text, &tokens(Fixture::of(text).site(), None));
    }
}
