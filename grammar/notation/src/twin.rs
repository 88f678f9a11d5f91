//! Names that look like another, by Unicode's table of confusable characters:
//! a word of Cyrillic letters alone may be read as a Latin one.

use std::collections::HashMap;
use std::sync::LazyLock;

use smol_str::SmolStr;
use unicode_security::confusable_detection::skeleton;

/// What each character that names are written in looks like, and which it is.
static PLAIN: LazyLock<HashMap<String, char>> = LazyLock::new(|| {
    // Of two that look alike the later holds: letters are written more.
    let plain = ('0'..='9').chain('a'..='z');
    plain.map(|c| (looks(c), c)).collect()
});

fn looks(c: char) -> String {
    skeleton(c.encode_utf8(&mut [0; 4])).collect()
}

/// The name in plain Latin letters that this one looks like; nothing for one
/// that is written so, and for one that looks like none.
#[must_use]
pub fn latin_twin(name: &str) -> Option<SmolStr> {
    if name.is_ascii() {
        return None;
    }
    let plain = |c: char| match c {
        c if c.is_ascii() => Some(c),
        c => PLAIN.get(&looks(c)).copied(),
    };
    name.chars().map(plain).collect()
}

#[cfg(test)]
mod tests {
    use super::latin_twin;

    #[test]
    fn a_name_of_other_letters_is_read_as_a_latin_one() {
        // Cyrillic; Greek; a Latin letter of the phonetic alphabet.
        for (name, twin) in [
            ("\u{441}\u{43e}\u{440}", "cop"),
            ("\u{3bf}-1", "o-1"),
            ("\u{261}lucose-5", "glucose-5"),
            ("insul\u{456}n", "insulin"),
        ] {
            assert_eq!(latin_twin(name).as_deref(), Some(twin), "{name}");
        }
    }

    #[test]
    fn others_look_like_themselves() {
        let cyrillic = "\u{43c}\u{43e}\u{440}\u{444}\u{438}\u{43d}";
        for name in ["insulin", "morfin\u{e4}", "\u{e9}pin\u{e9}phrine", cyrillic] {
            assert_eq!(latin_twin(name), None, "{name}");
        }
    }
}
