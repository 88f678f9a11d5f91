//! `gutta check --fix` and `--diff`.

use crate::support::{Folder, RIGHT};

fn slipped() -> String {
    RIGHT
        .replace("mix        4 mg", "mix        4mg")
        .replace("50 mL with", ".05L with")
        .replace("  then", "  Then")
}

#[test]
fn spelling_is_corrected_and_nothing_else() {
    let folder = Folder::with_order(&slipped().replace("0.06 mcg", "3 mcg"));
    let ran = folder.run(&["check", "--fix"]);
    let text = String::from_utf8(folder.read("order.gtt")).unwrap();
    let wanted = RIGHT
        .replace("50 mL with", "0.05 L with")
        .replace("0.06 mcg", "3 mcg");
    assert_eq!(text, wanted, "{}", ran.out);
    assert!(ran.out.contains("limit.never"), "{}", ran.out);
    assert!(!ran.out.contains("text."), "{}", ran.out);
    assert_eq!(
        (ran.code, ran.err.as_str()),
        (Some(1), "gutta: corrected 1 file\n")
    );
    let again = folder.run(&["check", "--fix"]);
    assert_eq!(again.err, "");
    assert_eq!(folder.read("order.gtt"), wanted.as_bytes());
}

#[test]
fn line_ends_mark_and_permissions_are_kept() {
    let folder = Folder::with_order(RIGHT);
    let wrong = format!("\u{feff}{}", slipped().replace('\n', "\r\n"));
    folder.write("order.gtt", wrong.as_bytes());
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = std::fs::Permissions::from_mode(0o640);
        std::fs::set_permissions(folder.path("order.gtt"), mode).unwrap();
    }
    let ran = folder.run(&["check", "--fix"]);
    assert_eq!(ran.code, Some(0), "{}", ran.out);
    let right = RIGHT
        .replace("50 mL with", "0.05 L with")
        .replace('\n', "\r\n");
    assert_eq!(
        folder.read("order.gtt"),
        format!("\u{feff}{right}").as_bytes()
    );
    #[cfg(unix)]
    {
        use std::os::unix::fs::PermissionsExt;
        let mode = std::fs::metadata(folder.path("order.gtt"))
            .unwrap()
            .permissions()
            .mode();
        assert_eq!(mode & 0o777, 0o640);
    }
}

#[test]
fn a_diff_changes_nothing() {
    let folder = Folder::with_order(&slipped());
    let ran = folder.run(&["check", "--diff"]);
    assert_eq!(folder.read("order.gtt"), slipped().as_bytes());
    insta::assert_snapshot!(ran.told());
}

#[test]
fn standard_input_is_corrected_to_standard_output() {
    let folder = Folder::with_order(RIGHT);
    let words = ["check", "--fix", "-", "--stdin-name", "order.gtt"];
    let ran = folder.pipe(&words, &slipped());
    assert_eq!(ran.out, RIGHT.replace("50 mL with", "0.05 L with"));
    assert_eq!(folder.read("order.gtt"), RIGHT.as_bytes());
}

#[test]
fn only_files_asked_for_are_changed() {
    let folder = Folder::with_order(&slipped());
    folder.write(
        "other.gtt",
        slipped().replace("central\"", "x\"").as_bytes(),
    );
    let before = folder.read("other.gtt");
    folder.run(&["check", "--fix", "order.gtt"]);
    assert_eq!(folder.read("other.gtt"), before);
    assert_ne!(folder.read("order.gtt"), slipped().as_bytes());
}

#[test]
fn a_file_that_is_no_utf8_is_not_written() {
    let folder = Folder::with_order(RIGHT);
    let mut bytes = slipped().into_bytes();
    bytes.extend_from_slice(b"# \xff\n");
    folder.write("order.gtt", &bytes);
    folder.run(&["check", "--fix"]);
    assert_eq!(folder.read("order.gtt"), bytes);
}
