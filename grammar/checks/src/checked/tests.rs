//! After any change the kept findings are those of a check from the start.

use gutta_notation::Span;
use gutta_protocol::{FileId, House, Workspace};
use gutta_quantity::work::Interrupt;
use proptest::prelude::*;

use super::Checked;
use crate::harness::TODAY;
use crate::{Options, check};

const DRUGS: &str = include_str!("../tarnwick.gtt");

const WARD: &str = "\
use \"drugs.gtt\"
# above
order noradrenaline \"Noradrenaline\"
  drug       noradrenaline
  area       adult-icu
  patient    weight 40 to 120 kg
  route      central vein
  mix        4 mg made up to 50 mL with glucose-5
  run        all at 0.05 mcg/kg/min
  then       stop

set shock \"Shock\"
  include    noradrenaline, missing
  line a: noradrenaline
";

const MORE: &str = "\
solution own \"Own\"
  contains   sodium 0.154 mmol/mL

drug noradrenalin \"Near\"
  supplied   4 mg in 4 mL
  usual dose 0.01 to 0.5 mcg/kg/min
  with       own
";

/// What edits put in.
const PIECES: [&str; 24] = [
    "",
    " ",
    "\n",
    "o",
    "0",
    ".",
    "5",
    "\n\n",
    "# x\n",
    "k",
    "order x \"X\"\n  drug noradrenaline\n  run all at 5 mL/h\n  expect flow 7 mL/h at 70 kg\n",
    "  run all at 1 mcg/kg/min\n",
    "  area adult-icu\n",
    "  with glucose-5\n",
    "  never dose above 0.1 mcg/kg/min\n",
    "use \"more.gtt\"\n",
    "drug x \"X\"\n  supplied 1 mg in 1 mL\n",
    "set t \"T\"\n  include x\n",
    "  patient weight 3 to 5 kg\n",
    "  premixed 10 mg in 100 mL own\n",
    "  waive run.disagrees because \"x\"\n",
    "noradrenaline",
    "specimen y \"Y\"\n  drug x\n  expect finding name.unknown\n",
    "giving-set",
];

#[derive(Clone, Debug)]
enum Step {
    /// In the file of this number (of those there), a place and a length in
    /// thousandths of the text, and the piece that comes there.
    Edit(usize, u32, u32, usize),
    /// A line is taken out.
    Cut(usize, u32),
    /// The file comes or goes.
    Toggle(usize),
}

fn step() -> impl Strategy<Value = Step> {
    prop_oneof![
        6 => (0..3usize, 0..1000u32, prop_oneof![3 => Just(0u32), 1 => 0..30u32], 0..PIECES.len())
            .prop_map(|(file, at, len, piece)| Step::Edit(file, at, len, piece)),
        2 => (0..3usize, 0..1000u32).prop_map(|(file, at)| Step::Cut(file, at)),
        1 => (0..3usize).prop_map(Step::Toggle),
    ]
}

fn told(workspace: &Workspace, findings: &[crate::Finding]) -> Vec<String> {
    let place = |place: gutta_protocol::Place| {
        let path = &workspace.file(place.file).path;
        format!("{path}:{}..{}", place.span.start, place.span.end)
    };
    let mut told: Vec<_> = findings
        .iter()
        .map(|finding| {
            let related: Vec<_> = finding
                .related
                .iter()
                .map(|related| place(related.place))
                .collect();
            let fixes: Vec<_> = finding
                .fixes
                .iter()
                .flat_map(|fix| &fix.edits)
                .map(|edit| format!("{} {:?}", place(edit.place), edit.text))
                .collect();
            format!(
                "{} {} {:?} {} {:?} {related:?} {fixes:?} {:?}",
                place(finding.place),
                finding.rule.name,
                finding.severity,
                finding.message,
                finding.notes,
                finding.stanza
            )
        })
        .collect();
    told.sort();
    told
}

const PATHS: [&str; 3] = ["drugs.gtt", "more.gtt", "ward.gtt"];

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn kept_findings_are_those_of_a_fresh_check(steps in prop::collection::vec(step(), 1..14)) {
        let options = Options { today: Some(TODAY) };
        let mut texts = [Some(DRUGS.to_owned()), Some(MORE.to_owned()), Some(WARD.to_owned())];
        let first = ["drugs.gtt", "more.gtt", "ward.gtt"].into_iter().zip([DRUGS, MORE, WARD]);
        let mut workspace = Workspace::new(first.collect(), House::default());
        let mut checked = Checked::new(&workspace, options.clone());
        for step in steps {
            apply(&mut workspace, &mut checked, &mut texts, &step);
            if matches!(step, Step::Cut(..)) {
                // Several changes may come before anything is checked.
                continue;
            }
            checked.work(&workspace, &Interrupt::default(), || true);
            let held = PATHS.iter().zip(&texts);
            let held = held.filter_map(|(path, text)| Some((*path, text.as_deref()?)));
            let fresh = Workspace::new(held.collect(), House::default());
            let wanted = told(&fresh, &check(&fresh, None, &options));
            let kept: Vec<_> = workspace
                .file_ids()
                .flat_map(|file| checked.findings(&workspace, file))
                .collect();
            prop_assert_eq!(told(&workspace, &kept), wanted);
        }
    }
}

