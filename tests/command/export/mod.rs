//! `gutta export`. Every export is kept, with what `derive` says of the same
//! files, for `tests/outside/fhir`, which holds it against the standard.

mod fields;
mod numbers;
mod refused;

use std::path::Path;

use serde_json::{Value, json};

use crate::support::{Folder, REFERENCE, RIGHT, Ran};

/// A line of every kind, but those of specimens.
const EVERY: &str = include_str!("../every.gtt");

const SET: &str = r#"
order fluid "Maintenance"
  area       adult-icu
  route      central vein
  hang       500 mL of glucose-5
  run        all over 7 h
  then       stop
  review by  2027-11-01

set shock "Septic shock"
  area       adult-icu
  patient    weight 40 to 150 kg
  include    noradrenaline-central, fluid
  review by  2027-11-01
"#;

const DAY: [&str; 2] = ["--today", "2026-11-25"];

fn export(folder: &Folder, release: &str, more: &[&str]) -> Ran {
    folder.run(&[&["export", "--fhir", release], &DAY[..], more].concat())
}

/// Exports what the folder holds in both releases, and keeps it.
fn kept(folder: &Folder, name: &str, more: &[&str]) -> [Ran; 2] {
    let place = Path::new(env!("CARGO_TARGET_TMPDIR")).join("fhir");
    std::fs::create_dir_all(&place).unwrap();
    let derived = folder.run(&[&["derive", "--format", "json"], more].concat());
    std::fs::write(place.join(format!("{name}.derive.json")), derived.out).unwrap();
    ["r4", "r5"].map(|release| {
        let ran = export(folder, release, more);
        std::fs::write(place.join(format!("{name}.{release}.json")), &ran.out).unwrap();
        ran
    })
}

fn with_set() -> Folder {
    Folder::with_order(&format!("{RIGHT}{SET}"))
}

fn resources(ran: &Ran, kind: &str) -> Vec<Value> {
    let bundle = ran.json();
    let entries = bundle["entry"].as_array().unwrap().clone();
    let all = entries.into_iter().map(|entry| entry["resource"].clone());
    all.filter(|resource| resource["resourceType"] == kind)
        .collect()
}

/// What is said to be in no field.
fn listed(ran: &Ran) -> Vec<(String, String)> {
    let outcome = resources(ran, "OperationOutcome").remove(0);
    let issues = outcome["issue"].as_array().unwrap();
    let of = |issue: &Value| {
        let told = |value: &Value| value.as_str().unwrap().to_owned();
        (told(&issue["details"]["text"]), told(&issue["diagnostics"]))
    };
    issues.iter().map(of).collect()
}

#[test]
fn an_order_is_an_activity_with_its_bag() {
    let folder = with_set();
    let words = ["--order", "noradrenaline-central"];
    let [r4, r5] = kept(&folder, "order", &words);
    insta::assert_snapshot!("an_order_in_r4", r4.told());
    insta::assert_snapshot!("an_order_in_r5", r5.told());
    assert!(r4.err.lines().all(|line| line.chars().count() <= 80));
}

#[test]
fn a_set_is_a_plan_of_its_orders() {
    let folder = with_set();
    let set = |release: &str| export(&folder, release, &["--set", "shock"]);
    insta::assert_snapshot!("a_set_in_r4", set("r4").told());
    insta::assert_snapshot!("a_set_in_r5", set("r5").told());
    kept(&folder, "set", &[]);
}

#[test]
fn a_phase_follows_the_end_of_the_one_above() {
    let folder = Folder::new(&[("gutta.toml", ""), ("every.gtt", EVERY)]);
    for (release, field) in [("r4", "actionId"), ("r5", "targetId")] {
        let ran = export(&folder, release, &["--order", "phased-order"]);
        let plan = resources(&ran, "PlanDefinition").remove(0);
        assert_eq!(plan["type"]["coding"][0]["code"], "clinical-protocol");
        let [first, second] = &plan["action"].as_array().unwrap()[..] else {
            panic!("{plan}");
        };
        assert_eq!(first["title"], "first: The first");
        assert_eq!(second["relatedAction"][0][field], first["id"]);
        assert_eq!(second["relatedAction"][0]["relationship"], "after-end");
        let activities = resources(&ran, "ActivityDefinition");
        assert_eq!(second["definitionCanonical"], activities[1]["url"]);
        // A phase's own line does not go along with the other's.
        let words = |at: usize| activities[at]["dosage"][0]["additionalInstruction"].to_string();
        assert!(words(0).contains("ceiling 500 mL/h") && !words(1).contains("ceiling"));
        assert!(words(1).contains("keep open") && !words(0).contains("keep open"));
        assert!(words(0).contains("weight 50 kg") && words(1).contains("weight 50 kg"));
    }
}

