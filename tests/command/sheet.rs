//! `gutta sheet`.

use std::process::Command;

use crate::support::{Folder, REFERENCE, RIGHT};

const TODAY: [&str; 2] = ["--today", "2026-11-25"];

fn sheet(folder: &Folder, words: &[&str]) -> crate::support::Ran {
    folder.run(&[&["sheet"], words, &TODAY[..]].concat())
}

#[test]
fn a_sheet_says_how_to_prepare_run_and_watch() {
    let order = RIGHT.replace(
        "  then       renew",
        "  adjust     0.02 to 0.1 mcg/kg/min by 0.02 mcg/kg/min every 5 min\n  prime      2 mL\n  \
         then       renew\n  goal       \"mean arterial pressure 65 mmHg or more\"",
    );
    let folder = Folder::with_order(&order);
    let ran = sheet(&folder, &["noradrenaline-central"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    // What stands on it, a line for each element, without the styles.
    let body = ran.out.split("</style>").nth(1).unwrap();
    let lines = body.replace("><", ">\n<");
    insta::assert_snapshot!("a_sheet", lines);
}

#[test]
fn markup_in_names_and_texts_stays_text() {
    let wild = "<script>alert(1)</script>&\\u0022'><img src=x onerror=y>";
    let order = RIGHT
        .replace("Noradrenaline, single strength", wild)
        .replace(
            "  review by",
            &format!("  note       \"{wild}</style>\"\n  review by"),
        );
    let reference = REFERENCE
        .replace("Noradrenaline (as base)", wild)
        .replace("Glucose 5 %", "</title><svg onload=y>")
        .replace("Syringe pump", wild);
    let folder = Folder::new(&[
        ("gutta.toml", ""),
        ("reference.gtt", &reference),
        ("<b>&amp;.gtt", &order),
    ]);
    let ran = sheet(&folder, &["noradrenaline-central"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    for raw in [
        "<script",
        "<img",
        "<svg onload",
        "<b>",
        "</title><svg",
        "onerror=y>",
    ] {
        assert!(!ran.out.contains(raw), "{raw}");
    }
    assert_eq!(ran.out.matches("<style>").count(), 1);
    assert_eq!(ran.out.matches("</style>").count(), 1);
    assert!(
        ran.out
            .contains("&lt;script&gt;alert(1)&lt;/script&gt;&amp;"),
        "{}",
        ran.out
    );
    // Nothing is fetched, and nothing could be.
    assert!(ran.out.contains("default-src 'none'"));
    for link in [" src=", " href=", "url(h", "@import", "http://", "https://"] {
        let here = ran.out.replace(" src=x", "");
        assert!(!here.contains(link), "{link}");
    }
}

#[test]
fn an_order_with_an_error_has_no_sheet() {
    let cases = [
        (
            RIGHT.replace("run        all", "run        al"),
            "error[text.unreadable]",
        ),
        (RIGHT.replace("0.06 mcg", "3 mcg"), "error[limit.never]"),
        (
            RIGHT.replace("drug       noradrenaline", "drug       adrenalin"),
            "error[name.unknown]",
        ),
    ];
    for (order, why) in cases {
        let folder = Folder::with_order(&order);
        let ran = sheet(
            &folder,
            &["noradrenaline-central", "--output", "sheet.html"],
        );
        assert_eq!((ran.code, ran.out.as_str()), (Some(1), ""), "{ran:?}");
        assert!(
            ran.err
                .starts_with("gutta: there is no sheet of noradrenaline-central:\n")
        );
        assert!(ran.err.contains(why), "{}", ran.err);
        assert!(ran.err.contains("order.gtt:"), "{}", ran.err);
        assert!(!folder.path("sheet.html").exists());
    }
    // A fault elsewhere that the order leans on.
    let reference = REFERENCE.replace("never dose       above 2", "never dose       abov 2");
    let folder = Folder::new(&[
        ("gutta.toml", ""),
        ("reference.gtt", &reference),
        ("order.gtt", RIGHT),
    ]);
    let ran = sheet(&folder, &["noradrenaline-central"]);
    assert_eq!((ran.code, ran.out.as_str()), (Some(1), ""));
    assert!(
        ran.err.contains("reference.gtt:17: error[text."),
        "{}",
        ran.err
    );
}

#[test]
fn a_sheet_past_its_review_is_a_draft() {
    let folder = Folder::with_order(RIGHT);
    let on = |day: &str| {
        folder
            .run(&["sheet", "noradrenaline-central", "--today", day])
            .out
    };
    assert!(!on("2027-11-01").contains("Draft: not for use"));
    let past = on("2027-11-02");
    assert!(
        past.contains("Draft: not for use. Its review was due by 2027-11-01."),
        "{past}"
    );
    assert!(past.contains("<article class=\"draft\""));
    let without = Folder::with_order(&RIGHT.replace("  review by  2027-11-01\n", ""));
    let ran = sheet(&without, &["noradrenaline-central"]);
    assert!(ran.out.contains("No review date is stated."));
}

#[test]
fn a_print_can_be_matched_with_its_files() {
    let folder = Folder::with_order(RIGHT);
    let page = sheet(&folder, &["noradrenaline-central"]).out;
    // `sha256sum` of GNU coreutils, which follows FIPS 180-4.
    let sums = Command::new("sha256sum")
        .current_dir(folder.path("."))
        .args(["gutta.toml", "order.gtt", "reference.gtt"])
        .output()
        .unwrap();
    let sums = String::from_utf8(sums.stdout).unwrap();
    for line in sums.lines() {
        let (digest, path) = line.split_once("  ").unwrap();
        let shown = format!("<code>{digest}</code> {path}");
        assert!(page.contains(&shown), "{shown}");
    }
    folder.write("sums", sums.as_bytes());
    let all = Command::new("sha256sum")
        .arg(folder.path("sums"))
        .output()
        .unwrap();
    let all = String::from_utf8(all.stdout).unwrap();
    let digest = all.split(' ').next().unwrap();
    assert!(
        page.contains(&format!("<code>{digest}</code>:")),
        "{digest}"
    );
    assert!(
        page.contains(&format!("sheet {}", &digest[..16])),
        "{digest}"
    );
    // Another drug, another digest.
    folder.write(
        "reference.gtt",
        REFERENCE.replace("above 2", "above 3").as_bytes(),
    );
    assert!(
        !sheet(&folder, &["noradrenaline-central"])
            .out
            .contains(digest)
    );
}

#[test]
fn a_set_has_a_sheet_an_order_or_none() {
    let set =
        "\nset both \"Both\"\n  area       adult-icu\n  include    noradrenaline-central, other\n";
    let other = "\norder other \"Carrier\"\n  area       adult-icu\n  route      central vein\n  \
                 pump       syringe\n  hang       500 mL of glucose-5\n  run        all at 20 mL/h\n  \
                 then       stop\n";
    let folder = Folder::with_order(&format!("{RIGHT}{other}{set}"));
    let ran = sheet(&folder, &["both"]);
    assert_eq!(ran.code, Some(0), "{}", ran.err);
    assert_eq!(ran.out.matches("<article").count(), 2);
    assert!(ran.out.contains("<h1>Both</h1>"), "{}", ran.out);
    let broken = other.replace("run        all", "run        al");
    let folder = Folder::with_order(&format!("{RIGHT}{broken}{set}"));
    let ran = sheet(&folder, &["both"]);
    assert_eq!((ran.code, ran.out.as_str()), (Some(1), ""));
    assert!(ran.err.contains("error[text.unreadable]"), "{}", ran.err);
}

#[test]
fn what_cannot_be_asked_is_said() {
    let folder = Folder::with_order(RIGHT);
    sheet(&folder, &["noradrenaline-centrl"]).refused(
        "there is no order or set `noradrenaline-centrl` here; did you mean noradrenaline-central?",
    );
    let twice = Folder::new(&[
        ("a.gtt", RIGHT),
        ("b.gtt", RIGHT),
        ("reference.gtt", REFERENCE),
    ]);
    sheet(&twice, &["noradrenaline-central"]).refused(
        "more than one order or set is called `noradrenaline-central`: name one of a.gtt, b.gtt",
    );
    assert_eq!(
        sheet(&twice, &["noradrenaline-central", "b.gtt"]).code,
        Some(0)
    );
    sheet(
        &folder,
        &["noradrenaline-central", "--output", "no/where.html"],
    )
    .refused("cannot write no/where.html: there is no such file or folder");
    let ran = sheet(&folder, &["noradrenaline-central", "--output", "here.html"]);
    assert_eq!(
        (ran.code, ran.out.as_str(), ran.err.as_str()),
        (Some(0), "", "")
    );
    assert!(folder.read("here.html").starts_with(b"<!DOCTYPE html>"));
}
