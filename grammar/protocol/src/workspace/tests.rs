use gutta_notation::Span;
use gutta_notation::StanzaKind;
use proptest::prelude::*;

use super::{Resolved, Workspace};
use crate::names::Space;
use crate::source::{Content, FileFault, FileId};
use crate::{House, UseFault};

const DRUGS: &str = "\
drug noradrenaline \"Noradrenaline\"
  also       norepinephrine
  supplied   4 mg in 4 mL
  with       saline

solution saline \"Saline\"
  contains   sodium 0.154 mmol/mL
";

const ORDERS: &str = "\
use \"../reference/drugs.gtt\"

order a \"A\"
  drug       norepinephrine
  route      central vein
  mix        4 mg made up to 50 mL with saline
  run        all at 2 mL/h
";

fn ward() -> Workspace {
    let files = vec![("wards/icu.gtt", ORDERS), ("reference/drugs.gtt", DRUGS)];
    Workspace::new(files, House::default())
}

fn names(workspace: &Workspace, file: &str, space: Space) -> Vec<String> {
    let file = workspace.file_at(file).unwrap();
    let names = workspace.names_in_sight(file, space);
    names
        .into_iter()
        .map(|(name, _)| name.to_string())
        .collect()
}

#[test]
fn a_file_sees_its_own_names_and_those_it_uses() {
    let workspace = ward();
    let drugs = Space::Stanza(StanzaKind::Drug);
    let orders = Space::Stanza(StanzaKind::Order);
    assert_eq!(
        names(&workspace, "wards/icu.gtt", drugs),
        ["noradrenaline", "norepinephrine"]
    );
    assert_eq!(names(&workspace, "wards/icu.gtt", orders), ["a"]);
    assert_eq!(
        names(&workspace, "wards/icu.gtt", Space::Substance),
        ["sodium"]
    );
    assert!(names(&workspace, "reference/drugs.gtt", orders).is_empty());
}

#[test]
fn a_second_name_and_a_short_form_mean_the_drug() {
    let text = "drug magnesium-sulfate \"M\"\n  also magnesia\n  supplied 1 g in 2 mL\n\norder a \"A\"\n  drug MgSO4\n";
    let workspace = Workspace::new(vec![("a.gtt", text)], House::default());
    let file = FileId(0);
    let drug = workspace
        .resolve(file, StanzaKind::Drug, "magnesium-sulfate")
        .one();
    assert!(drug.is_some());
    for name in ["magnesia", "mgso4"] {
        assert_eq!(
            workspace.resolve(file, StanzaKind::Drug, name).one(),
            drug,
            "{name}"
        );
    }
    let mentions = workspace.referrers(drug.unwrap());
    assert_eq!(mentions.len(), 1, "the order's, in its short form");
}

#[test]
fn who_mentions_a_stanza() {
    let workspace = ward();
    let file = workspace.file_at("reference/drugs.gtt").unwrap();
    let saline = workspace
        .resolve(file, StanzaKind::Solution, "saline")
        .one()
        .unwrap();
    let mentions: Vec<_> = workspace
        .referrers(saline)
        .into_iter()
        .map(|(stanza, _)| (workspace.file(stanza.file).path.as_str(), stanza.index))
        .collect();
    assert_eq!(mentions, [("reference/drugs.gtt", 0), ("wards/icu.gtt", 1)]);
}

#[test]
fn several_of_one_name_are_all_given() {
    let text =
        "solution a \"A\"\n  osmolarity 1 mOsm/L\n\nsolution a \"B\"\n  osmolarity 1 mOsm/L\n";
    let workspace = Workspace::new(vec![("a.gtt", text)], House::default());
    let found = workspace.resolve(FileId(0), StanzaKind::Solution, "a");
    assert!(
        matches!(&found, Resolved::Many(ids) if ids.len() == 2),
        "{found:?}"
    );
}

