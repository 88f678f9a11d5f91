//! One repository in which everything that others write is hostile, put to
//! every command in every form: nothing hidden gets out, nothing that commands
//! the program which reads along, nothing that is more than words.

use std::path::Path;

use pulldown_cmark::{Event, Options, Parser, Tag};

use crate::support::{Folder, REFERENCE, RIGHT, Ran};

/// What cannot be seen, of every kind.
const HIDDEN: &str = "\u{202e}\u{2066}\u{200f}\u{61c}\u{1b}[31m\u{1b}]0;t\u{7}\u{8}\u{b}\u{c}\u{7f}\u{9b}2J\
                      \u{85}\u{2028}\u{e0041}\u{200b}\u{200d}\u{feff}\u{ad}\u{fffe}\u{fdd0}\u{f8ff}";
/// What can be seen, and would be more than words.
const LOUD: &str = "@everyone a@b.example http://t.example/ www.t.example ![i](j) [l](m) <script>alert(1)</script> \
                    <img src=x> `a` ``` | ##[add-mask]x ##vso[x]y %0A::error::z #12 &lt;";

/// As programs read them, each begins otherwise.
const BEGINNINGS: [&str; 6] = ["=1+1 ", "::error::", "+", "-", "@", "# "];

fn loud_orders() -> String {
    let mut text = "use \"reference.gtt\"\n".to_owned();
    for (index, beginning) in BEGINNINGS.into_iter().enumerate() {
        let own = RIGHT
            .replace("use \"reference.gtt\"\n", "")
            .replace("-central", &format!("-loud-{index}"))
            .replace(
                "Noradrenaline, single strength",
                &format!("{beginning}{LOUD}"),
            )
            .replace(
                "  review by",
                &format!(
                    "  goal       \"{beginning}{LOUD}\"\n  monitor    \"{LOUD}\"\n  review by"
                ),
            );
        text.push_str(&own);
    }
    text
}

fn hidden_orders() -> String {
    let text = "\
use \"reference.gtt\"
# comment HIDDEN LOUD
order odd \"::error::HIDDEN LOUD\"
  drug       noradrenaline
  area       adult-icu
  route      central vein
  pump       syringe
  mix        4mg made up to 50 mL with glucose-5 # HIDDEN
  phase      first \"HIDDEN LOUD\"
    run        20 mL at 0.06 mcg/kg/min
  then       renew
  monitor    \"HIDDEN LOUD\"
  waive      volume.left-over because \"HIDDEN LOUD\"
  rnHIDDEN   5 mL
order unHIDDENread \"HIDDEN\"
  drug       noHIDDENone
  ::error::HIDDEN
::warning::HIDDEN LOUD
orderr HIDDEN ##[x] LOUD
pump odd-pump \"HIDDEN LOUD\"
area odd-ward \"HIDDEN LOUD\"
drug odd-drug \"HIDDEN LOUD\"
  note       \"HIDDEN LOUD\"
use \"HIDDEN.gtt\"
set things \"HIDDEN LOUD\"
  include    odd, HIDDEN
";
    text.replace("HIDDEN", HIDDEN).replace("LOUD", LOUD)
}

/// Every byte that a name may have, and that anything makes something of.
const NAME: &str =
    "=a\n::error::b\r\t\u{1b}[31m\u{202e}\u{e0041}`c`|<script>\"@everyone ![x](y) ##[z]%0A.gtt";

fn repository() -> Folder {
    let folder = Folder::new(&[]);
    let before = REFERENCE
        .replace("Syringe pump", &format!("::error::{LOUD}"))
        .replace("Noradrenaline (as base)", &format!("={LOUD}"));
    let after = before
        .replace("::error::", "::warning::")
        .replace("0.01 to 1", "0.02 to 1");
    let orders = loud_orders();
    let changed = orders
        .replace("4 mg made", "8 mg made")
        .replace("  goal ", "  note ");
    for (state, reference, loud) in [("before", before, &orders), ("after", after, &changed)] {
        let write = |name: &str, text: &str| {
            folder.write(&format!("{state}/{name}"), text.as_bytes());
        };
        write("gutta.toml", "");
        write("reference.gtt", &reference);
        write("loud.gtt", loud);
        write(NAME, &hidden_orders());
    }
    folder
}

/// What nothing that goes out may hold, told otherwise than the command does.
fn wild(c: char) -> bool {
    (c.is_control() && !matches!(c, '\n' | '\t'))
        || matches!(c, '\u{ad}' | '\u{61c}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}')
        || matches!(
            c,
            '\u{2060}'..='\u{206f}' | '\u{feff}' | '\u{fffe}' | '\u{fdd0}' | '\u{f8ff}'
        )
        || matches!(c, '\u{e0000}'..='\u{e007f}')
}

