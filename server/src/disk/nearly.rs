//! Names that are nearly those of the files that are read: in other letters,
//! with a blank or a point behind, or with the ending that some programs add.
//! Whoever wrote one meant the file to be read.

use std::ffi::OsStr;

use gutta_notation::Hidden;

use super::{EXTENSION, HOUSE_FILE};

/// What a name nearly is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Nearly {
    /// An order file's.
    Order,
    /// `gutta.toml`.
    House,
}

/// What the name of a file nearly is; nothing for what is none of both, and for
/// what is one exactly.
#[must_use]
pub(crate) fn nearly(name: &OsStr) -> Option<Nearly> {
    let name = name.to_string_lossy();
    let ends = |text: &str| {
        text.rsplit_once('.')
            .is_some_and(|(_, end)| end == EXTENSION)
    };
    if name == HOUSE_FILE || ends(&name) {
        return None;
    }
    let seen = name
        .chars()
        .filter(|c| !c.is_whitespace() && Hidden::of(*c).is_none());
    let plain: String = seen.flat_map(char::to_lowercase).collect();
    let mut plain = plain.trim_end_matches('.');
    while let Some(before) = plain.strip_suffix(".txt") {
        plain = before.trim_end_matches('.');
    }
    match plain {
        HOUSE_FILE => Some(Nearly::House),
        plain if ends(plain) => Some(Nearly::Order),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use std::ffi::OsStr;

    use super::{Nearly, nearly};

    #[test]
    fn a_slip_of_the_name_is_near() {
        let of = |name: &str| nearly(OsStr::new(name));
        for name in [
            "a.GTT",
            "a.Gtt",
            "b.gtt ",
            "b.gtt.",
            "b .gtt\u{a0}",
            "b.gtt\u{200b}",
            "c.gtt.txt",
            "C.GTT.TXT",
            "c.gtt.txt.txt",
        ] {
            assert_eq!(of(name), Some(Nearly::Order), "{name:?}");
        }
        for name in ["GUTTA.toml", "gutta.toml ", "Gutta.TOML", "gutta.toml.txt"] {
            assert_eq!(of(name), Some(Nearly::House), "{name:?}");
        }
        for name in [
            "a.gtt",
            "gutta.toml",
            "a.txt",
            "gtt",
            "a.gtt.bak",
            "a.gtt~",
            "a.gtt.md",
            "other.toml",
            "notes on gtt.txt",
            "agtt",
        ] {
            assert_eq!(of(name), None, "{name:?}");
        }
    }
}
