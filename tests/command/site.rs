//! `gutta sheet --site`.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use crate::support::{Folder, REFERENCE, RIGHT};

fn site(folder: &Folder) -> crate::support::Ran {
    folder.run(&["sheet", "--site", "pages", "--today", "2026-11-25"])
}

/// All pages below the folder, from it.
fn pages(folder: &Path, below: &Path, into: &mut BTreeSet<PathBuf>) {
    for entry in std::fs::read_dir(folder.join(below)).unwrap() {
        let inner = below.join(entry.unwrap().file_name());
        if folder.join(&inner).is_dir() {
            pages(folder, &inner, into);
        } else if inner.extension().is_some() {
            into.insert(inner);
        }
    }
}

#[test]
fn every_order_set_and_drug_has_a_page_and_every_link_leads_to_one() {
    let set = "\nset both \"Both\"\n  area       adult-icu\n  include    noradrenaline-central\n";
    let folder = Folder::with_order(&format!("{RIGHT}{set}"));
    let ran = site(&folder);
    assert_eq!((ran.code, ran.out.as_str()), (Some(0), ""), "{ran:?}");
    assert_eq!(ran.err, "gutta: wrote 4 pages to pages\n");
    let root = folder.path("pages");
    let mut all = BTreeSet::new();
    pages(&root, Path::new(""), &mut all);
    let names: Vec<_> = all
        .iter()
        .map(|page| page.to_string_lossy().into_owned())
        .collect();
    let wanted = [
        "drugs/noradrenaline.html",
        "index.html",
        "orders/noradrenaline-central.html",
        "sets/both.html",
    ];
    assert_eq!(names, wanted);
    let mut links = 0;
    for page in &all {
        let text = std::fs::read_to_string(root.join(page)).unwrap();
        for href in text.split("href=\"").skip(1) {
            let href = href.split('"').next().unwrap();
            let target = root.join(page).parent().unwrap().join(href);
            assert!(target.is_file(), "{}: {href}", page.display());
            links += 1;
        }
        assert!(!text.contains("://"), "{}", page.display());
        assert!(
            text.contains("A checking aid, not a medical device."),
            "{}",
            page.display()
        );
    }
    assert!(links >= 7, "{links}");
    let drug = String::from_utf8(folder.read("pages/drugs/noradrenaline.html")).unwrap();
    assert!(
        drug.contains("<code>never dose above 2 mcg/kg/min</code>"),
        "{drug}"
    );
    assert!(
        drug.contains("<a href=\"../orders/noradrenaline-central.html\">"),
        "{drug}"
    );
}

#[test]
fn an_order_without_a_sheet_says_why_on_its_page() {
    let folder = Folder::with_order(&RIGHT.replace("run        all", "run        al"));
    let ran = site(&folder);
    assert_eq!(ran.code, Some(1));
    assert!(
        ran.err
            .ends_with("gutta: 1 order without a sheet; each page gives the reason\n"),
        "{ran:?}"
    );
    let page = String::from_utf8(folder.read("pages/orders/noradrenaline-central.html")).unwrap();
    assert!(
        page.contains("There is no sheet:") && page.contains("error[text.unreadable]"),
        "{page}"
    );
    assert!(!page.contains("mL/h"), "{page}");
    let index = String::from_utf8(folder.read("pages/index.html")).unwrap();
    assert!(index.contains("<strong>no sheet</strong>"), "{index}");
}

#[test]
fn only_an_earlier_site_gives_way() {
    let folder = Folder::with_order(RIGHT);
    folder.write("pages/mine.txt", b"mine");
    site(&folder).refused("pages holds something else; nothing was written");
    assert_eq!(folder.read("pages/mine.txt"), b"mine");
    std::fs::remove_file(folder.path("pages/mine.txt")).unwrap();
    assert_eq!(site(&folder).code, Some(0));
    // Written anew, and without what is gone.
    folder.write(
        "order.gtt",
        RIGHT.replace("-central \"", "-new \"").as_bytes(),
    );
    assert_eq!(site(&folder).code, Some(0));
    assert!(
        !folder
            .path("pages/orders/noradrenaline-central.html")
            .exists()
    );
    assert!(folder.path("pages/orders/noradrenaline-new.html").exists());
    // Nothing is left beside it.
    let beside = std::fs::read_dir(folder.path(".")).unwrap();
    let names: BTreeSet<_> = beside
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    assert_eq!(
        names,
        ["gutta.toml", "order.gtt", "pages", "reference.gtt"]
            .map(str::to_owned)
            .into()
    );
    folder.write("file", b"");
    let ran = folder.run(&["sheet", "--site", "file"]);
    assert_eq!(ran.code, Some(2), "{ran:?}");
    assert_eq!(folder.read("file"), b"");
    let ran = folder.run(&["sheet", "--site", "other", "noradrenaline-new"]);
    assert_eq!(ran.code, Some(2), "{ran:?}");
    assert_eq!(folder.run(&["sheet"]).code, Some(2));
}

#[test]
fn markup_in_names_and_texts_stays_text_on_every_page() {
    let wild = "<script>x</script>'><img src=x>&";
    let order = RIGHT.replace("Noradrenaline, single strength", wild);
    let reference = REFERENCE
        .replace("Noradrenaline (as base)", wild)
        .replace("  only by", &format!("  note       \"{wild}\"\n  only by"));
    let folder = Folder::new(&[
        ("gutta.toml", ""),
        ("reference.gtt", &reference),
        ("order.gtt", &order),
    ]);
    assert_eq!(site(&folder).code, Some(0));
    let mut all = BTreeSet::new();
    pages(&folder.path("pages"), Path::new(""), &mut all);
    for page in &all {
        let text = std::fs::read_to_string(folder.path("pages").join(page)).unwrap();
        let scripts = usize::from(page == Path::new("index.html"));
        assert_eq!(
            text.matches("<script").count(),
            scripts,
            "{}",
            page.display()
        );
        assert!(!text.contains("<img"), "{}", page.display());
        assert!(text.contains("&lt;script&gt;"), "{}", page.display());
    }
}