/// Without our own colours.
fn uncoloured(text: &str) -> String {
    let mut parts = text.split("\u{1b}[");
    let mut out = parts.next().unwrap_or("").to_owned();
    for part in parts {
        let end = part.find(|c: char| !c.is_ascii_digit() && c != ';');
        match end.filter(|end| part[*end..].starts_with('m')) {
            Some(end) => out.push_str(&part[end + 1..]),
            None => out.push_str(&format!("\u{1b}[{part}")),
        }
    }
    out
}

fn assert_harmless(what: &str, text: &str) {
    let at = text.find(wild);
    let around = at.map(|at| text[at..].chars().take(40).collect::<String>());
    assert_eq!(around, None, "{what}");
    for line in text.lines() {
        assert!(!line.trim_start().starts_with("::"), "{what}: {line}");
        let mut marks = line
            .match_indices("##")
            .map(|(at, _)| line[at..].trim_start_matches('#'));
        let commands = marks.any(|rest| {
            rest.trim_start_matches(|c: char| c.is_ascii_alphanumeric())
                .starts_with('[')
        });
        assert!(!commands, "{what}: {line}");
    }
}

fn assert_words_alone(what: &str, markdown: &str) {
    let options = Options::ENABLE_TABLES | Options::ENABLE_STRIKETHROUGH | Options::ENABLE_GFM;
    for event in Parser::new_ext(markdown, options) {
        let more = match &event {
            Event::Html(_) | Event::InlineHtml(_) => true,
            Event::Start(tag) => matches!(tag, Tag::Link { .. } | Tag::Image { .. }),
            Event::Text(text) => ["@", "://", "www.", "#12"]
                .iter()
                .any(|more| text.contains(more)),
            _ => false,
        };
        assert!(!more, "{what}: {event:?}\n{markdown}");
    }
    // A table's rows all have its columns: no bar of an author's is one.
    let rows: Vec<_> = markdown
        .lines()
        .filter(|line| line.starts_with("| "))
        .collect();
    assert!(rows.iter().all(|row| row.ends_with(" |")), "{what}");
}

fn run(folder: &Folder, inner: &str, words: &[&str]) -> Ran {
    let ran = folder.run_in(inner, words);
    let what = words.join(" ");
    assert!(matches!(ran.code, Some(0..=2)), "{what}: {ran:?}");
    assert_harmless(&format!("{what}, standard error"), &ran.err);
    if !words.contains(&"github") {
        assert_harmless(&what, &uncoloured(&ran.out));
    }
    ran
}

#[cfg(unix)]
#[test]
fn nothing_harmful_gets_out_of_any_command_in_any_form() {
    let folder = repository();
    let said: [&[&str]; 27] = [
        &["check", "--all"],
        &["check", "--all", "--color", "always"],
        &["check", "--all", "--format", "concise"],
        &["check", "--all", "--format", "concise", "--color", "always"],
        &["check", "--diff"],
        &["check", "--write-baseline", "known.toml"],
        &["check", "--all", "--baseline", "known.toml"],
        &["check", NAME],
        &["check", HIDDEN],
        &["check", "--format", HIDDEN],
        &["derive", "--working"],
        &["derive", "--working", "--color", "always"],
        &["derive", "--order", "odd"],
        &["derive", "--order", HIDDEN],
        &["compare", "../before"],
        &["compare", "../before", "--color", "always"],
        &["compare", HIDDEN],
        &["fmt", "--check"],
        &["fmt", "--diff"],
        &["sheet", "odd"],
        &["sheet", HIDDEN],
        &["export", "--fhir", "r4", "--order", HIDDEN],
        &["explain", HIDDEN],
        &["explain", "text.odd-character"],
        &["rules"],
        &["init", NAME],
        &["man", HIDDEN],
    ];
    for words in said {
        let ran = run(&folder, "after", words);
        assert!(!(ran.out.is_empty() && ran.err.is_empty()), "{words:?}");
    }
    let shown = run(&folder, "after", &["check", "--all"]).out;
    for seen in [
        "<U+202E>",
        "<U+001B>",
        "<U+E0041>",
        "=a<U+000A>::error::b",
        "@everyone",
    ] {
        assert!(shown.contains(seen), "{seen}: {shown}");
    }
}

