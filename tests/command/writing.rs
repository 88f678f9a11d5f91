//! What is on disk after a run that was in somebody's way, was killed, or had no
//! room: the old or the new, whole, and nobody's work lost.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use crate::support::{Folder, REFERENCE, RIGHT, Ran};

/// What the command makes [`RIGHT`] of.
fn slipped(words: &[&str]) -> String {
    match words {
        ["fmt"] => RIGHT.replace("  drug       ", "\tdrug "),
        _ => RIGHT.replace("mix        4 mg", "mix        4mg"),
    }
}

/// Two commands that read all files first, and write later.
const REWRITING: [&[&str]; 2] = [&["fmt"], &["check", "--fix"]];

/// The order's folder and its files' number.
const FOLDERS: usize = 12;

fn path_of(index: usize) -> String {
    format!("w{index:02}/order.gtt")
}

/// An order a folder, each of its own name.
fn order(index: usize, text: &str) -> String {
    text.replace("\"reference", "\"../reference")
        .replace("-central \"", &format!("-{index} \""))
}

fn many(words: &[&str]) -> Folder {
    let folder = Folder::new(&[("gutta.toml", ""), ("reference.gtt", REFERENCE)]);
    for index in 0..FOLDERS {
        folder.write(&path_of(index), order(index, &slipped(words)).as_bytes());
    }
    folder
}

/// Everything below the folder, hidden files too.
pub(crate) fn all(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() && !path.is_symlink() {
            found.extend(all(&path));
        } else {
            found.push(path);
        }
    }
    found.sort();
    found
}

pub(crate) fn no_litter(folder: &Folder) {
    let litter = |path: &PathBuf| {
        let name = path.file_name().unwrap().to_string_lossy();
        name.starts_with(".gutta-") && name != ".gutta-site"
    };
    let found: Vec<_> = all(&folder.path("")).into_iter().filter(litter).collect();
    assert!(found.is_empty(), "{found:?}");
}

fn spawn(folder: &Folder, words: &[&str]) -> Child {
    let mut command = folder.command(words);
    command.stdout(Stdio::piped()).stderr(Stdio::piped());
    command.spawn().unwrap()
}

fn ended(child: Child) -> (Option<i32>, String) {
    let output = child.wait_with_output().unwrap();
    let err = String::from_utf8(output.stderr).unwrap();
    (output.status.code(), err)
}

/// Moments within a run of that length, from its beginning to its end.
fn moments(whole: Duration, count: u32) -> impl Iterator<Item = Duration> {
    (0..count).map(move |index| whole * index / count)
}

#[test]
fn an_edit_made_while_others_are_written_survives_and_is_told() {
    let last = path_of(FOLDERS - 1);
    for words in REWRITING {
        let mut told = 0;
        for _ in 0..10 {
            let folder = many(words);
            let before = folder.read(&path_of(0));
            let child = spawn(&folder, words);
            let since = Instant::now();
            while folder.read(&path_of(0)) == before && since.elapsed() < Duration::from_secs(60) {
                std::thread::yield_now();
            }
            // All has been read. Whoever saves in an editor puts all of it there.
            let edited = order(FOLDERS - 1, &slipped(words)).replace("  then", "  # mine\n  then");
            fs::write(folder.path(&last), &edited).unwrap();
            let (code, err) = ended(child);
            assert_eq!(folder.read(&last), edited.as_bytes(), "{words:?}: {err}");
            no_litter(&folder);
            let line = format!(
                "gutta: {last} was changed by another program after it was read, and is left \
                 as it is: run this again\n"
            );
            if err.contains(&line) {
                assert_eq!(code, Some(1), "{err}");
                told += 1;
            } else {
                assert_eq!(code, Some(0), "{err}");
            }
            let first = String::from_utf8(folder.read(&path_of(0))).unwrap();
            assert!(first == order(0, RIGHT), "the others are written: {first}");
            if told == 3 {
                break;
            }
        }
        assert!(told > 0, "{words:?}: it was never in the way");
    }
}

