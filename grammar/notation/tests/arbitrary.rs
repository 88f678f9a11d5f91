//! What holds of any text at all.

mod support;

use gutta_notation::{
    DigitGroups, Fact, File, Span, Starts, Style, WrittenUnit, read, stanza_starts,
};
use proptest::prelude::*;

/// Right texts: one as it might be, one with a line of every kind.
const RIGHT: [&str; 2] = [
    include_str!("right.gtt.txt"),
    include_str!("../../../tests/command/every.gtt"),
];

fn texts() -> impl Strategy<Value = String> {
    let piece = prop_oneof![
        Just("order a\n".to_owned()),
        Just("drug noradrenaline \"N\"\n".to_owned()),
        Just("# comment\n".to_owned()),
        Just("\n".to_owned()),
        Just("\r\n".to_owned()),
        Just("\r".to_owned()),
        Just("  ".to_owned()),
        Just("run 50 mL over 4 h".to_owned()),
        Just("  mix 4 mg made up to 50 mL with saline\n".to_owned()),
        Just("  usual dose 1 to 2 mg/h by central vein\n".to_owned()),
        Just("\u{feff}".to_owned()),
        Just("\u{a0}".to_owned()),
        "[a-zA-Z0-9 .,:/%µ½\"#\t-]{0,12}",
        "\\PC{0,6}",
        any::<char>().prop_map(String::from),
    ];
    prop::collection::vec(piece, 0..30).prop_map(|pieces| pieces.concat())
}

/// A right text, cut and spliced.
fn mutated() -> impl Strategy<Value = String> {
    let edit = (
        any::<prop::sample::Index>(),
        0..12_usize,
        "[ -~½µ\n\t]{0,5}",
    );
    let edits = prop::collection::vec(edit, 1..6);
    (prop::sample::select(&RIGHT[..]), edits).prop_map(|(text, edits)| {
        let mut text = text.to_owned();
        for (at, length, new) in edits {
            let from = boundary(&text, at.index(text.len() + 1));
            let to = boundary(&text, (from + length).min(text.len()));
            text.replace_range(from..to.max(from), &new);
        }
        text
    })
}