#[cfg(unix)]
#[test]
fn programs_read_what_they_are_given() {
    let folder = repository();
    for words in [
        &["check", "--all", "--format", "json"][..],
        &["check", "--all", "--format", "sarif"],
        &["check", "--all", "--format", "gitlab"],
        &["derive", "--format", "json"],
        &["compare", "../before", "--format", "json"],
        &["export", "--fhir", "r4"],
        &["export", "--fhir", "r5"],
        &["rules", "--format", "json"],
    ] {
        run(&folder, "after", words).json();
    }
    // To the letter, for a program that looks the file up.
    let report = run(&folder, "after", &["check", "--all", "--format", "gitlab"]).json();
    let all = report.as_array().unwrap();
    assert!(all.iter().any(|found| found["location"]["path"] == NAME));
    for line in run(&folder, "after", &["check", "--all", "--format", "jsonl"])
        .out
        .lines()
    {
        serde_json::from_str::<serde_json::Value>(line).unwrap();
    }
    let github = folder.run_in("after", &["check", "--all", "--format", "github"]);
    assert!(!github.out.contains(wild));
    for line in github.out.lines() {
        let ours = ["::error title=", "::warning title=", "::notice title="];
        assert!(ours.iter().any(|start| line.starts_with(start)), "{line}");
    }
    let junit = run(&folder, "after", &["check", "--all", "--format", "junit"]).out;
    let mut reader = quick_xml::Reader::from_str(&junit);
    while reader.read_event().unwrap() != quick_xml::events::Event::Eof {}

    let csv = run(&folder, "after", &["derive", "--format", "csv"]).out;
    let mut count = 0;
    for row in csv::Reader::from_reader(csv.as_bytes()).records() {
        for cell in &row.unwrap() {
            let formula = cell.starts_with(['=', '+', '-', '@', '\t', '\r']);
            assert!(!formula || cell.parse::<i64>().is_ok(), "{cell}");
        }
        count += 1;
    }
    assert!(count > 100 && csv.contains("'=a<U+000A>"), "{csv}");
}

#[cfg(unix)]
#[test]
fn markdown_holds_words_alone() {
    let folder = repository();
    for words in [
        &["derive", "--format", "markdown"][..],
        &["compare", "../before", "--format", "markdown"],
        &["compare", "../before", "../after", "--format", "markdown"],
    ] {
        let ran = run(&folder, "after", words);
        assert!(ran.out.contains("@everyone"), "{words:?}: {}", ran.out);
        assert_words_alone(&words.join(" "), &ran.out);
    }
}

#[cfg(unix)]
#[test]
fn pages_hold_words_alone() {
    let folder = repository();
    let one = run(&folder, "after", &["sheet", "noradrenaline-loud-1"]);
    assert_eq!(one.code, Some(0), "{one:?}");
    run(&folder, "after", &["sheet", "--site", "site"]);
    let mut pages = vec![("sheet".to_owned(), one.out)];
    fn gather(folder: &Path, pages: &mut Vec<(String, String)>) {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                gather(&path, pages);
            } else if path.extension().is_some_and(|end| end == "html") {
                let text = std::fs::read_to_string(&path).unwrap();
                pages.push((path.display().to_string(), text));
            }
        }
    }
    gather(&folder.path("after/site"), &mut pages);
    assert!(pages.len() > 9, "{}", pages.len());
    for (path, page) in &pages {
        assert_eq!(page.find(wild), None, "{path}");
        assert!(
            !page.contains("<script>") && !page.contains("<img"),
            "{path}"
        );
    }
    let all: String = pages.into_iter().map(|(_, page)| page).collect();
    assert!(all.contains("&lt;U+202E&gt;") && all.contains("&lt;script&gt;"));
}

/// A program gets a file's text to the letter.
#[test]
fn a_text_from_standard_input_goes_back_as_it_is() {
    let folder = Folder::with_order(RIGHT);
    let text = RIGHT.replace("single", HIDDEN);
    let words = ["fmt", "-", "--stdin-name", "order.gtt"];
    assert_eq!(folder.pipe(&words, &text).out, text);
}

#[test]
fn a_line_counts_the_same_for_whoever_counts_it() {
    let line = "  drug       noradrenaline\n";
    let order = RIGHT.replace(line, &line.repeat(2));
    for end in ["\n", "\r\n", "\r"] {
        let folder = Folder::with_order(&order.replace('\n', end));
        let checked = folder
            .run(&["check", "order.gtt", "--format", "concise"])
            .out;
        let told = ": line 5 repeats a line";
        assert!(checked.contains(told), "{end:?}: {checked}");
        let derived = folder.run(&["derive", "order.gtt"]).out;
        assert!(derived.contains("line 5 repeats"), "{end:?}: {derived}");
        let sheet = folder.run(&["sheet", "noradrenaline-central"]).err;
        assert!(sheet.contains("order.gtt:5: error"), "{end:?}: {sheet}");
    }
}
