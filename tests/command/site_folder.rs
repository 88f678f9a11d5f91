//! What `gutta sheet --site` does to a folder, and what it leaves alone.

use std::fs;
use std::process::Stdio;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

use crate::support::{Folder, RIGHT, Ran};
use crate::writing::{all, no_litter};

const ORDER: &str = "pages/orders/noradrenaline-central.html";

fn site(folder: &Folder) -> Ran {
    folder.run(&["sheet", "--site", "pages", "--today", "2026-11-25"])
}

/// A folder with a site of one order.
fn made() -> Folder {
    let folder = Folder::with_order(RIGHT);
    assert_eq!(site(&folder).code, Some(0));
    folder
}

/// Another title: every page is another.
fn retitle(folder: &Folder, title: &str) {
    let order = RIGHT.replace("Noradrenaline, single strength", title);
    folder.write("order.gtt", order.as_bytes());
}

fn text(folder: &Folder, path: &str) -> String {
    String::from_utf8(folder.read(path)).unwrap()
}

#[test]
fn what_is_not_of_the_site_survives() {
    let folder = made();
    let theirs = [
        "notes.txt",
        ".git/config",
        "orders/mine.html",
        "ward/a.html",
    ];
    for path in theirs {
        folder.write(&format!("pages/{path}"), path.as_bytes());
    }
    folder.write(
        "order.gtt",
        RIGHT.replace("-central \"", "-new \"").as_bytes(),
    );
    let ran = site(&folder);
    assert_eq!(
        (ran.code, ran.err.as_str()),
        (Some(0), "gutta: wrote 3 pages to pages\n")
    );
    for path in theirs {
        assert_eq!(folder.read(&format!("pages/{path}")), path.as_bytes());
    }
    assert!(!folder.path(ORDER).exists(), "its own is gone");
    assert!(folder.path("pages/orders/noradrenaline-new.html").exists());
    no_litter(&folder);
}

#[test]
fn a_page_that_somebody_edited_is_kept_and_told_each_time() {
    let folder = made();
    let edited = text(&folder, ORDER) + "<!-- my remark -->";
    folder.write(ORDER, edited.as_bytes());
    folder.write("pages/index.html", b"my own index");
    retitle(&folder, "Another title");
    let ran = site(&folder);
    insta::assert_snapshot!(ran.told());
    assert_eq!(folder.read(ORDER), edited.as_bytes());
    assert_eq!(folder.read("pages/index.html"), b"my own index");
    let drug = text(&folder, "pages/drugs/noradrenaline.html");
    assert!(drug.contains("Another title"), "the others are written");
    // When the order is gone, its page is still somebody's work.
    folder.write(
        "order.gtt",
        RIGHT.replace("-central \"", "-new \"").as_bytes(),
    );
    for _ in 0..2 {
        let ran = site(&folder);
        assert_eq!(ran.code, Some(1), "{ran:?}");
        assert!(
            ran.err.contains(&format!(
                "{ORDER} was changed by somebody since it was made"
            )),
            "{ran:?}"
        );
        assert_eq!(folder.read(ORDER), edited.as_bytes());
    }
    fs::remove_file(folder.path(ORDER)).unwrap();
    fs::remove_file(folder.path("pages/index.html")).unwrap();
    let ran = site(&folder);
    assert_eq!(
        (ran.code, ran.err.as_str()),
        (Some(0), "gutta: wrote 3 pages to pages\n")
    );
}

#[test]
fn somebodys_page_in_the_place_of_one_is_kept_and_told() {
    let folder = made();
    folder.write("pages/orders/noradrenaline-new.html", b"mine");
    folder.write(
        "order.gtt",
        RIGHT.replace("-central \"", "-new \"").as_bytes(),
    );
    let ran = site(&folder);
    assert_eq!(ran.code, Some(1), "{ran:?}");
    let line = "gutta: pages/orders/noradrenaline-new.html was not made by gutta, and a page is \
                to be written there; it is left as it is, and may be out of date: move it away and run this again\n";
    assert!(ran.err.contains(line), "{ran:?}");
    assert_eq!(folder.read("pages/orders/noradrenaline-new.html"), b"mine");
}

