//! The rulings on the notation, each with a small text: what reading notices
//! is drawn under the lines. `GUTTA_DRAW=1 cargo test` draws anew.

mod support;

use std::fs;
use std::path::Path;

use gutta_notation::{DigitGroups, Style};

fn holds(name: &str, style: Style) {
    let path = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/rulings")
        .join(name.replace('_', "-") + ".gtt.txt");
    let drawn = fs::read_to_string(&path).expect("each ruling has its text");
    let now = support::drawn(&support::plain(&drawn), style);
    if std::env::var_os("GUTTA_DRAW").is_some() {
        fs::write(&path, &now).expect("the text can be written");
        return;
    }
    assert_eq!(now, drawn, "{}", path.display());
}

macro_rules! rulings {
    ($($name:ident)*) => {$(
        #[test]
        fn $name() {
            holds(stringify!($name), Style::USUAL);
        }
    )*};
}

rulings! {
    ruling_01_first_column
    ruling_02_missing_indent
    ruling_02_indented_stanza
    ruling_03_before_the_first_stanza
    ruling_04_odd_characters
    ruling_05_blanks
    ruling_06_texts_and_headers
    ruling_07_capitals
    ruling_08_names
    ruling_09_blank_after_keyword
    ruling_10_twice
    ruling_11_homes
    ruling_12_use
    ruling_13_thousands
    ruling_14_no_value
    ruling_15_expect_zeros
    ruling_16_unit_missing
    ruling_17_units
    ruling_18_spelling
    ruling_19_percent_and_ratio
    ruling_20_ages
    ruling_21_compound_times
    ruling_22_ranges
    ruling_23_dates_and_singulars
    ruling_24_kinds
    ruling_25_two_ways
    ruling_26_repeats
    ruling_27_lids
    ruling_27a_lists_of_steps
    ruling_27b_after_for
    ruling_28_how
    ruling_31_made_up_or_added
    ruling_33_expect
    ruling_36_per_day
    ruling_38_conditions
    risky_units
    risky_names
    pounds
    second_part
    misspelt_words
    run_together
}

#[test]
fn ruling_13_thousands_by_blank() {
    let style = Style {
        digit_groups: DigitGroups::Space,
        ..Style::USUAL
    };
    holds("ruling_13_thousands_by_blank", style);
}
