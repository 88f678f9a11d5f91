//! `--changed-since`, in repositories of git.

use std::process::Command;

use crate::support::{Folder, REFERENCE, RIGHT, Ran};

/// Runs git in a folder, whatever the machine's own settings say.
fn git(folder: &Folder, inner: &str, words: &[&str]) {
    let mut command = Command::new("git");
    command.current_dir(folder.path(inner));
    for (key, value) in [
        ("user.name", "Tarnwick"),
        ("user.email", "t@tarnwick.example"),
    ] {
        command.args(["-c", &format!("{key}={value}")]);
    }
    command.env("GIT_CONFIG_GLOBAL", "/dev/null");
    command.env("GIT_CONFIG_NOSYSTEM", "1");
    let output = command.args(words).output().unwrap();
    assert!(output.status.success(), "{words:?}: {output:?}");
}

fn commit(folder: &Folder, inner: &str) {
    git(folder, inner, &["add", "--all"]);
    git(
        folder,
        inner,
        &["commit", "--quiet", "--message", "as it is"],
    );
}

/// Two orders of one drug, each with a finding, one that leans on nothing of
/// the reference's drug, all committed on `main`.
fn repository() -> Folder {
    let folder = Folder::with_order(&order("first", ""));
    folder.write("second.gtt", order("second", "").as_bytes());
    folder.write(
        "water.gtt",
        b"solution water \"Water\"\n  contain nothing\n",
    );
    git(
        &folder,
        "",
        &["init", "--quiet", "--initial-branch", "main"],
    );
    commit(&folder, "");
    folder
}

/// An order with a dose that is not usual.
fn order(name: &str, more: &str) -> String {
    RIGHT
        .replace("noradrenaline-central", name)
        .replace("0.06 mcg", "1.5 mcg")
        + more
}

fn since(folder: &Folder, revision: &str) -> Ran {
    folder.run(&["check", "--format", "concise", "--changed-since", revision])
}

/// The files in which something was found, each once, in order.
fn reported(ran: &Ran) -> Vec<&str> {
    let lines = ran
        .out
        .lines()
        .filter(|line| line.contains(": error ") || line.contains(": warning "));
    let mut files: Vec<_> = lines.filter_map(|line| line.split(':').next()).collect();
    files.dedup();
    files
}