fn boundary(text: &str, mut at: usize) -> usize {
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

fn style(space: bool) -> Style {
    Style {
        digit_groups: if space {
            DigitGroups::Space
        } else {
            DigitGroups::Comma
        },
        ..Style::USUAL
    }
}

/// Stanzas hold every byte, and each span lies in its stanza on boundaries.
fn sound(text: &str, file: &File) -> Result<(), TestCaseError> {
    let mut at = 0;
    for placed in &file.stanzas {
        prop_assert_eq!(placed.start as usize, at);
        let own = &text[at..at + placed.stanza.len as usize];
        at += own.len();
        let inside = |span: Span| {
            prop_assert!(span.start <= span.end, "{span:?}");
            prop_assert!(
                own.get(span.start as usize..span.end as usize).is_some(),
                "{span:?} in {own:?}"
            );
            Ok(())
        };
        inside(placed.stanza.header)?;
        for mark in &placed.stanza.marks {
            inside(mark.span)?;
            for fix in &mark.fixes {
                inside(fix.span)?;
            }
        }
        for line in &placed.stanza.lines {
            inside(line.span)?;
            inside(line.keyword)?;
            for written in line.fact.quantities() {
                inside(written.span)?;
                inside(written.unit_span)?;
                if line.whole {
                    prop_assert!(written.value.is_some(), "{:?}", line.fact);
                    prop_assert!(written.unit != WrittenUnit::Unknown, "{:?}", line.fact);
                    prop_assert!(written.unit != WrittenUnit::Missing, "{:?}", line.fact);
                }
            }
        }
        if placed.stanza.marks.is_empty() {
            for line in &placed.stanza.lines {
                prop_assert!(line.whole, "silently not whole: {own:?}");
            }
        }
    }
    prop_assert_eq!(at, text.len());
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 1000,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn any_text_is_read_soundly(text in texts(), space in any::<bool>()) {
        sound(&text, &read(&text, style(space)))?;
    }

    #[test]
    fn any_slip_in_a_right_text_is_read_soundly(text in mutated(), space in any::<bool>()) {
        sound(&text, &read(&text, style(space)))?;
    }

    #[test]
    fn kept_starts_equal_a_full_scan(
        text in texts(),
        edits in prop::collection::vec((any::<prop::sample::Index>(), 0..20_usize, texts()), 1..6),
    ) {
        let mut text = text;
        let mut starts = Starts::new(&text);
        for (at, length, new) in edits {
            let from = boundary(&text, at.index(text.len() + 1));
            let to = boundary(&text, (from + length).min(text.len())).max(from);
            let before = text.clone();
            let old = starts.clone();
            text.replace_range(from..to, &new);
            let end = from + new.len();
            let touched = starts.edit(&text, from as u32, to as u32, end as u32);
            let full = stanza_starts(&text);
            prop_assert_eq!(starts.as_slice(), full.as_slice());
            // What lies outside the touched stanzas kept its text.
            let pieces = |text: &str, starts: &[u32]| -> Vec<String> {
                let mut all = Vec::new();
                for (place, start) in starts.iter().enumerate() {
                    let end = starts.get(place + 1).map_or(text.len(), |end| *end as usize);
                    all.push(text[*start as usize..end].to_owned());
                }
                all
            };
            let was = pieces(&before, old.as_slice());
            let is = pieces(&text, starts.as_slice());
            prop_assert_eq!(&was[..touched.first], &is[..touched.first]);
            prop_assert_eq!(
                &was[touched.first + touched.before..],
                &is[touched.first + touched.after..]
            );
        }
    }

    #[test]
    fn a_spelling_fix_keeps_the_value_and_takes_the_mark_away(
        number in prop_oneof![
            "[1-9][0-9]{0,5}", "[1-9][0-9]{0,3}\\.[0-9]{1,3}", "\\.[0-9]{1,2}",
            "[1-9][0-9]{0,2},[0-9]{3}", "[1-9]{1,2} [0-9]{3}",
        ],
        gap in prop_oneof![Just(""), Just(" "), Just("\u{a0}")],
        unit in prop_oneof![
            Just("mL"), Just("ml"), Just("cc"), Just("ML"), Just("L"), Just("l"), Just("mL."),
            Just("µg"), Just("IU"), Just("milligrams"), Just("mcg/min/kg"), Just("gm"),
        ],
    ) {
        let text = format!("order a\n  ceiling {number}{gap}{unit}\n");
        let file = read(&text, Style::USUAL);
        let stanza = &file.stanzas[0].stanza;
        for mark in stanza.marks.iter().filter(|mark| mark.kind.is_spelling()) {
            let fixed = support::apply(&text, 0, &mark.fixes[0]);
            let after = read(&fixed, Style::USUAL);
            let after = &after.stanzas[0].stanza;
            let value = |fact: &Fact| match fact {
                Fact::Ceiling(written) => (written.value.clone(), written.unit),
                _ => (None, WrittenUnit::Unknown),
            };
            prop_assert_eq!(
                value(&stanza.lines[0].fact), value(&after.lines[0].fact), "{} -> {}", text, fixed
            );
            let count = |marks: &[gutta_notation::Mark]| {
                marks.iter().filter(|other| other.kind.rule() == mark.kind.rule()).count()
            };
            prop_assert!(count(&after.marks) < count(&stanza.marks), "{} -> {}", text, fixed);
        }
    }

    #[test]
    fn no_token_without_a_meaning_yields_a_value(token in "[0-9.,:/eE½+-]{1,8}[a-zA-Zµ%/.]{0,6}") {
        let text = format!("order a\n  ceiling {token} mL/h\n");
        let file = read(&text, Style::USUAL);
        let stanza = &file.stanzas[0].stanza;
        let Some(line) = stanza.lines.first() else { return Ok(()) };
        let plain = token.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.' || byte == b',')
            && token.bytes().filter(|byte| *byte == b'.').count() <= 1
            && !token.ends_with('.')
            && !token.ends_with(',');
        if line.whole {
            prop_assert!(plain, "{token} was taken for a number");
        }
    }
}

#[test]
fn hostile_texts_take_no_long_time() {
    let started = std::time::Instant::now();
    let long = 1_000_000;
    let texts = [
        "order a\n  run ".to_owned() + &"5".repeat(long),
        "order a\n  run ".to_owned() + &"5 ".repeat(long / 2),
        "order a\n  run ".to_owned() + &"5 mL ".repeat(long / 5),
        "order a\n  run all over ".to_owned() + &"2 h ".repeat(long / 4),
        "order a\n  ".to_owned() + &"x".repeat(long),
        "order a\n  note \"".to_owned() + &"x".repeat(long),
        "order a\n  note ".to_owned() + &"\"\" ".repeat(long / 3),
        "order a\n  with ".to_owned() + &"a, ".repeat(long / 3),
        "order a\n  adjust ".to_owned() + &"5, ".repeat(long / 3),
        "drug a\n  with ".to_owned() + &"a-b, ".repeat(long / 5),
        "drug a\n  never dose above 5 mg/h except ".to_owned() + &"in a, ".repeat(long / 6),
        "order a\n  run ".to_owned() + &"\u{2013} ".repeat(long / 4),
        "order a\n".to_owned() + &"  run all over 4 h\n".repeat(long / 19),
        "\n".repeat(long),
        "#\n".repeat(long / 2),
        "\r".repeat(long),
        "order a\n".repeat(long / 8),
        "\u{feff}".repeat(long / 3),
        "\0".repeat(long),
        "ordr ".to_owned() + &"(".repeat(long),
    ];
    for text in texts {
        let begun = std::time::Instant::now();
        let file = read(&text, Style::USUAL);
        let length: usize = file
            .stanzas
            .iter()
            .map(|placed| placed.stanza.len as usize)
            .sum();
        assert_eq!(length, text.len());
        let head: String = text.chars().take(30).collect();
        println!("{head:?} {:?}", begun.elapsed());
    }
    // Generous for a loaded machine without optimisation; a quadratic reader
    // would need hours.
    assert!(started.elapsed().as_secs() < 120, "{:?}", started.elapsed());
}
