//! What people read is plain English: the messages, the pages of the rules, the
//! help of every command, sheets, values, comparisons and the pages about the
//! tool.

use std::fmt::Write;
use std::fs;
use std::path::Path;

use gutta_checks::{Page, rules};
use gutta_notation::Style;

use crate::support::Folder;
use crate::voice::foreign;

const ROOT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/..");
const COMMANDS: [&str; 12] = [
    "check",
    "derive",
    "compare",
    "sheet",
    "export",
    "fmt",
    "explain",
    "rules",
    "init",
    "serve",
    "completions",
    "man",
];

/// What was said and by what, where nobody would say it.
#[derive(Default)]
struct Faults(String);

impl Faults {
    fn look(&mut self, whose: &str, text: &str) {
        assert!(!text.trim().is_empty(), "{whose}");
        if let Some(turn) = foreign(text) {
            let _ = writeln!(self.0, "{whose}: {turn}");
        }
    }

    /// Each line, or each paragraph, by itself.
    fn look_at_parts(&mut self, whose: &str, text: &str, between: &str) {
        let parts = text.split(between).filter(|part| !part.trim().is_empty());
        parts.for_each(|part| self.look(whose, part));
    }

    #[track_caller]
    fn end(self) {
        assert!(self.0.is_empty(), "\n{}", self.0);
    }
}

fn read(path: &str) -> String {
    fs::read_to_string(Path::new(ROOT).join(path)).unwrap()
}

/// Markdown without its blocks of code.
fn prose(markdown: &str) -> String {
    let parts = markdown.split("```").step_by(2);
    parts.collect::<Vec<_>>().join("\n\n")
}

/// The words of a page of HTML, a line each element; what is quoted to the letter
/// is in backticks.
fn shown(html: &str) -> String {
    let (_, body) = html.split_once("<body").unwrap();
    let mut text = String::new();
    for piece in body.split('<') {
        let (tag, words) = piece.split_once('>').unwrap_or(("", piece));
        if tag == "code" || tag == "/code" {
            text.push('`');
        }
        if !tag.starts_with("script") && !tag.starts_with("style") {
            text.push_str(&words.replace("&quot;", "\"").replace("&amp;", "&"));
        }
        if !["code", "/code", "span", "/span", "a", "/a"]
            .iter()
            .any(|inline| tag.split(' ').next() == Some(inline))
        {
            text.push('\n');
        }
    }
    text
}

#[test]
fn messages_and_pages_of_the_rules() {
    let mut faults = Faults::default();
    let messages = read("grammar/checks/messages.txt");
    faults.look_at_parts("messages.txt", &messages, "\n");
    for rule in rules() {
        let page = rule.page(Style::USUAL);
        let page = Page::of(&page);
        faults.look(rule.name, page.summary);
        for section in &page.sections {
            faults.look_at_parts(rule.name, &prose(section.body), "\n\n");
        }
    }
    faults.end();
}

#[test]
fn help_of_every_command() {
    let folder = Folder::new(&[]);
    let mut faults = Faults::default();
    faults.look("gutta --help", &folder.run(&["--help"]).out);
    for command in COMMANDS {
        let help = folder.run(&[command, "--help"]).out;
        assert!(help.len() > 100, "{command}: {help}");
        faults.look(command, &help);
    }
    let begun = folder.run(&["init", "ward"]);
    faults.look("init", &begun.out);
    assert!(begun.out.contains("independently"), "{begun:?}");
    let settings = String::from_utf8(folder.read("ward/gutta.toml")).unwrap();
    faults.look("init gutta.toml", &settings.replace('#', ""));
    faults.end();
}

/// The caution in full, wherever there is room for it.
#[test]
fn help_carries_the_caution() {
    let folder = Folder::new(&[]);
    for words in [vec!["--help"], vec!["derive", "--help"], vec!["man"]] {
        let help = folder.run(&words).out;
        let help = help.replace("\\*(Aq", "'");
        let help = help.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(help.contains(gutta_protocol::CAUTION), "{words:?}: {help}");
    }
}

#[test]
fn sheets_values_and_comparisons_of_the_examples() {
    let examples = format!("{ROOT}/examples");
    let folder = Folder::new(&[]);
    let site = folder.path("pages");
    let site = site.to_str().unwrap();
    let today = ["--today", "2026-11-25"];
    let made = folder.run_in(&examples, &["sheet", "--site", site, today[0], today[1]]);
    assert!(made.err.contains("wrote"), "{made:?}");
    let mut faults = Faults::default();
    let mut seen = 0;
    let mut folders = vec![folder.path("pages")];
    while let Some(inner) = folders.pop() {
        for entry in fs::read_dir(inner).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|end| end == "html") {
                let html = fs::read_to_string(&path).unwrap();
                faults.look_at_parts(path.to_str().unwrap(), &shown(&html), "\n");
                seen += 1;
            }
        }
    }
    assert!(seen > 100, "{seen}");
    let derived = folder.run(&["derive", &examples, "--working"]);
    faults.look_at_parts("derive", &derived.out, "\n");
    let checked = folder.run(&["check", "--all", &examples, today[0], today[1]]);
    faults.look_at_parts("check", &checked.out, "\n\n");
    let empty = folder.path("empty");
    fs::create_dir(&empty).unwrap();
    let compared = folder.run(&["compare", empty.to_str().unwrap(), &examples]);
    faults.look_at_parts("compare", &compared.out, "\n");
    faults.end();
}

#[test]
fn pages_about_the_tool() {
    let mut faults = Faults::default();
    for path in [
        "README.md",
        "cli/CHANGELOG.md",
        "cli/ci/README.md",
        "editors/README.md",
        "editors/emacs/README.md",
        "editors/helix/README.md",
        "editors/neovim/README.md",
        "editors/vim/README.md",
        "editors/vscode/README.md",
        "editors/vscode/walkthrough/check.md",
        "editors/vscode/walkthrough/derived.md",
        "editors/vscode/walkthrough/order.md",
        "editors/vscode/walkthrough/program.md",
        "editors/vscode/walkthrough/working.md",
        "examples/README.md",
    ] {
        faults.look_at_parts(path, &prose(&read(path)), "\n\n");
    }
    faults.look_at_parts("package.json", &read("editors/vscode/package.json"), "\n");
    faults.end();
}
