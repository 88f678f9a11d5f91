//! `gutta fmt`.

use crate::support::{Folder, REFERENCE, RIGHT};

fn untidy() -> String {
    RIGHT
        .replace("  drug       ", "\tdrug ")
        .replace("\n\n", "\n\n\n\n")
}

#[test]
fn untidy_files_are_laid_out() {
    let folder = Folder::with_order(&untidy());
    let ran = folder.run(&["fmt"]);
    assert_eq!(
        (ran.code, ran.out.as_str()),
        (Some(0), "1 of 2 files reformatted\n")
    );
    assert_eq!(folder.read("order.gtt"), RIGHT.as_bytes());
    let again = folder.run(&["fmt"]);
    assert_eq!(again.out, "2 files already in the standard layout\n");
}

#[test]
fn looking_changes_nothing() {
    let folder = Folder::with_order(&untidy());
    let ran = folder.run(&["fmt", "--check"]);
    assert_eq!((ran.code, ran.out.as_str()), (Some(1), "order.gtt\n"));
    let ran = folder.run(&["fmt", "--diff"]);
    assert_eq!(ran.code, Some(1));
    assert!(ran.out.contains("\n-\tdrug noradrenaline\n"), "{}", ran.out);
    assert!(
        ran.out.contains("\n+  drug       noradrenaline\n"),
        "{}",
        ran.out
    );
    assert_eq!(folder.read("order.gtt"), untidy().as_bytes());
    let ran = folder.run(&["fmt", "--check", "reference.gtt"]);
    assert_eq!((ran.code, ran.out.as_str()), (Some(0), ""));
}

#[test]
fn standard_input_goes_to_standard_output() {
    let folder = Folder::with_order(RIGHT);
    let ran = folder.pipe(&["fmt", "-"], &untidy());
    assert_eq!((ran.code, ran.out.as_str()), (Some(0), RIGHT));
    let ran = folder.pipe(&["fmt", "--check", "-"], RIGHT);
    assert_eq!((ran.code, ran.out.as_str()), (Some(0), ""));
}

#[test]
fn the_house_spells() {
    let text = RIGHT.replace("0.06 mcg", "0.06 micrograms");
    let folder = Folder::with_order(&text);
    folder.run(&["fmt"]);
    assert_eq!(folder.read("order.gtt"), RIGHT.as_bytes());
    folder.write("gutta.toml", b"micrograms = \"micrograms\"\n");
    folder.run(&["fmt"]);
    assert_eq!(folder.read("order.gtt"), text.as_bytes());
}

#[test]
fn a_specimen_keeps_what_it_shows() {
    let shown = RIGHT.replace("50 mL with", "50000 mL with");
    let specimen = shown.replace("order ", "specimen ") + "  expect     finding text.thousands\n";
    let folder = Folder::with_order(&specimen);
    folder.run(&["fmt"]);
    assert_eq!(folder.read("order.gtt"), specimen.as_bytes());
    let folder = Folder::with_order(&shown);
    folder.run(&["fmt"]);
    let grouped = shown.replace("50000", "50,000");
    assert_eq!(folder.read("order.gtt"), grouped.as_bytes());
}

#[test]
fn nothing_is_written_where_one_file_is_no_text() {
    let folder = Folder::with_order(&untidy());
    folder.write("z.gtt", b"order a \xff\n");
    folder
        .run(&["fmt"])
        .refused("cannot format z.gtt: it is not UTF-8");
    assert_eq!(folder.read("order.gtt"), untidy().as_bytes());
    assert_eq!(folder.read("reference.gtt"), REFERENCE.as_bytes());
}

#[test]
fn what_is_no_order_by_its_name_is_not_written() {
    let folder = Folder::with_order(RIGHT);
    let prose = "# hi\n\n* item   two\n    code   here  \nuse \"x\"\n";
    folder.write("README.md", prose.as_bytes());
    let ran = folder.run(&["fmt", "README.md"]);
    assert_eq!(ran.code, Some(2), "{ran:?}");
    assert_eq!(folder.read("README.md"), prose.as_bytes());
}
