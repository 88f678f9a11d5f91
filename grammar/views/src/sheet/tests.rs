//! A sheet's words and numbers, from small orders.

use gutta_checks::Options;
use gutta_notation::StanzaKind;
use gutta_notation::ast::Date;
use gutta_protocol::model::Library;
use gutta_protocol::{House, Workspace};
use gutta_quantity::Printed;

use super::{Review, Sheet, sheet};

/// The day on which reviews are judged.
const TODAY: Date = Date {
    year: 2026,
    month: 11,
    day: 25,
};

const REFERENCE: &str = r#"
area icu "Intensive care"
  patient    weight 40 to 160 kg
  patient    age 18 years or more

pump syringe "Syringe pump"
  flow       0.1 to 99.9 mL/h in steps of 0.1 mL/h

pump driver "Syringe driver"
  flow       0.1 to 99.9 mL/h in steps of 0.1 mL/h
  volume     up to 60 mL

solution saline "Sodium chloride 0.9 %"

drug testamine "Testamine"
  supplied   50 mg in 5 mL
  with       saline
"#;

fn made(order: &str) -> Result<Sheet, Vec<String>> {
    let text = format!("{REFERENCE}\norder a \"A\"\n{order}");
    let workspace = Workspace::new(vec![("a.gtt", text)], House::default());
    let library = Library::new(&workspace);
    let id = workspace.stanzas_of(StanzaKind::Order).next().unwrap();
    let options = Options { today: Some(TODAY) };
    sheet(&workspace, &library, id, &options)
}

#[track_caller]
fn of(order: &str) -> Sheet {
    made(order).unwrap_or_else(|why| panic!("{why:?}"))
}

const FRAME: &str = "  drug testamine\n  area icu\n  route central vein\n  pump syringe\n";

fn prepared(bag: &str) -> String {
    let run = "  run all over 10 h\n  then stop\n";
    of(&format!("{FRAME}{bag}{run}")).phases[0]
        .prepare
        .join(" | ")
}

#[test]
fn each_way_to_prepare_a_bag_is_told_in_steps() {
    assert_eq!(
        prepared("  mix 50 mg made up to 50 mL with saline\n"),
        "Take 1 container of Testamine (50 mg in 5 mL). | Draw up 5 mL of Testamine: 50 mg. \
         | Make it up to 50 mL with Sodium chloride 0.9 %: add 45 mL of it. \
         | Mix it. Write the strength on the label: 1 mg/mL."
    );
    assert_eq!(
        prepared("  mix 2 mg/kg, at most 200 mg, added to 250 mL of saline\n"),
        "Take as many containers of Testamine (50 mg in 5 mL) as the table shows. \
         | Draw up the volume in the table of Testamine: 2 mg/kg, at most 200 mg. \
         | Add it to 250 mL of Sodium chloride 0.9 %, without removing any of the fluid. \
         | Mix it. Write the strength on the label: as the table shows."
    );
    assert_eq!(
        prepared("  undiluted 20 mL\n"),
        "Take 4 containers of Testamine (50 mg in 5 mL). | Draw up 20 mL of Testamine, undiluted. \
         | Check the strength on its label: 10 mg/mL."
    );
    assert_eq!(
        prepared("  premixed 100 mg in 100 mL of saline\n"),
        "Use the ready-made bag: premixed 100 mg in 100 mL of saline. \
         | Check the strength on its label: 1 mg/mL."
    );
}

#[test]
fn a_bag_that_goes_by_weight_has_a_table() {
    let bag = "  mix 2 mg/kg added to 250 mL of saline\n";
    let sheet = of(&format!("{FRAME}{bag}  run all over 10 h\n  then stop\n"));
    let table = &sheet.phases[0].bag.tables[0];
    let patients = table.patients.all.iter();
    let patients: Vec<_> = patients.map(|one| one.told.to_string()).collect();
    assert_eq!(patients.first().unwrap(), "40 kg");
    assert_eq!(patients.last().unwrap(), "160 kg");
    // 2 mg/kg × 40 kg ÷ 10 mg/mL = 8 mL, of 160 kg 32 mL: by hand.
    let mut measures = table.measures.iter();
    let draw = measures.find(|measure| measure.name == "draw").unwrap();
    let cells: Vec<_> = draw
        .cells
        .iter()
        .flatten()
        .map(Printed::to_string)
        .collect();
    assert_eq!(cells.first().unwrap(), "8 mL");
    assert_eq!(cells.last().unwrap(), "32 mL");
    let about: Vec<_> = sheet.about.iter().map(|fact| fact.text.as_str()).collect();
    let wanted = [
        "Testamine",
        "40 to 160 kg",
        "18 years or more",
        "Intensive care",
        "central vein",
        "Syringe pump",
    ];
    assert_eq!(about, wanted);
}