#[test]
fn what_authors_write_stays_text() {
    let wild = "<b>&amp; 'x' ]]> so\u{ad}ft \u{200b}none\u{a0}space \u{ffff}[31m \u{e000}é 漢 🙂";
    let order = RIGHT
        .replace("Noradrenaline, single strength", wild)
        .replace("noradrenaline-central", "noradrénaline")
        .replace("  then", &format!("  source     \"{wild}\"\n  then"));
    let folder = Folder::with_order(&order);
    let reference = REFERENCE.replace("Noradrenaline (as base)", wild);
    folder.write("reference.gtt", reference.as_bytes());
    for ran in kept(&folder, "wild", &[]) {
        assert_eq!(ran.code, Some(0), "{}", ran.err);
        for bad in ["\u{ad}", "\u{200b}", "\u{ffff}", "\u{e000}", "\u{a0}"] {
            assert!(!ran.out.contains(bad), "{bad:?}");
        }
        let activity = resources(&ran, "ActivityDefinition").remove(0);
        assert_eq!(activity["name"], Value::Null);
        assert_eq!(activity["identifier"][0]["value"], "noradrénaline");
        assert!(
            activity["title"]
                .as_str()
                .unwrap()
                .starts_with("<b>&amp; 'x' ]]>")
        );
        let div = activity["text"]["div"].as_str().unwrap();
        assert!(
            div.contains("&lt;b&gt;&amp;amp; ") && !div.contains("<b>"),
            "{div}"
        );
        // Mark-up is read in these.
        let marked = format!("{}{}", activity["description"], activity["usage"]);
        assert!(!marked.contains('<'), "{marked}");
    }
}

#[test]
fn names_stay_from_one_export_to_the_next() {
    let folder = with_set();
    let first = export(&folder, "r5", &[]);
    assert_eq!(first.out, export(&folder, "r5", &[]).out);
    let ids = |ran: &Ran| {
        let entries = ran.json()["entry"].as_array().unwrap().clone();
        let ids = entries.iter().map(|entry| entry["resource"]["id"].clone());
        ids.collect::<Vec<_>>()
    };
    // From another folder, in another release, at an address.
    folder.write("inner/other.gtt", b"");
    let words = [
        "export",
        "--fhir",
        "r4",
        "--today",
        "2026-11-25",
        "..",
        "--base-url",
        "https://tarnwick.example/fhir/",
    ];
    let other = folder.run_in("inner", &words);
    assert_eq!(ids(&first), ids(&other), "{}", other.err);
    let url = format!(
        "https://tarnwick.example/fhir/Medication/{}",
        ids(&other)[0].as_str().unwrap()
    );
    assert_eq!(other.json()["entry"][0]["fullUrl"], json!(url));
    assert!(
        other.out.contains(
            "\"definitionCanonical\": \"https://tarnwick.example/fhir/ActivityDefinition/"
        )
    );
    export(&folder, "r4", &["--base-url", "tarnwick"]).refused(
        "invalid value 'tarnwick' for '--base-url <URL>': a base URL is written https://fhir.example.org; see gutta --help",
    );
}

#[test]
fn a_file_is_written_whole_or_not_at_all() {
    let folder = with_set();
    let shown = export(&folder, "r4", &[]);
    let written = export(&folder, "r4", &["--output", "out.json"]);
    assert_eq!((written.code, written.out.as_str()), (Some(0), ""));
    assert_eq!(written.err, shown.err);
    assert_eq!(folder.read("out.json"), shown.out.as_bytes());
    // Nothing to write leaves what is there.
    folder.write("order.gtt", RIGHT.replace("0.06 mcg", "2.5 mcg").as_bytes());
    assert_eq!(
        export(&folder, "r4", &["--output", "out.json"]).code,
        Some(1)
    );
    assert_eq!(folder.read("out.json"), shown.out.as_bytes());
    folder.write("order.gtt", RIGHT.as_bytes());
    let ran = export(&folder, "r4", &["--output", "no/out.json"]);
    assert_eq!(ran.code, Some(2));
    assert!(
        ran.err
            .contains("cannot write no/out.json: there is no such file or folder")
    );
    // Neither a folder nor a device makes way for it.
    std::fs::create_dir(folder.path("a")).unwrap();
    let ran = export(&folder, "r4", &["--output", "a"]);
    assert!(
        ran.err.ends_with("gutta: cannot write a: it is a folder\n"),
        "{}",
        ran.err
    );
    std::fs::remove_dir(folder.path("a")).unwrap();
    let names: Vec<_> = std::fs::read_dir(folder.path("")).unwrap().collect();
    assert_eq!(names.len(), 4, "{names:?}");
}

#[cfg(unix)]
#[test]
fn a_pipe_does_not_make_way_for_a_file() {
    let folder = with_set();
    let pipe = folder.path("pipe");
    assert!(
        std::process::Command::new("mkfifo")
            .arg(&pipe)
            .status()
            .unwrap()
            .success()
    );
    let ran = export(&folder, "r4", &["--output", "pipe"]);
    assert_eq!(ran.code, Some(2));
    assert!(
        ran.err
            .ends_with("gutta: cannot write pipe: it is no plain file\n"),
        "{}",
        ran.err
    );
    assert!(!std::fs::metadata(&pipe).unwrap().is_file());
}

/// The invented hospital, whole.
#[test]
fn the_examples_are_exported() {
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("../examples");
    let folder = Folder::new(&[("gutta.toml", "")]);
    copy(&examples, &folder.path(""));
    for ran in kept(&folder, "examples", &[]) {
        assert_eq!(ran.code, Some(0), "{}", ran.err);
        assert!(resources(&ran, "ActivityDefinition").len() > 100);
        assert!(resources(&ran, "PlanDefinition").len() > 5);
    }
}

fn copy(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for entry in std::fs::read_dir(from).unwrap() {
        let entry = entry.unwrap();
        let place = to.join(entry.file_name());
        if entry.file_type().unwrap().is_dir() {
            copy(&entry.path(), &place);
        } else {
            std::fs::copy(entry.path(), place).unwrap();
        }
    }
}