#[test]
fn files_may_use_each_other_and_themselves() {
    let a =
        "use \"b.gtt\"\nuse \"a.gtt\"\nuse \"b.gtt\"\nsolution a \"A\"\n  osmolarity 1 mOsm/L\n";
    let b = "use \"a.gtt\"\nsolution b \"B\"\n  osmolarity 1 mOsm/L\n";
    let workspace = Workspace::new(vec![("a.gtt", a), ("b.gtt", b)], House::default());
    for file in workspace.file_ids() {
        for name in ["a", "b"] {
            let found = workspace.resolve(file, StanzaKind::Solution, name);
            assert!(found.one().is_some(), "{file:?} {name}: {found:?}");
        }
    }
}

#[test]
fn what_is_no_text_cannot_be_used() {
    let files: Vec<(&str, Content)> = vec![
        (
            "a.gtt",
            "use \"b.gtt\"\nuse \"c.gtt\"\nuse \"d.gtt\"\n".into(),
        ),
        ("b.gtt", b"solution b\0".to_vec().into()),
        ("c.gtt", Content::TooLarge(1 << 40)),
    ];
    let workspace = Workspace::new(files, House::default());
    let faults: Vec<_> = workspace
        .uses(FileId(0))
        .iter()
        .map(|used| used.target.clone().unwrap_err())
        .collect();
    let missing = UseFault::Missing {
        path: "d.gtt".into(),
    };
    assert_eq!(
        faults,
        [
            UseFault::NotRead(FileId(1)),
            UseFault::NotRead(FileId(2)),
            missing
        ]
    );
    assert_eq!(workspace.file(FileId(1)).faults, [FileFault::Binary]);
    assert_eq!(
        workspace.file(FileId(2)).faults,
        [FileFault::TooLarge { bytes: 1 << 40 }]
    );
}

#[test]
fn a_default_is_found_out_of_sight() {
    let files = vec![
        ("a.gtt", "order a \"A\"\n  note \"x\"\n"),
        ("b.gtt", "pump p \"P\"\n  volume up to 60 mL\n"),
    ];
    let workspace = Workspace::new(files, House::default());
    let a = workspace.file_at("a.gtt").unwrap();
    assert_eq!(workspace.resolve(a, StanzaKind::Pump, "p"), Resolved::None);
    assert!(
        workspace
            .resolve_default(a, StanzaKind::Pump, "p")
            .one()
            .is_some()
    );
}

/// Everything that the index answers, for comparing two workspaces.
fn answers(workspace: &Workspace) -> String {
    let spaces = [
        Space::Stanza(StanzaKind::Drug),
        Space::Stanza(StanzaKind::Solution),
        Space::Stanza(StanzaKind::Order),
        Space::Substance,
    ];
    let mut said = String::new();
    for file in workspace.file_ids() {
        said.push_str(&format!(
            "{} sees {:?} seen by {:?} uses {:?} mentions {:?}\n",
            workspace.file(file).path,
            workspace.sees(file),
            workspace.seen_by(file),
            workspace.uses(file),
            workspace
                .stanzas_in(file)
                .map(|stanza| workspace.references(stanza))
                .collect::<Vec<_>>(),
        ));
        for space in spaces {
            for (name, id) in workspace.names_in_sight(file, space) {
                let anywhere = workspace.declared_anywhere(space, &name);
                said.push_str(&format!(
                    "  {name} {id:?} {anywhere:?} {:?}\n",
                    workspace.referrers(id)
                ));
            }
        }
    }
    said
}

const PATHS: [&str; 4] = ["a.gtt", "b/c.gtt", "b/d.gtt", "e.gtt"];

const TEXTS: [&[u8]; 7] = [
    b"",
    b"solution a \"A\"\n  contains sodium 1 mmol/mL\n",
    b"use \"b/c.gtt\"\nuse \"../e.gtt\"\norder a \"A\"\n  drug x\n  hang 1 L of a\n",
    b"use \"a.gtt\"\nuse \"d.gtt\"\nuse \"../a.gtt\"\ndrug x \"X\"\n  also y\n  with a\n",
    b"drug y \"Y\"\n  supplied 1 mg in 1 mL\n\nsolution a \"A\"\n  osmolarity 1 mOsm/L\n",
    b"\0",
    b"solution a \"\xff\"\n  osmolarity 1 mOsm/L\n",
];