/// A hundred edits at any moment of a run, in each of the ways in which programs
/// save.
#[test]
fn no_edit_is_lost_whenever_and_however_it_is_made() {
    const MARK: &str = "# an edit\n";
    let append = |path: &Path| {
        use std::io::Write;
        let mut file = fs::File::options().append(true).open(path).unwrap();
        file.write_all(MARK.as_bytes()).unwrap();
    };
    let over = |path: &Path| {
        let text = fs::read_to_string(path).unwrap();
        fs::write(path, text + MARK).unwrap();
    };
    let beside = |path: &Path| {
        let text = fs::read_to_string(path).unwrap();
        let new = path.with_extension("new");
        fs::write(&new, text + MARK).unwrap();
        fs::rename(new, path).unwrap();
    };
    let ways: [&(dyn Fn(&Path) + Sync); 3] = [&append, &over, &beside];
    let folder = many(&["fmt"]);
    let begin = Instant::now();
    assert_eq!(folder.run(&["fmt"]).code, Some(0));
    let whole = begin.elapsed();
    for (turn, moment) in moments(whole, 10).enumerate() {
        let words = REWRITING[turn % 2];
        let folder = many(words);
        let child = spawn(&folder, words);
        std::thread::sleep(moment);
        for index in 0..FOLDERS {
            ways[(turn + index) % ways.len()](&folder.path(&path_of(index)));
        }
        let (code, err) = ended(child);
        assert!(matches!(code, Some(0 | 1)), "{err}");
        for index in 0..FOLDERS {
            let text = String::from_utf8(folder.read(&path_of(index))).unwrap();
            assert!(text.ends_with(MARK), "{index}, {moment:?}: {text}\n{err}");
        }
        no_litter(&folder);
    }
}

/// Whatever ended the run, each file is the old or the new.
fn old_or_new(folder: &Folder, words: &[&str]) {
    for index in 0..FOLDERS {
        let text = String::from_utf8(folder.read(&path_of(index))).unwrap();
        let whole = [order(index, &slipped(words)), order(index, RIGHT)];
        assert!(whole.contains(&text), "{index}: {text}");
    }
}

#[cfg(unix)]
fn send(child: &Child, signal: &str) {
    // It may have come to its end by itself.
    let _ = Command::new("kill")
        .args([signal, &child.id().to_string()])
        .stderr(Stdio::null())
        .status()
        .unwrap();
}

#[cfg(unix)]
#[test]
fn a_killed_run_leaves_the_old_or_the_new_and_the_next_one_clears_up() {
    let words = &["fmt"][..];
    let folder = many(words);
    let begin = Instant::now();
    folder.run(words);
    for moment in moments(begin.elapsed(), 16) {
        let folder = many(words);
        let child = spawn(&folder, words);
        std::thread::sleep(moment);
        send(&child, "-KILL");
        ended(child);
        old_or_new(&folder, words);
        // Every folder in which something is still to be done is cleared up.
        let ran = folder.run(words);
        assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""), "{ran:?}");
        for index in 0..FOLDERS {
            let text = order(index, RIGHT);
            assert_eq!(folder.read(&path_of(index)), text.as_bytes());
            folder.write(&path_of(index), order(index, &slipped(words)).as_bytes());
        }
        folder.run(words);
        no_litter(&folder);
    }
}

#[cfg(unix)]
#[test]
fn an_interrupted_run_leaves_the_old_or_the_new_and_nothing_else() {
    let words = &["fmt"][..];
    let folder = many(words);
    let begin = Instant::now();
    folder.run(words);
    let mut interrupted = 0;
    for (turn, moment) in moments(begin.elapsed(), 24).enumerate() {
        let folder = many(words);
        let child = spawn(&folder, words);
        std::thread::sleep(moment);
        send(&child, ["-INT", "-TERM"][turn % 2]);
        let (code, err) = ended(child);
        // By the signal itself, where nothing was being written yet.
        assert!(matches!(code, None | Some(0 | 2 | 130)), "{code:?}: {err}");
        interrupted += u32::from(code != Some(0));
        old_or_new(&folder, words);
        no_litter(&folder);
    }
    assert!(interrupted > 0);
}

/// The command where files may hold no more than so many blocks: a disk that is
/// full. The signal that goes with it is ignored, or would end a program that
/// does not heed it.
#[cfg(unix)]
fn without_room(
    folder: &Folder,
    blocks: u32,
    ignored: bool,
    words: &[&str],
) -> (Option<i32>, String) {
    let trap = if ignored { "trap '' XFSZ; " } else { "" };
    let script = format!("{trap}ulimit -c 0; ulimit -f {blocks}; exec \"$0\" \"$@\"");
    let output = Command::new("sh")
        .args(["-c", &script, env!("CARGO_BIN_EXE_gutta")])
        .args(words)
        .current_dir(folder.path(""))
        .stdin(Stdio::null())
        .output()
        .unwrap();
    let err = String::from_utf8(output.stderr).unwrap();
    (output.status.code(), err)
}

