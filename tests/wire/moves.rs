//! Files that an editor is about to move: what `use` lines say then, or why
//! none is changed.

use serde_json::{Value, json};

use crate::support::{Client, Setup};

const DRUG: &str = "drug noradrenaline \"Noradrenaline\"\n";

fn ward() -> Client {
    let files = [
        ("gutta.toml", "exclude = [\"old/\"]\n"),
        (".gitignore", "/late/\n"),
        ("drugs.gtt", DRUG),
        ("other.gtt", "# nothing\n"),
        ("alone.gtt", "# nothing\n"),
        ("ward.gtt", "use \"drugs.gtt\"\n"),
    ];
    let mut client = Setup::new(files).start();
    client.open("ward.gtt");
    client.findings("ward.gtt");
    client
}

/// Moves files, and gives the edit and what was shown.
fn moved(client: &mut Client, moves: &[(&str, &str)]) -> (Value, String) {
    let files = moves.iter().map(|(old, new)| {
        let new = if new.starts_with("file:") {
            (*new).to_owned()
        } else {
            client.url(new)
        };
        json!({ "oldUri": client.url(old), "newUri": new })
    });
    let files: Vec<_> = files.collect();
    client.heard.clear();
    let edit = client.request("workspace/willRenameFiles", json!({ "files": files }));
    // What was to be shown goes out before the answer to what is asked next.
    client.request("gutta/work", Value::Null);
    client.listen(std::time::Duration::from_millis(50));
    let shown = client
        .heard
        .iter()
        .filter(|heard| heard["method"] == "window/showMessage");
    let shown = shown.map(|shown| shown["params"]["message"].as_str().unwrap().to_owned());
    (edit, shown.collect::<Vec<_>>().join(" | "))
}

#[test]
fn what_would_break_a_use_line_is_told_and_changes_nothing() {
    let mut client = ward();
    for (from, to, why) in [
        ("drugs.gtt", "a%22b.gtt", "a character"),
        ("drugs.gtt", "a%0Ab.gtt", "a character"),
        ("drugs.gtt", "a%5Cb.gtt", "a character"),
        ("drugs.gtt", "a%FFb.gtt", "could not be read"),
        (
            "drugs.gtt",
            "drugs.txt",
            "would not be read as an order file",
        ),
        (
            "drugs.gtt",
            "drugs.GTT",
            "would not be read as an order file",
        ),
        (
            "drugs.gtt",
            "drugs.gtt%20",
            "would not be read as an order file",
        ),
        (
            "alone.gtt",
            "alone.GTT",
            "would not be read as an order file",
        ),
        (
            "drugs.gtt",
            "dr%E2%80%AEugs.gtt",
            "`dr<U+202E>ugs.gtt` has characters",
        ),
        (
            "alone.gtt",
            "alo%E2%80%8Bne.gtt",
            "characters that cannot be seen",
        ),
        (
            "drugs.gtt",
            "other.gtt",
            "There is a file `other.gtt` already",
        ),
        (
            "alone.gtt",
            "other.gtt",
            "There is a file `other.gtt` already",
        ),
        (
            "drugs.gtt",
            "file:///elsewhere/drugs.gtt",
            "will find nothing there: `ward.gtt`",
        ),
        (
            "ward.gtt",
            "file:///elsewhere/ward.gtt",
            "its own `use` lines",
        ),
    ] {
        let (edit, shown) = moved(&mut client, &[(from, to)]);
        assert!(edit.is_null(), "{to}: {edit}");
        assert!(shown.contains(why), "{to}: {shown}");
    }
    let (edit, shown) = moved(
        &mut client,
        &[("drugs.gtt", "new.gtt"), ("alone.gtt", "new.gtt")],
    );
    assert!(edit.is_null(), "{edit}");
    assert!(
        shown.contains("There is a file `new.gtt` already"),
        "{shown}"
    );
}

#[test]
fn what_breaks_nothing_is_followed() {
    let mut client = ward();
    for (moves, written, shown) in [
        (&[("drugs.gtt", "new.gtt")] as &[_], "\\\"new.gtt\\\"", ""),
        (
            &[("drugs.gtt", "other.gtt"), ("other.gtt", "drugs.gtt")],
            "\\\"other.gtt\\\"",
            "",
        ),
        (
            &[("drugs.gtt", "other.gtt"), ("other.gtt", "third.gtt")],
            "\\\"other.gtt\\\"",
            "",
        ),
        (
            &[("drugs.gtt", "old/drugs.gtt")],
            "old/drugs.gtt",
            "excluded by gutta.toml",
        ),
        (
            &[("drugs.gtt", "late/drugs.gtt")],
            "late/drugs.gtt",
            "ignored by `/late/`",
        ),
        (&[("alone.gtt", "file:///elsewhere/alone.gtt")], "null", ""),
    ] {
        let (edit, said) = moved(&mut client, moves);
        assert!(edit.to_string().contains(written), "{moves:?}: {edit}");
        assert!(said.contains(shown), "{moves:?}: {said}");
        assert_eq!(said.is_empty(), shown.is_empty(), "{moves:?}: {said}");
    }
}
