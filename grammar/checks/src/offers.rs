//! Whatever a rule offers, or suggests in words, reads without a finding of its
//! own: every page's examples, and its right ones with each number a slip away.

use std::collections::BTreeMap;

use gutta_notation::StanzaKind;
use gutta_notation::lines::{LineKind, keyword_of};

use crate::harness::{findings, fixed};
use crate::pages::examples;
use crate::{Finding, Fix, Severity};

/// Whether the numbers of such a line go wrong: those by which the patient is
/// given something.
fn goes_wrong(line: &str) -> bool {
    let keyword = keyword_of(line.trim(), StanzaKind::Order);
    keyword.is_some_and(|(word, _)| word.kind.is_of_phase() || word.kind == LineKind::Patient)
}

/// The text with one number of an order ten times as large or as small, each at a
/// time.
fn slipped(text: &str) -> Vec<String> {
    let mut all = Vec::new();
    let (mut at, mut in_order) = (0, false);
    for line in text.split_inclusive('\n') {
        if !line.starts_with([' ', '\n']) {
            in_order = line.starts_with("order") || line.starts_with("specimen");
        }
        if in_order && goes_wrong(line) {
            for (from, to) in numbers(line) {
                for other in shifted(&line[from..to]) {
                    let (before, after) = (&text[..at + from], &text[at + to..]);
                    all.push(format!("{before}{other}{after}"));
                }
            }
        }
        at += line.len();
    }
    all
}

/// Where the numbers of a line stand.
fn numbers(line: &str) -> Vec<(usize, usize)> {
    let is_part = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',');
    let mut found = Vec::new();
    let mut at = 0;
    for word in line.split_inclusive(char::is_whitespace) {
        let bare = word.trim_end().trim_end_matches(',');
        if !bare.is_empty() && bare.chars().all(is_part) {
            found.push((at, at + bare.len()));
        }
        at += word.len();
    }
    found
}

/// The number with its point one place to the right, and to the left.
fn shifted(number: &str) -> Vec<String> {
    let plain = number.replace(',', "");
    let (whole, part) = plain.split_once('.').unwrap_or((&plain, ""));
    let put = |digits: &str, decimals: usize| {
        let digits = format!("{digits:0>width$}", width = decimals + 1);
        let (whole, part) = digits.split_at(digits.len() - decimals);
        let whole = whole.trim_start_matches('0');
        let whole = if whole.is_empty() { "0" } else { whole };
        match part.trim_end_matches('0') {
            "" => whole.to_owned(),
            part => format!("{whole}.{part}"),
        }
    };
    let digits = format!("{whole}{part}");
    let up = match part.len() {
        0 => put(&format!("{digits}0"), 0),
        decimals => put(&digits, decimals - 1),
    };
    vec![up, put(&digits, part.len() + 1)]
}

/// How many findings of each rule a reader is shown.
fn loud(findings: &[Finding]) -> BTreeMap<&'static str, usize> {
    let mut all = BTreeMap::new();
    for finding in findings {
        if finding.severity >= Severity::Warning {
            *all.entry(finding.rule.name).or_default() += 1;
        }
    }
    all
}

/// What a slip suggests in words and not as an edit: `` by `TEXT` ``.
fn suggested(text: &str, finding: &Finding) -> Vec<String> {
    if finding.rule.name != "limit.slip" {
        return Vec::new();
    }
    let ways = finding.message.split("by `").skip(1);
    let own = ways.filter_map(|way| {
        let (new, rest) = way.split_once('`')?;
        // One for another number of the order stands elsewhere.
        (!rest.starts_with(" for `")).then_some(new)
    });
    own.map(|new| fixed(text, &Fix::replace(finding.place, new)))
        .collect()
}

/// Whether something kept the order from being judged, so that what it then
/// has was there before, and nobody could say it.
fn was_hidden(found: &[Finding]) -> bool {
    let hides = [
        "limit.not-checked",
        "limit.as-load",
        "limit.unanswered",
        "order.no-route",
    ];
    found.iter().any(|finding| {
        let unread = ["text", "unit", "name"].contains(&finding.rule.family());
        hides.contains(&finding.rule.name) || (unread && finding.severity == Severity::Error)
    })
}

/// What counts against an offer. That a specimen is right, or that a worked
/// example made of the wrong number holds no more, does not.
fn counts(rule: &str, hidden: bool) -> bool {
    let family = rule.split('.').next().unwrap_or_default();
    family != "expect" && (!hidden || ["text", "unit", "name"].contains(&family))
}

#[test]
fn what_is_offered_reads_without_a_finding() {
    let mut faults = String::new();
    let mut offers = BTreeMap::<&str, usize>::new();
    for example in examples() {
        let texts = std::iter::once(example.clone()).chain(slipped(&example));
        for text in texts {
            let found = findings(&text);
            let (before, hidden) = (loud(&found), was_hidden(&found));
            for finding in &found {
                let edits = finding.fixes.iter().map(|fix| fixed(&text, fix));
                for after in edits.chain(suggested(&text, finding)) {
                    // A line to be filled in is not to be read before that.
                    if after.contains("weight ? to") || after.contains("surface ? to") {
                        continue;
                    }
                    *offers.entry(finding.rule.name).or_default() += 1;
                    let again = findings(&after);
                    let brought: Vec<_> = loud(&again)
                        .into_iter()
                        .filter(|(rule, _)| counts(rule, hidden))
                        .filter(|(rule, count)| before.get(rule).is_none_or(|old| old < count))
                        .collect();
                    if !brought.is_empty() {
                        faults.push_str(&format!(
                            "{} offers what brings {brought:?}:\n{}\n",
                            finding.rule.name,
                            changed(&text, &after)
                        ));
                    }
                }
            }
        }
    }
    assert!(faults.is_empty(), "{faults}");
    // Something was offered, by many rules and by the search above all.
    assert!(offers.len() > 30, "{offers:?}");
    assert!(
        offers.get("limit.slip").is_some_and(|count| *count > 50),
        "{offers:?}"
    );
}

/// The lines in which two texts differ.
fn changed(before: &str, after: &str) -> String {
    let lines = before.lines().zip(after.lines());
    let other = lines.filter(|(one, other)| one != other);
    other
        .map(|(one, other)| format!("  {one}\n  {other}\n"))
        .collect()
}
