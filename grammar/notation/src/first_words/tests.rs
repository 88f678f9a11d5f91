use super::meant;
use crate::{DigitGroups, StanzaKind, Style, words};

/// Names as a small reference declares them.
fn named(kind: StanzaKind, phrase: &str) -> Option<String> {
    let phrase = phrase.to_lowercase();
    let phrase = phrase.replace('%', "").replace('-', " ");
    let phrase: Vec<_> = phrase.split_whitespace().collect();
    let name = match (kind, phrase.join(" ").as_str()) {
        (StanzaKind::Solution, "saline" | "normal saline" | "sodium chloride 0.9" | "nacl 0.9") => {
            "saline"
        }
        (StanzaKind::Solution, "glucose 5" | "d5w") => "glucose-5",
        (StanzaKind::Pump, "syringe" | "syringe driver") => "syringe",
        (StanzaKind::Area, "icu") => "icu",
        (StanzaKind::Drug, "noradrenaline") => "noradrenaline",
        _ => return None,
    };
    Some(name.to_owned())
}

fn lines(kind: StanzaKind, text: &str, style: Style) -> Vec<String> {
    let all = meant(kind, text, &named, style).into_iter();
    all.map(|meant| meant.line).collect()
}

/// Whatever is proposed was read without a mark, by `meant` itself.
#[test]
fn what_hospitals_write() {
    let mut wrong = Vec::new();
    let rows = include_str!("table.txt").lines();
    let mut count = 0;
    for row in rows.filter(|row| !row.starts_with('#')) {
        let parts: Vec<_> = row.split('|').map(str::trim).collect();
        let [stanza, text, wanted @ ..] = parts.as_slice() else {
            panic!("{row}");
        };
        let kind = words::stanza_kind(stanza).unwrap();
        let found = lines(kind, text, Style::USUAL);
        let wanted: Vec<_> = wanted.iter().filter(|line| **line != "~").collect();
        if found.iter().collect::<Vec<_>>() != wanted {
            wrong.push(format!("{stanza} | {text} | {}", found.join(" | ")));
        }
        count += 1;
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(count > 130, "{count}");
}

#[test]
fn what_is_spelling_only() {
    let cases = [
        ("Route Central Vein", true),
        ("route CVC", false),
        ("rate 3 mL/h", false),
        ("mix: 4 mg made up to 50 ml with saline", true),
        ("mix 8 mg in 50 mL saline", false),
        ("dose 2 IU/hr", false),
    ];
    for (text, spelling) in cases {
        let all = meant(StanzaKind::Order, text, &named, Style::USUAL);
        let first = all.first().unwrap_or_else(|| panic!("{text}"));
        assert_eq!(first.spelling, spelling, "{text}: {first:?}");
    }
}

#[test]
fn as_the_hospital_writes() {
    let style = Style {
        digit_groups: DigitGroups::Space,
        ..Style::USUAL
    };
    assert_eq!(
        lines(StanzaKind::Order, "dose 25000 units over 24 h", style),
        ["run 25 000 units over 24 h"]
    );
}

#[test]
fn nothing_is_made_of_what_is_nothing() {
    for text in [
        "", "   ", "#", "\"", "rate \"", "1 2 3", "///", "every", "q", "é", "to", "rate to",
        "5 mg to",
    ] {
        for stanza in words::STANZAS {
            lines(stanza.kind, text, Style::USUAL);
        }
    }
}

proptest::proptest! {
    #[test]
    fn any_text_is_answered(text in "[ -~éµ–\"]{0,60}") {
        for stanza in words::STANZAS {
            lines(stanza.kind, &text, Style::USUAL);
        }
    }
}
