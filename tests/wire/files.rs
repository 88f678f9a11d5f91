//! Which files the editor is told of: those that the command reads.

use std::os::unix::fs::symlink;
use std::process::Command;

use serde_json::{Value, json};

use crate::support::{Client, Setup};

const WRONG: &str = "ordr a \"A\"\n";

fn all(client: &mut Client) -> Vec<(String, Value)> {
    let report = client.request("workspace/diagnostic", json!({ "previousResultIds": [] }));
    let base = client.url("");
    let items = report["items"].as_array().unwrap().iter();
    let mut all: Vec<_> = items
        .map(|item| {
            let url = item["uri"].as_str().unwrap().strip_prefix(&base).unwrap();
            (url.to_owned(), item["items"].clone())
        })
        .collect();
    all.sort_by(|one, other| one.0.cmp(&other.0));
    all
}

/// Waits until the folder is read anew, and looks.
fn touched(client: &mut Client, path: &str) -> Vec<(String, Value)> {
    let change = json!({ "uri": client.url(path), "type": 2 });
    client.notify(
        "workspace/didChangeWatchedFiles",
        json!({ "changes": [change] }),
    );
    all(client)
}

fn command(client: &Client, words: &[&str]) -> Value {
    let program = env!("CARGO_BIN_EXE_gutta");
    let mut command = Command::new(program);
    command.current_dir(&client.folder).args(words);
    let output = command.output().unwrap();
    serde_json::from_slice(&output.stdout).unwrap()
}

#[test]
fn the_command_and_the_editor_read_the_same_files() {
    let files = [
        (
            "gutta.toml",
            "exclude = [\"drafts/\", \"!drafts/kept.gtt\"]\n",
        ),
        (
            ".gitignore",
            "*.gtt.old\nout/\n/ignored.gtt\n!out/kept.gtt\n",
        ),
        (".ignore", "!ignored.gtt\nlate.gtt\n"),
        ("a.gtt", WRONG),
        ("ignored.gtt", WRONG),
        ("late.gtt", WRONG),
        ("drafts/kept.gtt", WRONG),
        ("out/kept.gtt", WRONG),
        ("sub/.gitignore", "*\n!b.gtt\n"),
        ("sub/b.gtt", WRONG),
        ("sub/c.gtt", WRONG),
        ("icu/gutta.toml", ""),
        ("icu/a.gtt", WRONG),
        ("icu/deep/gutta.toml", ""),
        ("icu/deep/a.gtt", WRONG),
        (".hidden/a.gtt", WRONG),
    ];
    let mut client = Setup::new(files).pulling().start();
    let folder = client.folder.clone();
    symlink("a.gtt", folder.join("link.gtt")).unwrap();
    symlink("/dev/zero", folder.join("out.gtt")).unwrap();
    symlink("sub", folder.join("folder")).unwrap();
    let pipe = Command::new("mkfifo").arg(folder.join("pipe.gtt")).status();
    assert!(pipe.unwrap().success());
    let told = touched(&mut client, "gutta.toml");
    let listed = command(&client, &["check", "--show-files", "--format", "json"]);
    let mut wanted: Vec<_> = listed["read"].as_array().unwrap().clone();
    let passed = listed["passed_over"].as_array().unwrap().iter();
    let faults = passed.filter(|passed| passed["fault"] == true);
    wanted.extend(faults.map(|passed| passed["path"].clone()));
    let mut wanted: Vec<_> = wanted.iter().map(|path| path.as_str().unwrap()).collect();
    wanted.sort_unstable();
    let paths: Vec<_> = told.iter().map(|(path, _)| path.as_str()).collect();
    assert_eq!(paths, wanted);
    assert_eq!(
        wanted,
        [
            "a.gtt",
            "icu/a.gtt",
            "icu/deep/a.gtt",
            "ignored.gtt",
            "link.gtt",
            "out.gtt",
            "pipe.gtt",
            "sub/b.gtt"
        ]
    );
    let (_, pipe) = told.iter().find(|(path, _)| path == "pipe.gtt").unwrap();
    let said = pipe[0]["message"].as_str().unwrap();
    assert!(said.ends_with("it is a pipe, not a plain file."), "{said}");
    // What comes later is told too, and what goes no more.
    std::fs::remove_file(folder.join("pipe.gtt")).unwrap();
    let told = touched(&mut client, "pipe.gtt");
    assert!(!told.iter().any(|(path, _)| path == "pipe.gtt"));
}

#[test]
fn settings_that_cannot_be_read_are_told() {
    let files = [("sub/gutta.toml", ""), ("sub/a.gtt", WRONG)];
    let mut client = Setup::new(files).pulling().start();
    let house = client.folder.join("sub/gutta.toml");
    std::fs::remove_file(&house).unwrap();
    std::fs::create_dir(&house).unwrap();
    let told = touched(&mut client, "sub/gutta.toml");
    let (_, found) = told
        .iter()
        .find(|(path, _)| path == "sub/gutta.toml")
        .unwrap();
    assert_eq!(
        found[0]["message"],
        "gutta.toml cannot be read: it is a folder"
    );
    assert!(told.iter().any(|(path, _)| path == "sub/a.gtt"));
}