#[test]
fn settings_are_told_for_each_patient() {
    let mix = "  mix 50 mg made up to 50 mL with saline\n";
    let by_weight = of(&format!(
        "{FRAME}{mix}  run all at 0.04 mg/kg/h\n  adjust 0.02 to 0.06 mg/kg/h by 0.02 mg/kg/h every 10 min\n  then renew\n"
    ));
    let settings = &by_weight.phases[0].settings[0];
    assert_eq!(
        (settings.measure, settings.unit.as_str()),
        ("pump flow", "mL/h")
    );
    let rows: Vec<_> = settings
        .rows
        .iter()
        .map(|row| (row.dose.as_str(), row.start))
        .collect();
    assert_eq!(
        rows,
        [
            ("0.02 mg/kg/h", false),
            ("0.04 mg/kg/h", true),
            ("0.06 mg/kg/h", false)
        ]
    );
    // 0.06 mg/kg/h × 160 kg ÷ 1 mg/mL = 9.6 mL/h, by hand.
    assert_eq!(
        settings.rows[2].cells.last().unwrap().as_deref(),
        Some("9.6")
    );
    let titration = by_weight.phases[0].titration.as_deref().unwrap();
    assert!(
        titration.starts_with(
            "By one step of 0.02 mg/kg/h, up or down, no more often than every 10 min"
        )
    );
    let for_all = of(&format!(
        "{FRAME}{mix}  run all at 2 mg/h\n  adjust 1, 2, 3 mg/h every 10 min\n  then renew\n"
    ));
    let settings = &for_all.phases[0].settings[0];
    assert!(settings.patients.is_none());
    let cells: Vec<_> = settings
        .rows
        .iter()
        .map(|row| row.cells[0].as_deref())
        .collect();
    assert_eq!(cells, [Some("1"), Some("2"), Some("3")]);
}

#[test]
fn so_many_settings_are_thinned_and_that_is_told() {
    let sheet = of(&format!(
        "{FRAME}  mix 50 mg made up to 50 mL with saline\n  run all at 0.1 mg/h\n  adjust 0.1 to 9 mg/h by 0.1 mg/h every 10 min\n  then renew\n"
    ));
    let settings = &sheet.phases[0].settings[0];
    assert!(settings.thinned);
    assert!(settings.rows.len() <= 32, "{}", settings.rows.len());
    let doses: Vec<_> = settings.rows.iter().map(|row| row.dose.as_str()).collect();
    assert_eq!((doses[0], *doses.last().unwrap()), ("0.1 mg/h", "9 mg/h"));
}

#[test]
fn an_error_leaves_no_sheet() {
    let run = "  mix 50 mg made up to 50 mL with saline\n  run al at 2 mg/h\n  then stop\n";
    let why = made(&format!("{FRAME}{run}")).unwrap_err();
    assert!(
        why.iter().any(|why| why.contains("error[text.unreadable]")),
        "{why:?}"
    );
    let unknown = FRAME.replace("testamine", "testamin");
    let run = run.replace(" al ", " all ");
    let why = made(&format!("{unknown}{run}")).unwrap_err();
    assert!(
        why.iter().any(|why| why.contains("error[name.unknown]")),
        "{why:?}"
    );
}

#[test]
fn a_review_that_is_past_or_not_stated_makes_a_draft() {
    let run = "  mix 50 mg made up to 50 mL with saline\n  run all at 2 mg/h\n  then stop\n";
    let review = |line: &str| of(&format!("{FRAME}{run}{line}")).review;
    assert_eq!(review(""), Review::Unknown);
    // The day itself is not past.
    assert!(matches!(review("  review by 2026-11-25\n"), Review::Due(_)));
    let past = review("  review by 2026-11-24\n");
    assert!(matches!(past, Review::Overdue(_)) && past.is_draft());
}

#[test]
fn what_a_pump_takes_is_a_syringe_or_a_bag() {
    let next = |pump: &str| {
        let order = format!(
            "{FRAME}  mix 50 mg made up to 50 mL with saline\n  run all over 10 h\n  change bag every 6 h\n  then renew\n"
        );
        let phase = of(&order.replace("pump syringe", pump)).phases.remove(0);
        let then = phase.then.map(|then| then.text).unwrap_or_default();
        let change = phase.around.into_iter().map(|fact| fact.label);
        (then, change.collect::<Vec<_>>())
    };
    let rest = "of the same mixture, at the current setting, without a bolus or priming.";
    assert_eq!(
        next("pump driver"),
        (
            format!("Start the next syringe, {rest}"),
            vec!["Change the syringe every".to_owned()]
        )
    );
    assert_eq!(
        next("pump syringe"),
        (
            format!("Hang the next bag, {rest}"),
            vec!["Change the bag every".to_owned()]
        )
    );
}