#[test]
fn a_list_that_somebody_changed_removes_nothing() {
    for line in [
        "../order.gtt",
        "../pages/index.html",
        "notes.txt",
        "orders/../../order.gtt",
        ".git/config",
    ] {
        let folder = made();
        folder.write("pages/notes.txt", b"mine");
        // SHA-256 of what is there makes no difference.
        let digest = "0".repeat(64);
        let list = text(&folder, "pages/.gutta-site") + &format!("{digest}  {line}\n");
        folder.write("pages/.gutta-site", list.as_bytes());
        let before: Vec<_> = all(&folder.path(""))
            .iter()
            .map(|path| fs::read(path).unwrap())
            .collect();
        site(&folder).refused(
            "pages/.gutta-site is not a list of pages that can be read; nothing was written",
        );
        let after: Vec<_> = all(&folder.path(""))
            .iter()
            .map(|path| fs::read(path).unwrap())
            .collect();
        assert_eq!(before, after, "{line}");
    }
}

#[test]
fn the_list_is_one_that_sha256sum_reads() {
    let folder = made();
    let list = text(&folder, "pages/.gutta-site");
    let lines: Vec<_> = list.lines().filter(|line| !line.starts_with('#')).collect();
    assert_eq!(lines.len(), 3, "{list}");
    let mut summed = std::process::Command::new("sha256sum");
    summed.args(["--check", "--strict", ".gutta-site"]);
    let summed = summed.current_dir(folder.path("pages")).output().unwrap();
    assert!(summed.status.success(), "{summed:?}");
}

/// Every kind of page is one that the next run knows for its own.
#[test]
fn what_is_written_is_read_back() {
    let folder = made();
    let reference = "ingredient potassium \"Potassium\"\n  never dose above 20 mmol/h\n\nset a \"A set\"\n  include    noradrenaline-central\n";
    folder.write(
        "more.gtt",
        format!("use \"order.gtt\"\n\n{reference}").as_bytes(),
    );
    for _ in 0..2 {
        let ran = site(&folder);
        assert_eq!(ran.code, Some(0), "{ran:?}");
    }
    let list = text(&folder, "pages/.gutta-site");
    for folder in ["orders/", "sets/", "drugs/", "ingredients/"] {
        assert!(list.contains(folder), "{list}");
    }
}

#[test]
fn a_name_of_long_letters_has_a_page() {
    let long = "𝔞".repeat(80);
    let order = RIGHT.replace("noradrenaline-central", &long);
    let longer = RIGHT
        .replace("noradrenaline-central", &format!("{long}𝔟"))
        .replace("use \"reference.gtt\"\n\n", "");
    let folder = Folder::with_order(&format!("{order}\n{longer}"));
    let ran = site(&folder);
    assert_eq!(
        ran.err.lines().next(),
        Some("gutta: wrote 4 pages to pages"),
        "{ran:?}"
    );
    let pages = fs::read_dir(folder.path("pages/orders")).unwrap().count();
    assert_eq!(pages, 2);
}

#[test]
fn at_every_moment_there_is_a_site() {
    let folder = made();
    let ended = AtomicBool::new(false);
    std::thread::scope(|scope| {
        let looking = scope.spawn(|| {
            let mut looks = 0_u32;
            while !ended.load(Ordering::Relaxed) {
                for path in ["pages/index.html", ORDER, "pages/.gutta-site"] {
                    let page = fs::read_to_string(folder.path(path));
                    let page = page.unwrap_or_else(|error| panic!("{path}: {error}"));
                    let whole = page.trim_end().ends_with("</html>") || path.ends_with("-site");
                    assert!(whole, "{path}: {page}");
                }
                looks += 1;
            }
            looks
        });
        for turn in 0..8 {
            retitle(&folder, &format!("Title {turn}"));
            assert_eq!(site(&folder).code, Some(0));
        }
        ended.store(true, Ordering::Relaxed);
        assert!(looking.join().unwrap() > 100);
    });
    assert!(text(&folder, ORDER).contains("Title 7"));
}