fn apply(
    workspace: &mut Workspace,
    checked: &mut Checked,
    texts: &mut [Option<String>; 3],
    step: &Step,
) {
    match step {
        Step::Edit(file, at, len, piece) => {
            let Some(text) = &mut texts[*file] else {
                return;
            };
            let size = text.len() as u32;
            let from = text.floor_char_boundary((size * at / 1000) as usize);
            let to = text.ceil_char_boundary((from + *len as usize).min(text.len()));
            edit(
                workspace,
                checked,
                PATHS[*file],
                text,
                from..to,
                PIECES[*piece],
            );
        }
        Step::Cut(file, at) => {
            let Some(text) = &mut texts[*file] else {
                return;
            };
            let at = text.floor_char_boundary((text.len() as u32 * at / 1000) as usize);
            let from = text[..at].rfind('\n').map_or(0, |at| at + 1);
            let to = text[at..].find('\n').map_or(text.len(), |end| at + end + 1);
            edit(workspace, checked, PATHS[*file], text, from..to, "");
        }
        Step::Toggle(file) => {
            let path = PATHS[*file];
            if let Some(id) = workspace.file_at(path) {
                checked.removing_file(workspace, id);
                workspace.remove_file(path);
                checked.removed_file(workspace, id);
                texts[*file] = None;
            } else {
                let text = [DRUGS, MORE, WARD][*file];
                let id = workspace.replace_file(path, text);
                checked.insert_file(workspace, id);
                texts[*file] = Some(text.to_owned());
            }
        }
    }
}

fn edit(
    workspace: &mut Workspace,
    checked: &mut Checked,
    path: &str,
    text: &mut String,
    range: std::ops::Range<usize>,
    with: &str,
) {
    let file = workspace.file_at(path).unwrap();
    let span = Span::new(range.start as u32, range.end as u32);
    text.replace_range(range, with);
    let change = workspace.edit_file(file, span, with);
    checked.follow(workspace, &change);
}

/// An edit in one order re-does that order alone.
#[test]
fn an_edit_redoes_what_it_touched() {
    let mut ward = String::from("use \"drugs.gtt\"\n\n");
    for number in 0..50 {
        ward.push_str(&format!(
            "order a{number} \"A\"\n  drug noradrenaline\n  area adult-icu\n  patient weight 40 to 120 kg\n  route central vein\n  mix 4 mg made up to 50 mL with glucose-5\n  run all at 5 mL/h\n  then stop\n\n"
        ));
    }
    let mut workspace = Workspace::new(
        vec![("drugs.gtt", DRUGS.to_owned()), ("ward.gtt", ward.clone())],
        House::default(),
    );
    let mut checked = Checked::new(&workspace, Options { today: Some(TODAY) });
    checked.work(&workspace, &Interrupt::default(), || true);
    checked.take_changed();
    let ward_id = workspace.file_at("ward.gtt").unwrap();
    let at = ward.find("at 5 mL/h").unwrap() as u32;
    let change = workspace.edit_file(ward_id, Span::new(at + 3, at + 4), "6");
    checked.follow(&workspace, &change);
    assert_eq!(checked.waiting(), 1);
    checked.work(&workspace, &Interrupt::default(), || true);
    assert_eq!(
        checked.take_changed().into_iter().collect::<Vec<_>>(),
        [ward_id]
    );

    // A line more above all of them re-does none of them.
    let change = workspace.edit_file(ward_id, Span::new(16, 16), "\n# note\n");
    checked.follow(&workspace, &change);
    assert_eq!(checked.waiting(), 1);

    // The drug's own text re-does all orders of it.
    let drugs = FileId(0);
    let at = DRUGS.find("drug noradrenaline").unwrap() as u32;
    let end = at + DRUGS[at as usize..].find('\n').unwrap() as u32 + 1;
    let change = workspace.edit_file(drugs, Span::new(end, end), "  note \"x\"\n");
    checked.follow(&workspace, &change);
    assert!(checked.waiting() >= 50, "{}", checked.waiting());
}
