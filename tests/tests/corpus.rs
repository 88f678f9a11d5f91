//! The large mixed corpus: right where no slip was made, wrong where one was.

use std::collections::{BTreeMap, BTreeSet};

use gutta_checks::{Options, Severity, check};
use gutta_notation::ast::Date;
use gutta_protocol::{House, Workspace};
use gutta_tests::corpus::{Corpus, File};

/// The stanzas in which something is found, with what.
fn loud(files: Vec<(String, String)>) -> BTreeMap<String, Vec<String>> {
    let workspace = Workspace::new(files, House::default());
    let today = Date {
        year: 2026,
        month: 11,
        day: 25,
    };
    let options = Options { today: Some(today) };
    let mut loud: BTreeMap<String, Vec<String>> = BTreeMap::new();
    for finding in check(&workspace, None, &options) {
        let name = finding
            .stanza
            .and_then(|id| workspace.stanza(id).name.as_ref())
            .map_or(String::new(), |name| name.value.to_string());
        if finding.severity >= Severity::Warning {
            let said = format!("{}: {}", finding.rule.name, finding.message);
            loud.entry(name).or_default().push(said);
        }
    }
    loud
}

/// What is found in the files, and the files; `wrong` of a hundred hold a slip.
fn made(seed: u64, wrong: usize, orders: usize) -> (BTreeMap<String, Vec<String>>, Vec<File>) {
    let corpus = Corpus::new(seed, wrong);
    let mut texts = corpus.reference().to_vec();
    let files: Vec<_> = corpus.files(orders, 2).collect();
    texts.extend(files.iter().map(|file| (file.path.clone(), file.text())));
    (loud(texts), files)
}

#[test]
fn without_slips_nothing_is_found() {
    let (loud, files) = made(1, 0, 500);
    assert!(loud.is_empty(), "{loud:#?}");
    let orders: usize = files.iter().map(File::orders).sum();
    assert!((500..600).contains(&orders), "{orders}");
    let corpus = Corpus::new(2, 0);
    let mut texts = corpus.reference().to_vec();
    let file = corpus.one_file("all.gtt", 1_500);
    let lines = file.text().lines().count();
    assert!((1_500..1_550).contains(&lines), "{lines}");
    texts.push((file.path.clone(), file.text()));
    let loud = self::loud(texts);
    assert!(loud.is_empty(), "{loud:#?}");
}

#[test]
fn what_is_found_is_in_what_slipped_and_is_mixed() {
    let (loud, files) = made(3, 5, 1_000);
    let all: Vec<_> = files.iter().flat_map(|file| &file.made).collect();
    let names: BTreeSet<_> = all.iter().map(|made| made.name.as_str()).collect();
    assert_eq!(names.len(), all.len(), "every name is its own");
    let slipped: Vec<_> = all.iter().filter(|made| made.slipped).collect();
    let share = slipped.len() * 1_000 / all.len();
    assert!((35..65).contains(&share), "{share} of a thousand");
    let caught = slipped.iter().filter(|made| loud.contains_key(&made.name));
    let caught = caught.count();
    assert!(
        caught * 10 >= slipped.len() * 8,
        "{caught} of {}",
        slipped.len()
    );
    // A set tells of an order in it that is not right.
    let right = all.iter().filter(|made| made.is_order && !made.slipped);
    let alarms: Vec<_> = right.filter_map(|made| loud.get(&made.name)).collect();
    assert!(alarms.is_empty(), "{alarms:#?}");
    let known = loud.keys().all(|name| names.contains(name.as_str()));
    assert!(known, "{:?}", loud.keys());
    // And it is mixed.
    let bodies = all.iter().map(|made| {
        let below = made.text.lines().filter(|line| line.starts_with(' '));
        below.collect::<Vec<_>>().join("\n")
    });
    let bodies: Vec<_> = bodies.collect();
    let different: BTreeSet<_> = bodies.iter().collect();
    assert!(
        different.len() * 10 >= bodies.len() * 9,
        "{} of {}",
        different.len(),
        bodies.len()
    );
    let said = loud.values().flatten();
    let rules: BTreeSet<_> = said.filter_map(|said| said.split(':').next()).collect();
    assert!(rules.len() >= 20, "{rules:?}");
}

#[test]
fn the_same_seed_gives_the_same() {
    let text = |seed| Corpus::new(seed, 5).one_file("all.gtt", 3_000).text();
    assert!(text(7) == text(7));
    assert!(text(7) != text(8));
}
