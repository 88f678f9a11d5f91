//! From the place where parsing stopped to a mark that says what could stand
//! there.

use super::phrase::phrase;
use super::{Reader, near};
use crate::lines::LineKind;
use crate::parse::{Rule, Stuck};
use crate::{Edit, Why};

/// The notation's own words within a line.
pub(super) const WORDS: &[&str] = &[
    "any",
    "all",
    "at",
    "most",
    "over",
    "every",
    "for",
    "to",
    "of",
    "in",
    "by",
    "with",
    "as",
    "per",
    "aged",
    "above",
    "below",
    "except",
    "because",
    "until",
    "up",
    "down",
    "or",
    "more",
    "made",
    "added",
    "counted",
    "each",
    "time",
    "day",
    "steps",
    "after",
    "the",
    "first",
    "stop",
    "renew",
    "keep",
    "open",
    "finding",
    "undiluted",
    "weight",
    "surface",
    "age",
    "doses",
    "central",
    "peripheral",
    "umbilical",
    "vein",
    "nerve",
    "block",
    "intraosseous",
    "subcutaneous",
    "epidural",
    "intrathecal",
    "wound",
    "arterial",
    "enteral",
    "dose",
    "flow",
    "strength",
    "single",
    "interval",
    "osmolarity",
    "bolus",
    "rate",
    "total",
];

/// The text from `start` on with the notation's own words in small letters,
/// and where it was changed; `None` if nothing was.
pub(super) fn lowered(text: &str, start: usize) -> Option<(String, Vec<(usize, usize)>)> {
    if !text[start..].bytes().any(|byte| byte.is_ascii_uppercase()) {
        return None;
    }
    let mut lowered = text.to_owned();
    let mut changed = Vec::new();
    let mut at = start;
    while at < text.len() {
        let rest = &text[at..];
        if let Some(quoted) = rest.strip_prefix('"') {
            at += 1 + quoted.find('"').map_or(quoted.len(), |end| end + 1);
            continue;
        }
        let first = rest.chars().next().map_or(1, char::len_utf8);
        let length = rest[first..]
            .find([' ', ',', ':', '"'])
            .map_or(rest.len(), |end| end + first);
        let word = &rest[..length];
        if word.bytes().any(|byte| byte.is_ascii_uppercase()) {
            let small = word.to_ascii_lowercase();
            if WORDS.contains(&small.trim_start_matches([' ', ','])) {
                let skipped = small.len() - small.trim_start_matches([' ', ',']).len();
                lowered.replace_range(at..at + length, &small);
                changed.push((at + skipped, at + length));
            }
        }
        at += length;
    }
    (!changed.is_empty()).then_some((lowered, changed))
}

