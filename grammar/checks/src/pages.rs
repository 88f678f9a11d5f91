//! Every page's examples, executed.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use gutta_notation::{DigitGroups, Micro, Style, in_style};

use crate::harness::{findings, findings_as, fixed, show};
use crate::{Finding, Page, Severity, rule};

/// Pages whose examples wait for a rule that is not there yet: their own, or
/// another one that they lean on. The list only shrinks: a page on it whose
/// rules are all there fails the test.
const WAITING: &[(&str, &str)] = &[];

#[test]
fn every_page_shows_what_it_says() {
    let mut faults = String::new();
    let pages = pages();
    for (waiting, _) in WAITING {
        assert!(pages.contains_key(*waiting), "{waiting} has no page");
    }
    for (name, text) in pages {
        let own = crate::rule(&name);
        if let Some((_, awaited)) = WAITING.iter().find(|(page, _)| *page == name) {
            if rule(awaited).is_some() {
                faults.push_str(&format!("{name} waits for {awaited}, which is there\n"));
            }
            continue;
        }
        let Some(own) = own else {
            faults.push_str(&format!("{name}: no such rule\n"));
            continue;
        };
        for style in styles() {
            let text = in_style(&text, style);
            let page = Page::of(&text);
            let example = |heading| written_out(page.example(heading).unwrap_or_default());
            for fault in bad(own.name, own.severity, &example("Bad"), style)
                .into_iter()
                .chain(good(&name, &example("Good"), style))
                .chain(good(&name, &example("Fixed"), style))
                .chain(fix(&name, &example("Bad"), style))
            {
                faults.push_str(&format!("== {name} ({style:?}): {fault}\n"));
            }
        }
    }
    assert!(faults.is_empty(), "{faults}");
}

/// Every way in which a house may write.
fn styles() -> impl Iterator<Item = Style> {
    let groups = [DigitGroups::Comma, DigitGroups::Space].into_iter();
    groups.flat_map(|digit_groups| {
        [Micro::Mcg, Micro::Micrograms].map(|micro| Style {
            digit_groups,
            micro,
        })
    })
}

/// What each page's bad example says, one after the other, as a person reads
/// it; `GUTTA_DRAW=1` writes it anew.
#[test]
fn every_message_is_as_it_was_read() {
    let mut text = String::new();
    for (name, page) in pages() {
        let example = written_out(Page::of(&page).example("Bad").unwrap_or_default());
        for finding in findings(&example) {
            if finding.rule.name != name {
                continue;
            }
            let severity = finding.severity.word();
            text.push_str(&format!("{name} ({severity})\n  {}\n", finding.message));
            for related in &finding.related {
                text.push_str(&format!("  label: {}\n", related.message));
            }
            for note in &finding.notes {
                text.push_str(&format!("  note: {note}\n"));
            }
            for fix in &finding.fixes {
                text.push_str(&format!("  fix: {}\n", fix.title));
            }
            text.push('\n');
        }
    }
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("messages.txt");
    if std::env::var_os("GUTTA_DRAW").is_some() {
        fs::write(&path, &text).unwrap();
    }
    let held = fs::read_to_string(&path).unwrap_or_default();
    assert!(held == text, "read them and draw them with GUTTA_DRAW=1");
}

/// The example with every `# and 300 more such lines` made true.
fn written_out(example: &str) -> String {
    let mut text = String::new();
    for line in example.split_inclusive('\n') {
        let more = line.split_once("# and ");
        let more = more.and_then(|(_, more)| more.split_once(" more such lines"));
        let more: usize = more.and_then(|(more, _)| more.parse().ok()).unwrap_or(0);
        (0..=more).for_each(|_| text.push_str(line));
    }
    text
}

/// Every page of the folders, by its rule's name.
fn pages() -> BTreeMap<String, String> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/rules");
    let mut pages = BTreeMap::new();
    for family in fs::read_dir(root)
        .unwrap()
        .map(|entry| entry.unwrap().path())
    {
        if !family.is_dir() {
            continue;
        }
        for path in fs::read_dir(&family)
            .unwrap()
            .map(|entry| entry.unwrap().path())
        {
            if path.extension().is_some_and(|extension| extension == "md") {
                let stem = |path: &Path| path.file_stem().unwrap().to_str().unwrap().to_owned();
                let name = format!("{}.{}", stem(&family), stem(&path).replace('_', "-"));
                pages.insert(name, fs::read_to_string(&path).unwrap());
            }
        }
    }
    pages
}

/// Every example of every page, right and wrong.
pub(crate) fn examples() -> Vec<String> {
    let headings = ["Bad", "Good", "Fixed"];
    let of_page = |page: &String| {
        let page = Page::of(page);
        headings.map(|heading| written_out(page.example(heading).unwrap_or_default()))
    };
    let mut all: Vec<_> = pages().values().flat_map(of_page).collect();
    // What is drawn out to hundreds of lines says nothing more.
    all.retain(|text| text.len() < 5_000);
    all.sort();
    all.dedup();
    all
}

fn listed(text: &str, findings: &[Finding]) -> String {
    findings.iter().map(|finding| show(text, finding)).collect()
}

/// The rule finds one thing, and nothing else is wrong.
fn bad(rule: &str, severity: Severity, text: &str, style: Style) -> Option<String> {
    let found = findings_as(text, style);
    let own = found.iter().filter(|finding| finding.rule.name == rule);
    let others = found
        .iter()
        .filter(|finding| finding.rule.name != rule && finding.severity >= Severity::Warning);
    let as_usual = own.clone().any(|finding| finding.severity == severity);
    (own.count() != 1 || others.count() != 0 || !as_usual)
        .then(|| format!("the bad example has\n{}", listed(text, &found)))
}

/// Nothing is wrong, and the rule has nothing to say.
fn good(rule: &str, text: &str, style: Style) -> Option<String> {
    let found = findings_as(text, style);
    found
        .iter()
        .any(|finding| finding.rule.name == rule || finding.severity >= Severity::Warning)
        .then(|| format!("a good example has\n{}", listed(text, &found)))
}

/// Each fix on offer leaves nothing for the rule to find.
fn fix(rule: &str, text: &str, style: Style) -> Option<String> {
    let own = |text: &str| {
        findings_as(text, style)
            .into_iter()
            .find(|finding| finding.rule.name == rule)
    };
    let first = own(text)?;
    first.fixes.iter().find_map(|fix| {
        let once = fixed(text, fix);
        if once == text {
            return Some(format!("`{}` changes nothing", fix.title));
        }
        let again = own(&once)?;
        Some(format!(
            "after `{}` there is\n{}{once}",
            fix.title,
            show(&once, &again)
        ))
    })
}