proptest! {
    /// Changing files one by one leads to what reading all of them anew does.
    #[test]
    fn a_changed_workspace_is_a_new_one(
        changes in prop::collection::vec((0..PATHS.len(), prop::option::of(0..TEXTS.len())), 1..12),
    ) {
        let mut workspace = Workspace::new(Vec::<(&str, &str)>::new(), House::default());
        let mut held: Vec<(&str, Vec<u8>)> = Vec::new();
        for (path, text) in changes {
            let path = PATHS[path];
            let before = held.len();
            held.retain(|(other, _)| *other != path);
            match text {
                Some(text) => {
                    let id = workspace.replace_file(path, TEXTS[text].to_vec());
                    prop_assert_eq!(workspace.file_at(path), Some(id));
                    held.push((path, TEXTS[text].to_vec()));
                }
                None => prop_assert_eq!(workspace.remove_file(path), held.len() < before),
            }
            let anew = Workspace::new(held.clone(), House::default());
            prop_assert_eq!(answers(&workspace), answers(&anew));
        }
    }
}

/// Pieces of text whose meeting makes and breaks stanzas.
const PIECES: [&str; 16] = [
    "use \"b.gtt\"\n",
    "drug x \"X\"\n  also y\n  with a\n",
    "solution a \"A\"\n  contains sodium 1 mmol/mL\n",
    "order a \"A\"\n  drug x\n  hang 1 L of a\n",
    "set s \"S\"\n  include a\n",
    "drug x\n",
    "pump p\n",
    "# said\n",
    "\n",
    "\r",
    "\r\n",
    "  drug x",
    "o",
    "é𝕏",
    "  note \"x\"\n",
    "\0",
];

proptest! {
    /// Editing a file leads to what reading it anew does, and the stanzas
    /// that the change leaves out are the very ones that were there.
    #[test]
    fn an_edited_file_is_a_new_one(
        edits in prop::collection::vec((0..2usize, 0..400u32, 0..60u32, prop::collection::vec(0..PIECES.len(), 0..4)), 1..25),
    ) {
        let paths = ["a.gtt", "b.gtt"];
        let mut texts = [String::new(), String::new()];
        let mut workspace = Workspace::new(
            paths.iter().copied().zip(texts.iter().map(String::as_str)).collect(),
            House::default(),
        );
        for (which, from, len, pieces) in edits {
            let text = &mut texts[which];
            let from = text.floor_char_boundary(from as usize);
            let to = text.ceil_char_boundary(from + len as usize);
            let with: String = pieces.iter().map(|piece| PIECES[*piece]).collect();
            let binary = text.contains('\0');
            let file = FileId(u32::try_from(which).unwrap());
            let before: Vec<_> = workspace.file(file).ast.stanzas.clone();
            let span = Span::new(u32::try_from(from).unwrap(), u32::try_from(to).unwrap());
            // What is no text is not kept, so the editor sends it whole.
            let change = if binary {
                text.replace_range(from..to, &with);
                workspace.rewrite_file(file, text.clone())
            } else {
                text.replace_range(from..to, &with);
                workspace.edit_file(file, span, &with)
            };
            let held = &workspace.file(file).ast.stanzas;
            let (first, old, new) = (change.first as usize, change.before as usize, change.after as usize);
            prop_assert_eq!(before.len() - old, held.len() - new);
            for index in 0..first {
                prop_assert!(std::sync::Arc::ptr_eq(&before[index].stanza, &held[index].stanza));
            }
            for index in first + new..held.len() {
                prop_assert!(std::sync::Arc::ptr_eq(&before[index + old - new].stanza, &held[index].stanza));
            }
            let anew = Workspace::new(
                paths.iter().copied().zip(texts.iter().map(String::as_str)).collect(),
                House::default(),
            );
            for file in anew.file_ids() {
                prop_assert_eq!(&workspace.file(file).ast, &anew.file(file).ast);
                prop_assert_eq!(&workspace.file(file).text, &anew.file(file).text);
            }
            prop_assert_eq!(answers(&workspace), answers(&anew));
        }
    }
}