#[cfg(unix)]
#[test]
fn a_full_disk_leaves_no_half_of_a_new_workspace() {
    for ignored in [true, false] {
        for words in [&["init"][..], &["init", "new/house"]] {
            let folder = Folder::new(&[]);
            let (code, err) = without_room(&folder, 0, ignored, words);
            assert_eq!(code, Some(2), "{err}");
            assert!(err.contains("files may not be that large here"), "{err}");
            assert_eq!(all(&folder.path("")), [] as [PathBuf; 0]);
            let inner = fs::read_dir(folder.path("")).unwrap().count();
            assert_eq!(inner, 0, "no folder is left either");
            let ran = folder.run(words);
            assert_eq!((ran.code, ran.err.as_str()), (Some(0), ""), "{ran:?}");
            no_litter(&folder);
            assert_eq!(all(&folder.path("")).len(), 6);
        }
    }
}

#[cfg(unix)]
#[test]
fn a_beginning_that_was_killed_is_gone_on_with() {
    let whole = Folder::new(&[]);
    let begin = Instant::now();
    whole.run(&["init"]);
    for moment in moments(begin.elapsed(), 12) {
        let folder = Folder::new(&[]);
        let child = spawn(&folder, &["init"]);
        std::thread::sleep(moment);
        send(&child, "-KILL");
        ended(child);
        if !folder.path("gutta.toml").exists() {
            let ran = folder.run(&["init"]);
            assert_eq!(ran.code, Some(0), "{ran:?}");
        }
        for path in all(&whole.path("")) {
            let path = path.strip_prefix(whole.path("")).unwrap().to_owned();
            let path = path.to_str().unwrap();
            assert_eq!(folder.read(path), whole.read(path));
        }
    }
    // One that is there, and not by us, is somebody's.
    let ran = whole.run(&["init"]);
    ran.refused("./gutta.toml is there already; nothing was written");
}

#[cfg(unix)]
#[test]
fn a_full_disk_leaves_every_file_as_it_was() {
    for ignored in [true, false] {
        for words in REWRITING {
            let folder = many(words);
            let (code, err) = without_room(&folder, 0, ignored, words);
            assert_eq!(code, Some(2), "{err}");
            for index in 0..FOLDERS {
                let text = order(index, &slipped(words));
                assert_eq!(folder.read(&path_of(index)), text.as_bytes());
            }
            no_litter(&folder);
        }
    }
    // Whatever has room is written, and every other file is named.
    let words = &["fmt"][..];
    let folder = many(words);
    let long = order(1, &slipped(words)) + &"# long\n".repeat(1000);
    folder.write(&path_of(1), long.as_bytes());
    let (code, err) = without_room(&folder, 4, false, words);
    assert_eq!(code, Some(2));
    let line = "gutta: cannot write w01/order.gtt: files may not be that large here\n";
    assert_eq!(err, line);
    assert_eq!(folder.read(&path_of(1)), long.as_bytes());
    for index in (0..FOLDERS).filter(|index| *index != 1) {
        assert_eq!(folder.read(&path_of(index)), order(index, RIGHT).as_bytes());
    }
    no_litter(&folder);
}

#[cfg(unix)]
#[test]
fn a_page_or_a_baseline_without_room_leaves_the_one_before() {
    let folder = Folder::with_order(RIGHT);
    let writes: [&[&str]; 3] = [
        &["check", "--write-baseline", "out"],
        &["sheet", "noradrenaline-central", "--output", "out"],
        &["export", "--fhir", "r4", "--output", "out"],
    ];
    for words in writes {
        for before in [None, Some(&b""[..])] {
            let _ = fs::remove_file(folder.path("out"));
            if let Some(before) = before {
                folder.write("out", before);
            }
            let (code, err) = without_room(&folder, 0, false, words);
            assert_eq!(code, Some(2), "{err}");
            assert_eq!(fs::read(folder.path("out")).ok().as_deref(), before);
            no_litter(&folder);
        }
        assert_ne!(folder.run(words).code, Some(2));
        assert!(!folder.read("out").is_empty(), "{words:?}");
    }
}

#[cfg(unix)]
#[test]
fn a_file_with_two_names_is_told_and_the_others_are_written() {
    for words in REWRITING {
        let folder = many(words);
        fs::hard_link(folder.path(&path_of(3)), folder.path("copy.txt")).unwrap();
        let ran: Ran = folder.run(words);
        assert_eq!(ran.code, Some(2), "{ran:?}");
        insta::assert_snapshot!("a_file_with_two_names", ran.err);
        for index in 0..FOLDERS {
            let text = if index == 3 {
                slipped(words)
            } else {
                RIGHT.to_owned()
            };
            let text = order(index, &text);
            assert_eq!(folder.read(&path_of(index)), text.as_bytes());
        }
    }
}
