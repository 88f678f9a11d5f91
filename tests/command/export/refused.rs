//! What is not exported.

use serde_json::Value;

use super::{SET, export, listed, resources};
use crate::support::{Folder, REFERENCE, RIGHT};

#[test]
fn what_is_wrong_is_not_exported() {
    let told = |order: &str| {
        let ran = export(&Folder::with_order(order), "r5", &[]);
        assert_eq!(ran.code, Some(1), "{}", ran.err);
        ran
    };
    // An error, a line that was not read, and lines that belong to nothing.
    let error = RIGHT.replace("0.06 mcg", "2.5 mcg");
    let unread = RIGHT.replace("run        all", "run        al");
    let nobodys = format!("{RIGHT}\nordr b\n  pump       syringe\n");
    let whys = ["limit.never", "text.unreadable", "text.unreadable"];
    for (order, why) in [error.clone(), unread, nobodys].iter().zip(whys) {
        let ran = told(order);
        assert_eq!(ran.out, "");
        let head = "gutta: order.gtt:3: order noradrenaline-central is not exported:";
        let said = ran.err.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(said.starts_with(head) && said.contains(why), "{said}");
        assert!(said.ends_with("gutta: nothing is exported"), "{said}");
    }
    // The set goes with its order, the other order stays.
    let ran = told(&format!("{error}{SET}"));
    assert_eq!(resources(&ran, "ActivityDefinition").len(), 1);
    assert_eq!(resources(&ran, "PlanDefinition"), [] as [Value; 0]);
    let refused: Vec<_> = listed(&ran)
        .into_iter()
        .filter(|(told, _)| told.ends_with("is not exported."))
        .map(|(told, _)| told)
        .collect();
    assert_eq!(
        refused,
        [
            "order noradrenaline-central is not exported.",
            "set shock is not exported."
        ]
    );
}

#[test]
fn what_an_order_leans_on_is_right_too() {
    let faults = [
        ("never dose       above 2", "never dose       abve 2"),
        (
            "flow       0.1 to 99.9 mL/h in",
            "flow       0.1 to 99.9 mg in",
        ),
        ("glucose 50 mg/mL", "glucose 50 mg/L/L"),
        (
            "patient    weight 40 to 150 kg",
            "patient    weight 40 to .150 kg",
        ),
    ];
    for (right, wrong) in faults {
        let folder = Folder::with_order(RIGHT);
        folder.write("reference.gtt", REFERENCE.replace(right, wrong).as_bytes());
        let ran = export(&folder, "r4", &[]);
        assert_eq!((ran.code, ran.out.as_str()), (Some(1), ""), "{wrong}");
        assert!(ran.err.contains("reference.gtt:"), "{}", ran.err);
    }
}

#[test]
fn names_that_are_not_there_are_told() {
    let folder = Folder::with_order(&format!(
        "{RIGHT}{SET}\n{}",
        RIGHT
            .replace("order nor", "specimen nor")
            .replace("use", "# use")
            .replace("-central", "-wrong")
    ));
    export(&folder, "r4", &["--order", "fluit"])
        .refused("there is no order `fluit` here; did you mean fluid?");
    export(&folder, "r4", &["--set", "shok"])
        .refused("there is no set `shok` here; did you mean shock?");
    let ran = export(&folder, "r4", &["--order", "noradrenaline-wrong"]);
    assert_eq!(
        ran.code,
        Some(2),
        "a specimen is never exported: {}",
        ran.err
    );
    assert_eq!(folder.run(&["export"]).code, Some(2));
}

#[test]
fn what_cannot_be_read_at_all_is_told() {
    let folder = Folder::with_order(RIGHT);
    folder.write("bytes.gtt", b"\xff\xfe\0");
    let ran = export(&folder, "r5", &[]);
    assert_eq!(ran.code, Some(1));
    let said = "gutta: bytes.gtt:1: what belongs to no order is not exported: text.unreadable";
    assert!(ran.err.contains(said), "{}", ran.err);
    assert_eq!(resources(&ran, "ActivityDefinition").len(), 1);
    let told = |(told, why): &(String, String)| {
        told.ends_with("is not exported.") && why.contains("bytes.gtt")
    };
    assert!(listed(&ran).iter().any(told));
}