impl Reader<'_> {
    /// Marks what could not be parsed.
    pub(super) fn stuck(&mut self, stuck: &Stuck, kind: Option<LineKind>) {
        let text = self.source.text.clone();
        let at = stuck.at.min(text.len());
        let rest = text.get(at..).unwrap_or("");
        let length = rest
            .find([' ', ','])
            .unwrap_or(rest.len())
            .max(1)
            .min(rest.len());
        let length = (length..=rest.len())
            .find(|length| rest.is_char_boundary(*length))
            .unwrap_or(rest.len());
        let found = &rest[..length];
        let mut expected = Vec::new();
        let mut literal = Vec::new();
        // What is only read to be put right is not offered.
        for rule in stuck.tried.iter().filter(|rule| **rule != Rule::daily) {
            let (said, words) = phrase(*rule);
            if !expected.iter().any(|one| one == said) {
                expected.push(said.to_owned());
            }
            literal.extend_from_slice(words);
        }
        let before_lid = ["`at most`", "`each time`", "`counted as`"]
            .iter()
            .any(|lid| expected.iter().any(|one| one == lid));
        if expected.len() > 1 {
            expected
                .retain(|one| one != "the end of the line" && !(before_lid && one == "a comma"));
        }
        let mut span = self.at(at, at + length);
        let why = self.why(&text, at, kind, &stuck.tried);
        let fixes = match &why {
            Some((_, fixes)) => fixes.clone(),
            None => near::nearest(found, literal.iter().copied())
                .filter(|near| *near != found && !WORDS.contains(&found))
                .map(|near| Edit {
                    span,
                    text: near.to_owned(),
                })
                .into_iter()
                .collect(),
        };
        let why = why.map(|(why, _)| why);
        if matches!(why, Some(Why::UnclosedText)) {
            span = self.at(at, text.len());
        }
        self.unreadable(span, expected, why, fixes);
    }

    /// The known ways in which a line goes wrong.
    fn why(
        &self,
        text: &str,
        at: usize,
        kind: Option<LineKind>,
        tried: &[Rule],
    ) -> Option<(Why, Vec<Edit>)> {
        let rest = text.get(at..).unwrap_or("");
        if let Some(quoted) = rest.strip_prefix('"')
            && !quoted.contains('"')
        {
            return Some((Why::UnclosedText, Vec::new()));
        }
        let kind = kind?;
        if rest.starts_with('-') {
            return Some((Why::Dash, Vec::new()));
        }
        if rest.starts_with('/') {
            let gap = text[..at].trim_end().len();
            let fix = Edit {
                span: self.at(gap, at),
                text: String::new(),
            };
            let why = Why::Other("a unit is written without spaces".to_owned());
            return Some((why, vec![fix]));
        }
        if matches!(kind, LineKind::Run | LineKind::Bolus) {
            let no_way_yet = tried.contains(&Rule::over) && !tried.contains(&Rule::every);
            let ends = rest.is_empty() || rest.starts_with("every ") || rest.starts_with("for ");
            if no_way_yet && ends && self.says_how_much(text) {
                return Some((Why::How, Vec::new()));
            }
            let banded = rest
                .split(' ')
                .any(|word| matches!(word, "kg" | "g" | "m2"));
            if rest.starts_with("for ") && !banded {
                let why = "`for` says how often, or how long, after `every TIME`";
                return Some((Why::Other(why.to_owned()), Vec::new()));
            }
        }
        if kind == LineKind::Mix
            && let Some(fixes) = self.made_up_or_added(text, at)
        {
            return Some((Why::MadeUpOrAdded, fixes));
        }
        second_part(rest).map(|what| {
            let why = format!("{what} is not read by this version");
            (Why::Other(why), Vec::new())
        })
    }

    fn says_how_much(&self, text: &str) -> bool {
        text.split(' ').nth(1).is_some_and(|word| {
            word == "all" || word.starts_with(|c: char| c.is_ascii_digit() || c == '.')
        })
    }

    /// `mix 4 mg in 50 mL with saline`: the two phrases that are right.
    fn made_up_or_added(&self, text: &str, at: usize) -> Option<Vec<Edit>> {
        let rest = text.get(at..)?;
        let word = rest.split(' ').next().unwrap_or("");
        let joint = text
            .find(" made up to ")
            .or_else(|| text.find(" added to "))
            .or_else(|| text.find(" in "))?;
        let wrong = match word {
            "in" => true,
            "of" => text.contains(" made up to "),
            "with" => text.contains(" added to "),
            "" => text.contains(" made up to "),
            _ => false,
        };
        if !wrong {
            return None;
        }
        let after = text[joint..]
            .trim_start()
            .trim_start_matches("made up to ")
            .trim_start_matches("added to ")
            .trim_start_matches("in ")
            .trim_start();
        let words: Vec<_> = after.split(' ').filter(|word| !word.is_empty()).collect();
        let split = words
            .iter()
            .position(|word| matches!(*word, "of" | "with" | "in"));
        let (volume, solution) = match split {
            Some(place) => (words[..place].join(" "), words[place + 1..].join(" ")),
            None => (words.join(" "), String::new()),
        };
        let solution = if solution.is_empty() {
            "SOLUTION"
        } else {
            &solution
        };
        let span = self.at(joint + 1, text.len());
        Some(vec![
            Edit {
                span,
                text: format!("made up to {volume} with {solution}"),
            },
            Edit {
                span,
                text: format!("added to {volume} of {solution}"),
            },
        ])
    }
}

/// What of the notation's second part the text begins with.
fn second_part(rest: &str) -> Option<&'static str> {
    if rest.starts_with("of maintenance") {
        return Some("a share of maintenance");
    }
    let word = rest.split([' ', ',']).next().unwrap_or("");
    Some(match word {
        "climbing" => "`climbing`",
        "or" => "an alternative with `or`",
        "actual" | "ideal" | "adjusted" | "lean" | "birth" | "dry" | "booking" => {
            "a kind of dosing weight"
        }
        "maintenance" => "`at maintenance`",
        "powder" => "`powder`",
        "from" => "`from`",
        "for" => "a line for a weight band",
        _ => return None,
    })
}