#[cfg(unix)]
#[test]
fn a_killed_run_is_made_good_by_the_next() {
    let folder = made();
    let begin = Instant::now();
    retitle(&folder, "Title");
    site(&folder);
    let whole = begin.elapsed();
    for (turn, signal) in ["-KILL", "-INT", "-KILL", "-TERM"]
        .iter()
        .cycle()
        .take(20)
        .enumerate()
    {
        // Over an earlier one, and where there was none.
        let folder = if turn % 8 < 4 {
            made()
        } else {
            Folder::with_order(RIGHT)
        };
        folder.write("pages.txt", b"mine");
        retitle(&folder, "Another title");
        let mut command = folder.command(&["sheet", "--site", "pages"]);
        let child = command
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        std::thread::sleep(whole * u32::try_from(turn).unwrap() / 20);
        let pid = child.id().to_string();
        let mut kill = std::process::Command::new("kill");
        let _ = kill
            .args([signal, pid.as_str()])
            .stderr(Stdio::null())
            .status();
        let output = child.wait_with_output().unwrap();
        if *signal != "-KILL" {
            no_litter(&folder);
        }
        let ran = site(&folder);
        assert_eq!(
            (ran.code, ran.err.as_str()),
            (Some(0), "gutta: wrote 3 pages to pages\n"),
            "{turn}: after {output:?}"
        );
        no_litter(&folder);
        assert_eq!(all(&folder.path("pages")).len(), 4);
        for path in ["pages/index.html", ORDER, "pages/drugs/noradrenaline.html"] {
            assert!(text(&folder, path).contains("Another title"), "{path}");
        }
    }
}

#[cfg(unix)]
#[test]
fn without_room_the_site_before_stays_whole() {
    let folder = made();
    let list = text(&folder, "pages/.gutta-site");
    let before: Vec<_> = all(&folder.path("pages"));
    let held: Vec<_> = before.iter().map(|path| fs::read(path).unwrap()).collect();
    retitle(&folder, "Another title");
    for target in ["pages", "new/pages"] {
        // Room for the list and the smaller pages.
        let script = "trap '' XFSZ; ulimit -f 10; exec \"$0\" \"$@\"";
        let ran = std::process::Command::new("sh")
            .args([
                "-c",
                script,
                env!("CARGO_BIN_EXE_gutta"),
                "sheet",
                "--site",
                target,
            ])
            .current_dir(folder.path(""))
            .output()
            .unwrap();
        assert_eq!(ran.status.code(), Some(2), "{ran:?}");
        let err = String::from_utf8(ran.stderr).unwrap();
        assert!(err.contains("files may not be that large here"), "{err}");
    }
    assert_eq!(all(&folder.path("pages")), before);
    let now: Vec<_> = before.iter().map(|path| fs::read(path).unwrap()).collect();
    assert_eq!(now, held);
    assert_eq!(text(&folder, "pages/.gutta-site"), list);
    assert!(!folder.path("new").exists());
}

#[cfg(unix)]
#[test]
fn no_link_is_followed() {
    use std::os::unix::fs::symlink;
    // The folder itself.
    let folder = made();
    symlink("pages", folder.path("link")).unwrap();
    let ran = folder.run(&["sheet", "--site", "link"]);
    ran.refused("link is a link: name the folder that it leads to; nothing was written");
    // A folder in it.
    fs::rename(folder.path("pages/orders"), folder.path("elsewhere")).unwrap();
    symlink("../elsewhere", folder.path("pages/orders")).unwrap();
    let before = folder.read("elsewhere/noradrenaline-central.html");
    retitle(&folder, "Another title");
    site(&folder).refused("pages/orders is a link or a file, not a folder; nothing was written");
    assert_eq!(folder.read("elsewhere/noradrenaline-central.html"), before);
    // A page.
    let folder = made();
    let page = folder.path(ORDER);
    fs::rename(&page, folder.path("kept.html")).unwrap();
    symlink("../../kept.html", &page).unwrap();
    let before = folder.read("kept.html");
    retitle(&folder, "Another title");
    let ran = site(&folder);
    assert_eq!(ran.code, Some(1), "{ran:?}");
    assert!(
        ran.err.contains(&format!(
            "{ORDER} was changed by somebody since it was made"
        )),
        "{ran:?}"
    );
    assert!(page.is_symlink());
    assert_eq!(folder.read("kept.html"), before);
}
