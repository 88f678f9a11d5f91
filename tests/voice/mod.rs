//! Words that nobody in a hospital would say: literary turns, and a
//! programmer's. What people are shown is held to plain English by the tests of
//! the command and of the server, which share this.

/// Turns that are never shown. `#` is a number.
const FOREIGN: &[&str] = &[
    "alone",
    "stand",
    "stands",
    "stood",
    "house",
    "houses",
    "house's",
    "lid",
    "lids",
    "tell",
    "tells",
    "told",
    "judge",
    "judged",
    "judges",
    "held against",
    "held to",
    "lean",
    "leaned",
    "leaning",
    "leans",
    "bring",
    "brings",
    "brought",
    "load",
    "loads",
    "go together",
    "go with",
    "goes together",
    "goes with",
    "not among",
    "reckon",
    "reckoned",
    "reckoning",
    "part thousands",
    "parts thousands",
    "by epidural",
    "by intrathecal",
    "by subcutaneous",
    "more than the usual #",
    "less than the usual",
    "not sooner than",
    "oftener",
    "have it derived",
    "declared",
    "whoever",
    "mend",
    "mended",
    "anew",
    "in truth",
    "nothing says",
    "silences",
];

/// Right English in these turns.
const ALLOWED: &[&str] = &[
    "patient surface",
    "told apart",
    "body surface area",
    "body surface areas",
    "loads nothing",
    "plugins load",
];

/// The first turn of a text that nobody would say, with the words around it.
/// What stands in backticks, and names with a point or a hyphen in them, are the
/// notation's and an author's.
pub(crate) fn foreign(text: &str) -> Option<String> {
    let words = spoken(text);
    let turn = FOREIGN.iter().copied().chain(["surface"]);
    let found = turn.filter_map(|turn| Some((turn, words.find(&format!(" {turn} "))?)));
    let found = found.map(|(turn, at)| {
        let after = words[at..].split(' ').take(8).collect::<Vec<_>>().join(" ");
        format!("{turn}: …{after}")
    });
    let dash = ranged(text).map(|dash| format!("a dash between two numbers: {dash}"));
    found.chain(dash).next()
}

/// The words of a text, small, one blank apart and around them; without what is
/// quoted to the letter and what is allowed.
fn spoken(text: &str) -> String {
    let mut words = String::from(" ");
    let plain = text.split('`').step_by(2);
    for word in plain.flat_map(str::split_whitespace) {
        let option = word.starts_with(['-', '<', '[']);
        let word = word.trim_matches(|c: char| !c.is_alphanumeric());
        let named = option || word.contains(['.', '-', '_', '/', '=', ':']);
        if word.starts_with(|c: char| c.is_ascii_digit()) {
            words.push('#');
        } else if !named {
            words.push_str(&word.to_lowercase());
        }
        words.push(' ');
    }
    for allowed in ALLOWED {
        words = words.replace(&format!(" {allowed} "), " ");
    }
    words
}

/// A dash with a digit on either side.
fn ranged(text: &str) -> Option<&str> {
    let mut dashes = text.match_indices('\u{2013}');
    dashes.find_map(|(at, dash)| {
        let before = text[..at].chars().next_back()?;
        let after = text[at + dash.len()..].chars().next()?;
        let range = before.is_ascii_digit() && after.is_ascii_digit();
        range.then(|| &text[at - 1..at + dash.len() + 1])
    })
}

#[test]
fn a_planted_turn_is_found() {
    for planted in [
        "It stands in line 4.",
        "In the editor alone.",
        "The lid of 20 g\nlies above it.",
        "What it\ngoes  with",
        "more than the usual 20 mg/h",
        "by body surface, as `patient surface` says",
        "this order gives it by intrathecal",
        "for 40\u{2013}150 kg",
    ] {
        assert!(foreign(planted).is_some(), "{planted}");
    }
    for plain in [
        "more than the usual maximum of 20 mg/h",
        "by body surface area, from `patient surface` in `lid-house`",
        "run.lid-always: `load` and `house` are names here",
        "The two cannot be told apart by eye.",
        "for 40 to 150 kg",
    ] {
        assert_eq!(foreign(plain), None);
    }
}
