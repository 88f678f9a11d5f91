//! Sheets, pages, what changed, and what is laid out.

use super::{FOR_PROGRAMS, Written, texts};
use crate::styles::HOUSES;

#[test]
fn sheets_are_written_as_the_house_writes() {
    for house in HOUSES {
        let mut written = Written::new(house);
        let ran = written.folder.run(&["sheet", "--site", "site"]);
        assert!(ran.err.contains("wrote"), "{ran:?}");
        let mut pages = 0;
        let mut folders = vec![written.folder.path("site")];
        while let Some(folder) = folders.pop() {
            for entry in std::fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                if path.is_dir() {
                    folders.push(path);
                } else if path.extension().is_some_and(|end| end == "html") {
                    let page = std::fs::read_to_string(&path).unwrap();
                    written.look(&path.display().to_string(), &without_tags(&page));
                    pages += 1;
                }
            }
        }
        assert!(pages > 40, "{pages}");
        written.end();
    }
}

/// What a reader of the page sees, an element a line.
fn without_tags(page: &str) -> String {
    let body = page.split_once("<body").map_or("", |(_, body)| body);
    let mut text = String::new();
    for part in body.split('<').skip(1) {
        text.push_str(part.split_once('>').map_or("", |(_, text)| text));
        text.push('\n');
    }
    text
}

/// Both states are told as the house writes now, however it wrote before.
#[test]
fn what_changed_is_told_as_the_house_writes_now() {
    for (place, house) in HOUSES.into_iter().enumerate() {
        let before = HOUSES[HOUSES.len() - 1 - place];
        let mut written = Written::of_large(house);
        let changed = house
            .large()
            .replace("50 mL with", "40 mL with")
            .replace("25 mL", "30 mL")
            .replace(&house.writes("40,000 "), &house.writes("39,000 "))
            .replace(&house.writes("20,000 "), &house.writes("18,000 "))
            .replace(&house.writes("5 ng/kg/min"), &house.writes("50 ng/kg/min"));
        written.write("old/gutta.toml", before.toml);
        // Titles are the authors', and not what is compared here.
        let (old, own) = (before.large(), house.large());
        let old = old.lines().zip(own.lines());
        let old: String = old
            .map(|(old, own)| if own.contains('"') { own } else { old })
            .map(|line| format!("{line}\n"))
            .collect();
        written.folder.write("old/large.gtt", old.as_bytes());
        written.write("new/gutta.toml", house.toml);
        written.write("new/large.gtt", &changed);
        for words in [
            &["compare", "old", "new"][..],
            &["compare", "--rows", "old", "new"],
            &["compare", "--format", "markdown", "--rows", "old", "new"],
        ] {
            written.run(words);
        }
        let document = written
            .folder
            .run(&["compare", "--format", "json", "old", "new"]);
        let document = document.json();
        let mut all = Vec::new();
        texts(&document, "", &mut all);
        all.retain(|(key, _)| !FOR_PROGRAMS.contains(key));
        for (key, text) in all {
            written.look(key, text);
        }
        written.end();
    }
}

#[test]
fn pages_are_told_as_the_house_writes() {
    for house in HOUSES {
        let mut written = Written::of_large(house);
        written.source.clear();
        // What a page is about stands in it.
        let about = [
            "text.thousands",
            "text.decimal-comma",
            "text.risky-unit",
            "text.printed",
        ];
        written.run(&["rules"]);
        for (rule, ..) in house.pages() {
            if !about.contains(&rule) {
                written.run(&["explain", rule]);
            }
        }
        written.end();
    }
}

/// A house that spells `micrograms` has them spelt by the formatter; digits in
/// other groups than the house's have no value, and stay.
#[test]
fn the_formatter_writes_as_the_house_does() {
    let [usual, spelt, ..] = HOUSES;
    for (from, to) in [(usual, spelt), (spelt, usual)] {
        let mut written = Written::of_large(to);
        written.source.clear();
        written.folder.write("large.gtt", from.large().as_bytes());
        let ran = written.folder.run(&["fmt", "large.gtt"]);
        assert_eq!(ran.code, Some(0), "{ran:?}");
        let text = String::from_utf8(written.folder.read("large.gtt")).unwrap();
        // Titles and comments are the author's.
        let lines = text.lines().filter(|line| !line.contains(['"', '#']));
        for line in lines {
            written.look("fmt", line);
        }
        written.end();
    }
}