#[test]
fn nothing_changed_is_nothing_to_check() {
    let ran = since(&repository(), "main");
    insta::assert_snapshot!(ran.told(), @r"
    exit code 0
    Nothing was checked in 0 files (0 stanzas)
    ── standard error ──
    gutta: no order file has changed since main
    ");
}

#[test]
fn a_changed_limit_concerns_every_order_of_the_drug() {
    let folder = repository();
    let tighter = REFERENCE.replace("0.01 to 1 mcg", "0.01 to 0.5 mcg");
    folder.write("reference.gtt", tighter.as_bytes());
    let ran = since(&folder, "HEAD");
    assert_eq!(reported(&ran), ["order.gtt", "second.gtt"], "{ran:?}");
    insta::assert_snapshot!(ran.err, @"gutta: 1 file changed since HEAD; 3 files to check, with those that depend on it");
    // Committed, it is the same.
    commit(&folder, "");
    assert_eq!(
        reported(&since(&folder, "HEAD~1")),
        ["order.gtt", "second.gtt"]
    );
    assert_eq!(reported(&since(&folder, "HEAD")), [] as [&str; 0]);
}

#[test]
fn a_changed_order_concerns_itself() {
    let folder = repository();
    folder.write("second.gtt", order("second", "  note \"x\"\n").as_bytes());
    assert_eq!(reported(&since(&folder, "main")), ["second.gtt"]);
    let ran = folder.run(&["check", "order.gtt", "--changed-since", "main"]);
    assert!(!ran.out.contains("second.gtt"), "{}", ran.out);
}

#[test]
fn what_is_gone_concerns_those_who_leant_on_it() {
    let folder = repository();
    std::fs::remove_file(folder.path("reference.gtt")).unwrap();
    let ran = since(&folder, "main");
    assert_eq!(reported(&ran), ["order.gtt", "second.gtt"], "{ran:?}");
    assert_eq!(ran.code, Some(1));
}

#[test]
fn what_git_does_not_keep_is_new() {
    let folder = repository();
    let odd = "new/a \"b\"\n\u{e9}.gtt";
    let text = order("third", "").replace("\"ref", "\"../ref");
    folder.write(odd, text.as_bytes());
    let ran = folder.run(&["check", "--changed-since", "main", "--format", "json"]);
    let json = ran.json();
    let found = json["findings"].as_array().unwrap();
    assert!(
        found.iter().any(|found| found["file"] == odd),
        "{}",
        ran.out
    );
    assert!(found.iter().all(|found| found["file"] != "second.gtt"));
    // The same once it is committed, whatever its name.
    commit(&folder, "");
    let ran = folder.run(&["check", "--changed-since", "HEAD~1", "--format", "json"]);
    assert!(
        ran.json()["findings"]
            .as_array()
            .unwrap()
            .iter()
            .any(|found| found["file"] == odd)
    );
}

#[test]
fn only_this_branch_counts() {
    let folder = repository();
    git(&folder, "", &["switch", "--quiet", "--create", "mine"]);
    folder.write("second.gtt", order("second", "  note \"x\"\n").as_bytes());
    commit(&folder, "");
    git(&folder, "", &["switch", "--quiet", "main"]);
    folder.write("order.gtt", order("first", "  note \"x\"\n").as_bytes());
    commit(&folder, "");
    git(&folder, "", &["switch", "--quiet", "mine"]);
    assert_eq!(reported(&since(&folder, "main")), ["second.gtt"]);
}

#[test]
fn a_change_of_what_belongs_checks_every_file() {
    let all = ["order.gtt", "second.gtt", "water.gtt"];
    for (path, text) in [
        ("gutta.toml", "[severity]\n\"review.none\" = \"warning\"\n"),
        (".gitignore", "/drafts/\n"),
        ("inner/.ignore", "x\n"),
    ] {
        let folder = repository();
        folder.write(path, text.as_bytes());
        let ran = since(&folder, "main");
        assert_eq!(reported(&ran), all, "{path}: {ran:?}");
        let said = format!("gutta: {path} has changed since main: every file is checked\n");
        assert_eq!(ran.err, said);
        commit(&folder, "");
        assert_eq!(since(&folder, "HEAD~1").err, said.replace("main", "HEAD~1"));
    }
}

#[test]
fn what_git_was_told_to_overlook_counts_as_changed() {
    for mark in ["--assume-unchanged", "--skip-worktree"] {
        let folder = repository();
        git(&folder, "", &["update-index", mark, "second.gtt"]);
        folder.write("second.gtt", order("second", "  note \"x\"\n").as_bytes());
        assert_eq!(reported(&since(&folder, "main")), ["second.gtt"], "{mark}");
    }
}

#[test]
fn what_is_passed_over_does_not_count() {
    let folder = repository();
    folder.write("gutta.toml", b"exclude = [\"drafts/\"]\n");
    folder.write("drafts/draft.gtt", order("first", "").as_bytes());
    folder.write(".gitignore", b"/tools/\n");
    commit(&folder, "");
    std::fs::remove_file(folder.path("drafts/draft.gtt")).unwrap();
    folder.write("drafts/new.gtt", order("first", "").as_bytes());
    // As Python's environments and Node's packages bring with them.
    folder.write("tools/.gitignore", b"*\n");
    folder.write("tools/tool.gtt", order("first", "").as_bytes());
    let ran = since(&folder, "HEAD");
    assert_eq!(ran.err, "gutta: no order file has changed since HEAD\n");
}

#[test]
fn the_workspace_may_be_a_folder_of_the_repository() {
    let folder = Folder::new(&[("readme.md", "")]);
    git(&folder, "", &["init", "--quiet"]);
    for (path, text) in [("gutta.toml", ""), ("reference.gtt", REFERENCE)] {
        folder.write(&format!("orders/{path}"), text.as_bytes());
    }
    folder.write("orders/a.gtt", order("a", "").as_bytes());
    commit(&folder, "");
    folder.write("readme.md", b"other");
    folder.write(
        "orders/reference.gtt",
        REFERENCE.replace("1 mcg", "0.9 mcg").as_bytes(),
    );
    let words = ["check", "--format", "concise", "--changed-since", "HEAD"];
    assert_eq!(reported(&folder.run_in("orders", &words)), ["a.gtt"]);
}

#[cfg(unix)]
#[test]
fn a_link_always_counts_as_changed() {
    let folder = repository();
    std::os::unix::fs::symlink("order.gtt", folder.path("link.gtt")).unwrap();
    commit(&folder, "");
    let ran = since(&folder, "HEAD");
    assert!(reported(&ran).contains(&"link.gtt"), "{ran:?}");
    let ran = since(&folder, "HEAD~1");
    assert!(
        ran.err.starts_with("gutta: link.gtt has changed"),
        "{ran:?}"
    );
}

#[test]
fn what_cannot_be_compared_is_refused() {
    let folder = Folder::with_order(RIGHT);
    let place = folder.path("").canonicalize().unwrap();
    let place = place.display().to_string();
    let place = place.trim_end_matches('/');
    since(&folder, "main").refused(&format!(
        "{place} is not in a git repository, so it is not known what has changed"
    ));
    git(
        &folder,
        "",
        &["init", "--quiet", "--initial-branch", "main"],
    );
    let unknown = |revision: &str| {
        format!(
            "`{revision}` is not a commit of this repository (a shallow clone has few: fetch it)"
        )
    };
    since(&folder, "main").refused(&unknown("main"));
    commit(&folder, "");
    for revision in ["", "nothing", "main:order.gtt", "main..main"] {
        since(&folder, revision).refused(&unknown(revision));
    }
    let option = folder.run(&["check", "--changed-since=--all"]);
    option.refused(&unknown("--all"));
    let words = ["check", "-", "--changed-since", "main"];
    folder
        .pipe(&words, RIGHT)
        .refused("--changed-since does not work with standard input");
    git(&folder, "", &["switch", "--quiet", "--orphan", "other"]);
    folder.write("order.gtt", RIGHT.as_bytes());
    commit(&folder, "");
    since(&folder, "main").refused(
        "`main` and the present commit have no commit in common (in a clone without its whole history: fetch it)",
    );
    let mut alone = folder.command(&["check", "--changed-since", "main"]);
    let output = alone.env("PATH", "").output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert_eq!(
        String::from_utf8(output.stderr).unwrap(),
        "gutta: the program git is needed, and is not installed\n"
    );
}

#[test]
fn looking_changes_nothing_of_the_repository() {
    let folder = repository();
    folder.write("order.gtt", order("first", "  note \"x\"\n").as_bytes());
    let index = folder.read(".git/index");
    since(&folder, "main");
    assert_eq!(folder.read(".git/index"), index);
}

#[cfg(unix)]
#[test]
fn what_a_repository_sets_is_not_run() {
    use std::os::unix::fs::PermissionsExt;

    let folder = repository();
    let script = "#!/bin/sh\ntouch \"$(dirname \"$0\")/ran\"\nexit 1\n";
    folder.write("tool", script.as_bytes());
    let tool = folder.path("tool");
    std::fs::set_permissions(&tool, std::fs::Permissions::from_mode(0o755)).unwrap();
    let tool = tool.to_str().unwrap();
    for key in [
        "core.fsmonitor",
        "diff.external",
        "diff.odd.command",
        "diff.odd.textconv",
        "filter.odd.clean",
        "filter.odd.process",
        "core.sshCommand",
        "alias.diff",
    ] {
        git(&folder, "", &["config", key, tool]);
    }
    git(&folder, "", &["config", "filter.odd.required", "true"]);
    folder.write(".git/info/attributes", b"*.gtt filter=odd diff=odd\n");
    folder.write("second.gtt", order("second", "  note \"x\"\n").as_bytes());
    let ran = since(&folder, "main");
    assert_eq!(reported(&ran), ["second.gtt"], "{ran:?}");
    let ran = folder.run(&["compare", "main"]);
    assert!(ran.out.contains("note: x; new"), "{ran:?}");
    assert!(!folder.path("ran").exists());
}
