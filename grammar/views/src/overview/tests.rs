//! What a view beside the editor is given.

use gutta_checks::{Options, check};
use gutta_notation::StanzaKind;
use gutta_protocol::model::Library;
use gutta_protocol::{House, Workspace};
use gutta_quantity::Exact;

use super::Overview;

const TARNWICK: &str = include_str!("../../../checks/src/tarnwick.gtt");

/// A page with this text, beside what it uses.
fn workspace(text: &str) -> Workspace {
    let text = format!("use \"tarnwick.gtt\"\n\n{text}");
    let files = vec![("page.gtt", text.as_str()), ("tarnwick.gtt", TARNWICK)];
    Workspace::new(files, House::default())
}

/// Of the first order of a text, with a row for 70 kg.
fn overview(text: &str) -> Overview {
    let workspace = workspace(text);
    let library = Library::new(&workspace);
    let page = workspace.file_at("page.gtt");
    let mut orders = workspace.stanzas_of(StanzaKind::Order);
    let id = orders.find(|id| Some(id.file) == page).expect("an order");
    Overview::of(&workspace, &library, id, Some(&Exact::int(70)))
}

const ORDER: &str = "\
order limitamine-central \"Limitamine\"
  drug       limitamine
  area       adult-icu
  route      central vein
  pump       syringe
  mix        100 mg made up to 50 mL with saline
  run        all at 5 mcg/kg/min
  adjust     1 to 10 mcg/kg/min by 1 mcg/kg/min every 5 min
  then       renew

drug limitamine \"A drug with limits\"
  supplied   40 mg in 4 mL
  with       saline
  usual dose       1 to 5 mcg/kg/min
  never dose       above 8 mcg/kg/min
";

#[test]
fn values_and_drawing_of_an_order() {
    let overview = overview(ORDER);
    let told = serde_json::to_string_pretty(&overview).expect("an object");
    insta::assert_snapshot!(told);
}

#[test]
fn no_number_of_a_bag_that_cannot_be_made() {
    let overview = overview(&ORDER.replace("100 mg made", "600 mg made"));
    assert!(overview.parts.is_empty());
    let [missing] = overview.missing.as_slice() else {
        panic!("{:?}", overview.missing);
    };
    assert!(missing.starts_with("the bag on line "), "{missing}");
}

#[test]
fn no_number_of_an_incomplete_order() {
    let overview = overview(&ORDER.replace("central vein", "sentral vein"));
    assert!(!overview.missing.is_empty());
    assert!(overview.parts.is_empty());
    let overview = super::tests::overview(&ORDER.replace("saline", "salt"));
    assert!(!overview.missing.is_empty());
    assert!(overview.parts.is_empty());
}

/// What the drawing says of a limit is what judging the order finds.
#[test]
fn the_drawing_agrees_with_the_findings() {
    for (dose, never, usual) in [
        ("5", false, false),
        ("6", false, true),
        ("8", false, true),
        ("9", true, true),
    ] {
        let text = ORDER.replace("all at 5 mcg", &format!("all at {dose} mcg"));
        let text = text.replace("1 to 10 mcg/kg/min by 1", "1 to 5 mcg/kg/min by 1");
        let summary = overview(&text).parts[0].drawings[0].summary.join("\n");
        let found = check(&workspace(&text), None, &Options::default());
        let names: Vec<_> = found.iter().map(|finding| finding.rule.name).collect();
        let beyond = "Not kept from 40 to 150 kg";
        for (rule, bound, expected) in [
            ("limit.never", "never dose above 8", never),
            ("limit.unusual", "maximum of usual dose", usual),
        ] {
            assert_eq!(names.contains(&rule), expected, "{dose}: {names:?}");
            let said = format!("{beyond}: {bound}");
            assert_eq!(summary.contains(&said), expected, "{dose}: {summary}");
        }
    }
}

#[test]
fn what_could_not_be_drawn_is_named_once() {
    let text = ORDER.replace("1 to 5 mcg/kg/min\n", "1 to 5 units/h\n");
    let overview = overview(&text);
    assert_eq!(overview.missing, [""; 0]);
    assert_eq!(
        overview.parts[0].drawings[0].undrawn,
        ["usual dose 1 to 5 units/h (limitamine)"]
    );
}

/// Drug by surface: which weight it is makes no difference, until something
/// goes by it.
#[test]
fn a_table_for_each_end_only_where_they_differ() {
    let by_surface = "order a \"A\"
  drug       limitamine
  area       adult-icu
  patient    surface 1 to 2 m2
  route      central vein
  pump       syringe
  mix        100 mg made up to 50 mL with saline
  run        40 mL at 5 mg/m2/h
  then       stop

drug limitamine
  supplied   40 mg in 4 mL
  with       saline
";
    let with = |text: &str| {
        let part = overview(text).parts.swap_remove(0);
        let tables = part.tables.into_iter().map(|table| table.with);
        let drawings = part.drawings.into_iter().map(|drawing| drawing.with);
        (tables.collect::<Vec<_>>(), drawings.collect::<Vec<_>>())
    };
    assert_eq!(with(by_surface), (vec![None], vec![None]));
    let both = by_surface.replace("  then", "  run        all at 0.1 mg/kg/h\n  then");
    let ends = |low: &str, high: &str| vec![Some(low.to_owned()), Some(high.to_owned())];
    assert_eq!(with(&both).0, ends("1 m2", "2 m2"));
}

#[test]
fn a_part_for_each_phase() {
    let overview = overview(
        "order two \"Two phases\"
  drug       ketamine-plain
  area       adult-icu
  route      central vein
  pump       syringe
  mix        200 mg made up to 50 mL with saline
  phase load
  run        10 mL over 10 min
  phase upkeep
  run        all at 0.1 mg/kg/h
  then       stop

drug ketamine-plain
  supplied   200 mg in 20 mL
  with       saline
",
    );
    assert_eq!(overview.missing, [""; 0]);
    let names = overview.parts.iter().map(|part| part.name.as_deref());
    assert_eq!(
        names.collect::<Vec<_>>(),
        [Some("load"), Some("upkeep"), Some("the whole order")]
    );
}
