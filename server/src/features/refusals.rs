//! Where too much would follow, each feature says so, once.

use gutta_quantity::work;

use super::harness::Fixture;
use super::lenses::{self, About, Lens};
use super::{TOO_LONG, TOO_LONG_SHORT, hints, hover, overview};
use crate::state::Refused;

const WARD: &str = "\
drug noradrenaline \"Noradrenaline\"
  supplied   4 mg in 4 mL

solution glucose-5 \"Glucose 5 %\"
  contains   glucose 50 mg/mL

order nor|adrenaline \"Noradrenaline\"
  drug       noradrenaline
  patient    weight 40 to 120 kg
  route      central vein
  mix        4 mg made up to 50 mL with glucose-5
  r|un        all at 0.05 mcg/kg/min
  then       stop

order other \"Other\"
  drug       noradrenaline
";

/// What each face says, in its order, and how much work that was.
fn told(fixture: &Fixture) -> (Vec<String>, u64) {
    let site = fixture.site();
    let whole = gutta_notation::Span::new(0, site.source().text.len() as u32);
    work::counted(|| {
        let hints = hints::hints(site, whole);
        let lens = lenses::lenses(site).into_iter();
        let lens: Vec<Lens> = lens.filter(|lens| lens.about == About::Order).collect();
        let name = hover::hover(site, fixture.cursors[0]).unwrap();
        let line = hover::hover(site, fixture.cursors[1]).unwrap();
        let view = overview::overview(site, fixture.cursors[0]).unwrap();
        vec![
            hints.last().unwrap().label.clone(),
            lenses::said(site, lens[0]).unwrap().title,
            name.text,
            line.text,
            view.missing.join(" "),
        ]
    })
}

#[test]
fn too_much_is_said_and_not_begun_again() {
    let mut fixture = Fixture::of(WARD);
    let (right, much) = told(&fixture);
    assert!(!right.concat().contains("too long"), "{right:?}");
    fixture.refused = Refused::beyond(10);
    let (said, first) = told(&fixture);
    for (said, words) in
        said.iter()
            .zip([TOO_LONG_SHORT, TOO_LONG_SHORT, TOO_LONG, TOO_LONG, TOO_LONG])
    {
        assert!(said.contains(words), "{said}");
    }
    // What is cheap stands beside it.
    assert!(said[2].contains("order noradrenaline"), "{}", said[2]);
    let (again, second) = told(&fixture);
    assert_eq!(again, said);
    assert!(second < first && first < much, "{second} {first} {much}");
    fixture.refused.forget();
    assert_eq!(told(&fixture).1, first);
}