#[test]
fn what_is_used_and_not_checked_is_told() {
    let files = [
        ("gutta.toml", "exclude = [\"old.gtt\"]\n"),
        ("old.gtt", "solution saline \"Saline\"\n"),
        ("a.gtt", "use \"old.gtt\"\n"),
    ];
    let mut client = Setup::new(files).pulling().start();
    let code = |told: &[(String, Value)]| {
        let own = told.iter().find(|(path, _)| path == "a.gtt");
        own.map(|(_, found)| found[0]["code"].clone())
    };
    let told = all(&mut client);
    assert_eq!(code(&told), Some(json!("name.use-unchecked")));
    std::fs::write(client.folder.join("gutta.toml"), "").unwrap();
    let told = touched(&mut client, "gutta.toml");
    assert_eq!(code(&told), None);
}

#[test]
fn the_innermost_repository_judges_what_is_opened() {
    let files = [
        ("gutta.toml", "exclude = [\"icu/\"]\n"),
        ("icu/gutta.toml", "digit-groups = \"space\"\n"),
        ("icu/a.gtt", "pump a \"A\"\n  flow 0.1 to 1,200 mL/h\n"),
    ];
    let mut client = Setup::new(files).pulling().start();
    client.open("icu/a.gtt");
    let found = client.request(
        "textDocument/diagnostic",
        json!({ "textDocument": { "uri": client.url("icu/a.gtt") } }),
    );
    let codes = found["items"].as_array().unwrap().iter();
    let mut codes = codes.filter_map(|found| found["code"].as_str());
    assert!(codes.any(|code| code == "text.decimal-comma"), "{found}");
}

/// One that looks clean is to be clean.
#[test]
fn what_is_open_and_passed_over_says_so() {
    let files = [
        ("gutta.toml", "exclude = [\"old/\"]\n"),
        (".gitignore", "/late.gtt\n"),
        ("old/a.gtt", WRONG),
        ("late.gtt", WRONG),
        (".hidden/a.gtt", WRONG),
        ("a.txt", WRONG),
        ("right.gtt", "# nothing\n"),
    ];
    let cases = [
        ("old/a.gtt", "left out by `exclude` in gutta.toml", 3, false),
        (
            "old/new.gtt",
            "left out by `exclude` in gutta.toml",
            3,
            false,
        ),
        ("late.gtt", "ignored by `/late.gtt` in .gitignore", 3, true),
        (".hidden/a.gtt", "hidden", 3, true),
        ("a.txt", "does not end in .gtt", 3, true),
        ("out.gtt", "a link out of the workspace", 1, true),
        ("pipe.gtt", "it is a pipe, not a plain file", 1, true),
    ];
    let holds = |found: &Value, why: &str, severity: i32, judged: bool| {
        let found = found.as_array().unwrap();
        let first = found.first().map_or(Value::Null, Clone::clone);
        let said = first["message"].as_str().unwrap_or_default();
        let judges = found.iter().any(|found| found["code"] == "text.unreadable");
        said.contains(why)
            && first["severity"] == severity
            && first["range"]["start"]["line"] == 0
            && judges == judged
            && (!judged || said.contains("does not read this file"))
    };
    for pulls in [false, true] {
        let mut setup = Setup::new(files);
        setup.pulls = pulls;
        let mut client = setup.start();
        let folder = client.folder.clone();
        symlink("/dev/zero", folder.join("out.gtt")).unwrap();
        let pipe = Command::new("mkfifo").arg(folder.join("pipe.gtt")).status();
        assert!(pipe.unwrap().success());
        for (path, why, severity, judged) in cases {
            client.open_with(path, WRONG);
            let url = client.url(path);
            if pulls {
                let document = json!({ "textDocument": { "uri": url } });
                let report = client.request("textDocument/diagnostic", document);
                assert!(holds(&report["items"], why, severity, judged), "{report}");
            } else {
                client.wait_until(path, |client| {
                    let pushed = client.pushed.get(&url);
                    pushed
                        .is_some_and(|pushed| holds(&pushed["diagnostics"], why, severity, judged))
                });
                client.close(path);
                client.wait_until("it is forgotten", |client| {
                    !client.pushed[&url]
                        .to_string()
                        .contains("does not read this file")
                        && !client.pushed[&url].to_string().contains("left out")
                });
            }
        }
        client.open("right.gtt");
        if pulls {
            let told = all(&mut client);
            for (path, why, severity, judged) in cases {
                let (_, found) = told.iter().find(|(own, _)| own == path).unwrap();
                assert!(holds(found, why, severity, judged), "{path}: {found}");
            }
            assert!(
                !told.iter().any(|(path, _)| path == "right.gtt"),
                "{told:?}"
            );
        } else {
            assert_eq!(client.findings("right.gtt"), [] as [Value; 0]);
        }
    }
}
