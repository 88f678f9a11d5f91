//! What is in a folder and is no plain file, or has a name that is no text.

use std::ffi::OsStr;
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::symlink;
use std::os::unix::net::UnixListener;
use std::process::Command;

use crate::files::{fails, passed};
use crate::support::{Folder, RIGHT};

fn pipe(folder: &Folder, path: &str) {
    let made = Command::new("mkfifo").arg(folder.path(path)).status();
    assert!(made.unwrap().success());
}

#[test]
fn only_plain_files_are_read() {
    let folder = Folder::with_order(RIGHT);
    pipe(&folder, "pipe.gtt");
    pipe(&folder, ".gitignore");
    let _socket = UnixListener::bind(folder.path("socket.gtt")).unwrap();
    symlink("/dev/zero", folder.path("zero.gtt")).unwrap();
    let ran = folder.run(&["check"]);
    fails(
        &ran,
        "gutta: pipe.gtt is passed over: cannot be read: it is a pipe, not a plain file\n",
    );
    fails(
        &ran,
        "gutta: socket.gtt is passed over: cannot be read: it is a socket",
    );
    fails(
        &ran,
        "gutta: zero.gtt is passed over: a link out of the workspace\n",
    );
    assert_eq!(
        ran.last_line(),
        "No errors or warnings in 2 files (6 stanzas); 3 passed over"
    );
    for words in [
        &["check"][..],
        &["fmt"],
        &["derive"],
        &["export", "--fhir", "r5"],
    ] {
        let words = [words, &["pipe.gtt"]].concat();
        folder
            .run(&words)
            .refused("cannot read pipe.gtt: it is a pipe, not a plain file");
    }
    for words in [
        &["derive"][..],
        &["export", "--fhir", "r5"],
        &["sheet", "--site", "site"],
    ] {
        fails(&folder.run(words), "gutta: pipe.gtt is passed over");
    }
    folder.write(
        "order.gtt",
        RIGHT.replace("reference.gtt", "pipe.gtt").as_bytes(),
    );
    let ran = folder.run(&["check", "order.gtt", "--format", "concise"]);
    assert!(
        ran.out.contains("order.gtt:1:5: error name.use-outside"),
        "{}",
        ran.out
    );
    folder.run(&["check", "/dev/stdin"]).refused(
        "cannot read /dev/stdin: for standard input write `-`, and give the file's name with --stdin-name",
    );
}

#[test]
fn links_out_and_nowhere_are_told() {
    let folder = Folder::new(&[("outside/a.gtt", ""), ("bare/notes.txt", "")]);
    folder.write("ws/gutta.toml", b"");
    folder.write("ws/in/a.gtt", b"");
    for (name, to) in [
        ("out.gtt", "../outside/a.gtt"),
        ("nowhere.gtt", "nothing.gtt"),
        ("circle.gtt", "circle.gtt"),
        ("folder", "../outside"),
        ("bare", "../bare"),
        ("own", "in"),
        ("alike.gtt", "in/a.gtt"),
    ] {
        symlink(to, folder.path("ws").join(name)).unwrap();
    }
    let ran = folder.run_in("ws", &["check"]);
    fails(
        &ran,
        "gutta: out.gtt is passed over: a link out of the workspace\n",
    );
    fails(
        &ran,
        "gutta: folder is passed over: a link out of the workspace\n",
    );
    fails(
        &ran,
        "gutta: nowhere.gtt is passed over: cannot be read: it is a link that leads nowhere\n",
    );
    fails(
        &ran,
        "gutta: circle.gtt is passed over: cannot be read: its links form a circle\n",
    );
    assert!(
        ran.last_line()
            .ends_with("in 2 files (0 stanzas); 4 passed over"),
        "{ran:?}"
    );
}

#[test]
fn a_name_that_is_not_utf8_is_no_other_name() {
    let folder = Folder::with_order(RIGHT);
    for bytes in [&b"a\xff.gtt"[..], b"a\xfe.gtt"] {
        let path = folder.path("").join(OsStr::from_bytes(bytes));
        std::fs::write(path, "ordr a\n").unwrap();
    }
    let inner = folder.path("").join(OsStr::from_bytes(b"b\xff"));
    std::fs::create_dir(&inner).unwrap();
    std::fs::write(inner.join("c.gtt"), "").unwrap();
    let ran = folder.run(&["check"]);
    fails(&ran, "is passed over: its name is not UTF-8\n");
    assert_eq!(
        ran.err.matches("its name is not UTF-8").count(),
        3,
        "{}",
        ran.err
    );
    assert!(
        ran.last_line()
            .ends_with("in 2 files (6 stanzas); 3 passed over"),
        "{ran:?}"
    );
    assert_eq!(
        passed(&folder)
            .iter()
            .filter(|(_, _, fault)| *fault)
            .count(),
        3
    );
    let mut named = folder.command(&["check"]);
    let output = named.arg(OsStr::from_bytes(b"a\xff.gtt")).output().unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("its name is not UTF-8"));
}

#[test]
fn settings_that_cannot_be_read_are_never_absent() {
    let folder = Folder::with_order(RIGHT);
    let house = folder.path("gutta.toml");
    let refused = |why: &str| {
        for words in [
            &["check"][..],
            &["fmt", "--check"],
            &["derive"],
            &["compare", "."],
        ] {
            let ran = folder.run(words);
            assert_eq!(
                (ran.code, ran.out.as_str()),
                (Some(2), ""),
                "{words:?} {ran:?}"
            );
            let said = format!("gutta: gutta.toml:1:1: gutta.toml cannot be read: {why}\n");
            assert!(ran.err.ends_with(&said), "{words:?}: {}", ran.err);
        }
        if house.is_dir() && !house.is_symlink() {
            std::fs::remove_dir(&house).unwrap();
        } else {
            std::fs::remove_file(&house).unwrap();
        }
    };
    std::fs::remove_file(&house).unwrap();
    std::fs::create_dir(&house).unwrap();
    refused("it is a folder");
    symlink("gutta.toml", &house).unwrap();
    refused("its links form a circle");
    symlink("nowhere", &house).unwrap();
    refused("there is no such file or folder");
    pipe(&folder, "gutta.toml");
    refused("it is a pipe, not a plain file");
    folder.write("gutta.toml", &b"# x\n".repeat(100_000));
    refused("it has more than 262144 bytes, and no more are read");
    folder.write("gutta.toml", b"# \xff\n");
    refused("it is not UTF-8");
}
