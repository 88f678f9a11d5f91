//! A check that is under way when something comes in is left off, and done
//! later, with the same findings.

use gutta_protocol::{FileId, House, Workspace};
use gutta_quantity::work::Interrupt;

use super::{Checked, MOST_LEFT_OFF};
use crate::{Options, check};

/// An order of many phases, beside a small one.
fn workspace() -> Workspace {
    let phases: String = (0..60)
        .map(|phase| {
            format!("  phase p-{phase}\n    hang 1 L of saline\n    run 10 mL at 5 mL/h\n")
        })
        .collect();
    let text = format!(
        "solution saline \"Saline\"\n\norder many \"Many\"\n{phases}  then stop\n\norder small \"Small\"\n  hang 1 L of saline\n  run all at 5 mL/h\n"
    );
    Workspace::new(vec![("page.gtt", text)], House::default())
}

#[test]
fn what_is_left_off_is_done_later_with_the_same_findings() {
    let workspace = workspace();
    let wanted = check(&workspace, None, &Options::default());
    let mut checked = Checked::new(&workspace, Options::default());
    let interrupt = Interrupt::default();
    interrupt.raise();
    assert!(!checked.work(&workspace, &interrupt, || false));
    assert_eq!(checked.waiting(), 3);
    assert!(checked.findings(&workspace, FileId(0)).is_empty());
    interrupt.lower();
    assert!(checked.work(&workspace, &interrupt, || true));
    let found = checked.findings(&workspace, FileId(0));
    assert_eq!(format!("{found:?}"), format!("{wanted:?}"));
}

#[test]
fn whoever_never_pauses_has_findings_too() {
    let workspace = workspace();
    let mut checked = Checked::new(&workspace, Options::default());
    let interrupt = Interrupt::default();
    interrupt.raise();
    for _ in 0..MOST_LEFT_OFF {
        assert!(!checked.work(&workspace, &interrupt, || false));
    }
    assert!(checked.work(&workspace, &interrupt, || false));
}
