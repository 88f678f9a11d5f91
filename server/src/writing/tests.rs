use std::fs;
use std::path::Path;

use tempfile::TempDir;

use super::{Batch, Before, Digest, Unwritten, sweep, write};

fn folder(files: &[(&str, &str)]) -> TempDir {
    let folder = TempDir::new().unwrap();
    for (name, text) in files {
        fs::write(folder.path().join(name), text).unwrap();
    }
    folder
}

fn read(folder: &TempDir, name: &str) -> String {
    fs::read_to_string(folder.path().join(name)).unwrap()
}

/// Everything in the folder, hidden files too.
fn names(folder: &Path) -> Vec<String> {
    let entries = fs::read_dir(folder).unwrap();
    let mut names: Vec<_> = entries
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

fn held(text: &str) -> Before {
    Before::Exactly(Digest::of(text.as_bytes()))
}

#[test]
fn a_file_as_it_was_read_is_replaced_and_nothing_is_left_beside() {
    let folder = folder(&[("a", "old")]);
    write(&folder.path().join("a"), b"new", held("old")).unwrap();
    assert_eq!(read(&folder, "a"), "new");
    assert_eq!(names(folder.path()), ["a"]);
}

#[test]
fn an_edit_between_the_last_look_and_the_swap_stays() {
    type Edit = fn(&Path);
    let edits: [Edit; 3] = [
        |path| fs::write(path, "theirs").unwrap(),
        |path| {
            fs::write(path.with_extension("new"), "theirs").unwrap();
            fs::rename(path.with_extension("new"), path).unwrap();
        },
        |path| {
            fs::remove_file(path).unwrap();
            fs::write(path, "theirs").unwrap();
        },
    ];
    for edit in edits {
        let folder = folder(&[("a", "old"), ("b", "old")]);
        let path = folder.path().join("a");
        let mut batch = Batch::begin().unwrap();
        batch.stage(&path, b"new", held("old")).unwrap();
        batch
            .stage(&folder.path().join("b"), b"new", held("old"))
            .unwrap();
        edit(&path);
        let failed = batch.swap();
        assert!(
            matches!(failed.as_slice(), [(told, Unwritten::Changed)] if *told == path),
            "{failed:?}"
        );
        assert_eq!(read(&folder, "a"), "theirs");
        assert_eq!(read(&folder, "b"), "new");
        assert_eq!(names(folder.path()), ["a", "b"]);
    }
}

#[test]
fn what_is_there_meanwhile_and_what_is_gone_is_told() {
    let folder = folder(&[("gone", "old")]);
    let (gone, there) = (folder.path().join("gone"), folder.path().join("there"));
    let mut batch = Batch::begin().unwrap();
    batch.stage(&gone, b"new", held("old")).unwrap();
    batch.stage(&there, b"new", Before::Nothing).unwrap();
    fs::remove_file(&gone).unwrap();
    fs::write(&there, "theirs").unwrap();
    let failed = batch.swap();
    assert!(
        matches!(
            failed.as_slice(),
            [(_, Unwritten::Gone), (_, Unwritten::There)]
        ),
        "{failed:?}"
    );
    assert_eq!(names(folder.path()), ["there"]);
    assert_eq!(read(&folder, "there"), "theirs");
}

#[test]
fn a_batch_that_is_dropped_leaves_nothing() {
    let folder = folder(&[("a", "old")]);
    let mut batch = Batch::begin().unwrap();
    let inner = folder.path().join("x/y");
    batch.folder(&inner).unwrap();
    batch
        .stage(&inner.join("b"), b"new", Before::Nothing)
        .unwrap();
    batch
        .stage(&folder.path().join("a"), b"new", held("old"))
        .unwrap();
    drop(batch);
    assert_eq!(names(folder.path()), ["a"]);
    assert_eq!(read(&folder, "a"), "old");
}

#[test]
fn only_what_is_as_it_was_is_taken_away() {
    let folder = folder(&[("a", "old"), ("b", "old")]);
    let mut batch = Batch::begin().unwrap();
    for name in ["a", "b"] {
        let path = folder.path().join(name);
        batch.take_away(&path, Digest::of(b"old")).unwrap();
    }
    fs::write(folder.path().join("b"), "theirs").unwrap();
    let failed = batch.swap();
    assert!(
        matches!(failed.as_slice(), [(_, Unwritten::Changed)]),
        "{failed:?}"
    );
    assert_eq!(names(folder.path()), ["b"]);
    assert_eq!(read(&folder, "b"), "theirs");
}

#[test]
fn a_killed_run_is_cleared_away_and_a_living_one_is_not() {
    let (old, new) = (Digest::of(b"old").short(), Digest::of(b"new").short());
    let swap = |count: u32| format!(".gutta-dead-{count}.{old}.{new}.swap");
    let folder = folder(&[
        (".gutta-dead.lock", ""),
        (".gutta-dead-x.part", "half of a te"),
        (&swap(0), "old"),
        (&swap(1), "new"),
        (&swap(2), "theirs"),
        (".gutta-site", "a list"),
        (".gutta-note", "mine"),
    ]);
    let mut living = Batch::begin().unwrap();
    living
        .stage(&folder.path().join("a"), b"new", Before::Nothing)
        .unwrap();
    // It has told of what only a person can judge, and that stays.
    let kept = [folder.path().canonicalize().unwrap().join(swap(2))];
    assert_eq!(living.left(), kept);
    assert_eq!(sweep(&folder.path().canonicalize().unwrap()), kept);
    assert_eq!(names(folder.path()).len(), 5, "{:?}", names(folder.path()));
    assert!(living.swap().is_empty());
    assert_eq!(
        names(folder.path()),
        [&swap(2), ".gutta-note", ".gutta-site", "a"]
    );
    assert_eq!(read(&folder, &swap(2)), "theirs");
}

#[cfg(unix)]
mod unix {
    use std::io::Write;
    use std::os::unix::fs::{MetadataExt, PermissionsExt, symlink};

    use super::super::beside::Beside;
    use super::super::swap;
    use super::{Batch, Before, Digest, TempDir, Unwritten, folder, fs, held, names, read, write};

    #[test]
    fn what_is_written_into_the_old_file_after_the_swap_is_not_lost() {
        let folder = folder(&[("a", "old")]);
        let root = folder.path().canonicalize().unwrap();
        let path = root.join("a");
        // An editor has it open, and is slow.
        let mut open = fs::File::options().append(true).open(&path).unwrap();
        let (beside, _) = Beside::open(&root).unwrap();
        let mut part = beside.part(0o600).unwrap();
        part.write_all(b"new").unwrap();
        let part = part.into_temp_path();
        let new = Digest::of(b"new");
        let old = swap::put(&beside, part, &path, new, held("old")).unwrap();
        assert_eq!(read(&folder, "a"), "new");
        open.write_all(b" and theirs").unwrap();
        let Some(old) = old else {
            // Here two files cannot change places.
            return;
        };
        assert!(matches!(old.remove(), Err(Unwritten::Changed)));
        drop(beside);
        assert_eq!(read(&folder, "a"), "old and theirs");
        assert_eq!(names(folder.path()), ["a"]);
    }

    #[test]
    fn mode_owner_and_links_are_kept() {
        let folder = folder(&[("real", "old")]);
        let (real, link) = (folder.path().join("real"), folder.path().join("link"));
        fs::set_permissions(&real, fs::Permissions::from_mode(0o640)).unwrap();
        let before = fs::metadata(&real).unwrap();
        if before.uid() == 0 {
            std::os::unix::fs::chown(&real, Some(65_534), Some(65_533)).unwrap();
        }
        let before = fs::metadata(&real).unwrap();
        symlink("real", &link).unwrap();
        write(&link, b"new", held("old")).unwrap();
        let after = fs::metadata(&real).unwrap();
        assert!(link.is_symlink());
        assert_eq!(read(&folder, "real"), "new");
        let kept = |meta: &fs::Metadata| (meta.mode(), meta.uid(), meta.gid());
        assert_eq!(kept(&after), kept(&before));
        assert_ne!(after.ino(), before.ino(), "it was written beside");
    }

    #[cfg(target_os = "linux")]
    #[test]
    fn the_users_attributes_are_kept() {
        use rustix::fs::{XattrFlags, getxattr, setxattr};
        let folder = folder(&[("a", "old")]);
        let path = folder.path().join("a");
        if setxattr(&path, "user.of", b"ward 3", XattrFlags::empty()).is_err() {
            // This file system has none.
            return;
        }
        write(&path, b"new", held("old")).unwrap();
        let mut value = [0; 16];
        let length = getxattr(&path, "user.of", &mut value).unwrap();
        assert_eq!(&value[..length], b"ward 3");
    }

    #[test]
    fn a_file_with_two_names_is_left_and_told() {
        let folder = folder(&[("a", "old")]);
        fs::hard_link(folder.path().join("a"), folder.path().join("b")).unwrap();
        for before in [held("old"), Before::Anything] {
            let done = write(&folder.path().join("a"), b"new", before);
            assert!(matches!(done, Err(Unwritten::Linked(2))), "{done:?}");
        }
        assert_eq!(
            (read(&folder, "a"), read(&folder, "b")),
            ("old".into(), "old".into())
        );
        assert_eq!(names(folder.path()), ["a", "b"]);
    }

    #[test]
    fn a_file_reached_by_two_paths_is_written_once() {
        let folder = folder(&[("a", "old")]);
        symlink("a", folder.path().join("b")).unwrap();
        let mut batch = Batch::begin().unwrap();
        for name in ["a", "b"] {
            let path = folder.path().join(name);
            batch.stage(&path, b"new", held("old")).unwrap();
        }
        assert!(batch.swap().is_empty());
        assert_eq!(read(&folder, "a"), "new");
    }

    #[test]
    fn what_is_no_plain_file_does_not_give_way() {
        let folder = TempDir::new().unwrap();
        symlink("nowhere", folder.path().join("link")).unwrap();
        fs::create_dir(folder.path().join("folder")).unwrap();
        let made = std::process::Command::new("mkfifo")
            .arg(folder.path().join("pipe"))
            .status();
        assert!(made.unwrap().success());
        for name in ["link", "folder", "pipe"] {
            for before in [held("old"), Before::Anything, Before::Nothing] {
                let done = write(&folder.path().join(name), b"new", before);
                assert!(
                    matches!(done, Err(Unwritten::System(_))),
                    "{name}: {done:?}"
                );
            }
        }
        assert_eq!(names(folder.path()), ["folder", "link", "pipe"]);
    }
}
