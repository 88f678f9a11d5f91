//! What holds of the formatter for every text.

use proptest::prelude::*;

use super::tests::{DRUG, ORDER, PHASES, PLACES, STYLES, holds_in};

/// Words and marks that make, break and shift lines.
fn piece() -> impl Strategy<Value = String> {
    const PIECES: &[&str] = &[
        "order a \"A\"\n",
        "drug a\n",
        "use \"a.gtt\"\n",
        "phase one",
        "run all",
        " at ",
        "5 mL/h",
        "mix 4 mg",
        " added to ",
        "50 mL",
        " of saline",
        "\n",
        "\n\n",
        "\r\n",
        "\r",
        "  ",
        "\t",
        "#",
        " # c\n",
        "# c\n",
        "\"",
        "\"x  y\"",
        ",",
        ", ",
        " ,",
        ":",
        "10000",
        "25 000",
        "25  000",
        "1,000",
        "0.5",
        "micrograms",
        "5 micrograms/kg/minute",
        "mcg",
        "hours",
        "  then stop\n",
        "  high-alert\n",
        "  usual dose 1 to 2 mg/h\n",
        "  never bolus rate above 5 mg/min\n",
        "  with a,b\n",
        "then stop",
        "\u{a0}",
        "\u{feff}",
        "\u{200b}",
        "é",
        "“",
        "for 3 doses",
        "every 6 h",
        "drug a \"A\"\n",
        "in any 24 hours",
        "dosed in microgram/kg/min\n",
        "adjust 1, 2 , 5 mL/h every 5 minutes\n",
        "set s\n",
        "line 1:a",
        "5",
    ];
    proptest::sample::select(PIECES).prop_map(str::to_owned)
}

proptest! {
    #[test]
    fn soup_of_the_notations_words(
        pieces in prop::collection::vec(piece(), 0..40),
        style in prop::sample::select(&STYLES[..]),
    ) {
        holds_in(&pieces.concat(), style);
    }

    #[test]
    fn any_text(
        text in "\\PC{0,60}|[ \\t\\r\\n#\",:0-9a-z\u{feff}]{0,80}",
        style in prop::sample::select(&STYLES[..]),
    ) {
        holds_in(&text, style);
    }

    #[test]
    fn mutated_examples(
        which in 0..4_usize,
        edits in prop::collection::vec((any::<prop::sample::Index>(), 0..8_usize, piece()), 0..6),
        style in prop::sample::select(&STYLES[..]),
    ) {
        let mut text = [DRUG, PLACES, PHASES, ORDER][which].to_owned();
        for (at, length, piece) in edits {
            let start = text.floor_char_boundary(at.index(text.len() + 1));
            let end = text.ceil_char_boundary((start + length).min(text.len()));
            text.replace_range(start..end, if length % 2 == 0 { &piece } else { "" });
        }
        holds_in(&text, style);
    }
}
