//! Halves of a character (a surrogate of UTF-16 without its other), which some
//! clients send. A message with one could not be read at all, and the text
//! would be another than the editor's from then on.

/// U+FFFD: as long in UTF-16 as the half that it stands for.
const ESCAPED: &[u8; 6] = b"\\ufffd";

/// The same, and as long in bytes as a half written in three.
const WRITTEN: &[u8; 3] = b"\xef\xbf\xbd";

/// The message with every half replaced; nothing where there is none.
pub(super) fn mended(body: &[u8]) -> Option<Vec<u8>> {
    let mut mended: Option<Vec<u8>> = None;
    let mut at = 0;
    while let Some(found) = body[at..]
        .iter()
        .position(|byte| matches!(byte, b'\\' | 0xed))
    {
        at += found;
        let rest = &body[at..];
        let (length, with): (usize, &[u8]) = match (escaped(rest), rest) {
            (Some(first), _) if is_high(first) => match escaped(&rest[6..]) {
                Some(second) if is_low(second) => (12, &[]),
                _ => (6, ESCAPED),
            },
            (Some(only), _) if is_low(only) => (6, ESCAPED),
            (Some(_), _) => (6, &[]),
            (None, [0xed, 0xa0..=0xbf, 0x80..=0xbf, ..]) => (3, WRITTEN),
            (None, [b'\\', _, ..]) => (2, &[]),
            (None, _) => (1, &[]),
        };
        if !with.is_empty() {
            let mended = mended.get_or_insert_with(|| body.to_vec());
            mended[at..at + length].copy_from_slice(with);
        }
        at += length;
    }
    mended
}

/// The unit of UTF-16 that an escape at the beginning writes.
fn escaped(text: &[u8]) -> Option<u16> {
    let digits = text.strip_prefix(b"\\u")?.get(..4)?;
    let digits = std::str::from_utf8(digits).ok()?;
    u16::from_str_radix(digits, 16).ok()
}

const fn is_high(unit: u16) -> bool {
    matches!(unit, 0xd800..=0xdbff)
}

const fn is_low(unit: u16) -> bool {
    matches!(unit, 0xdc00..=0xdfff)
}

#[cfg(test)]
mod tests {
    use super::mended;

    #[test]
    fn halves_alone_are_replaced() {
        let cases = [
            (r#""\ud835""#, Some(r#""\ufffd""#)),
            (r#""\udc00 a""#, Some(r#""\ufffd a""#)),
            (r#""\ud835\ud835\udd4f""#, Some(r#""\ufffd\ud835\udd4f""#)),
            (r#""\ud835x""#, Some(r#""\ufffdx""#)),
            (r#""\uD835\uDD4F é 한""#, None),
            (r#""\\ud835""#, None),
            (r#""\\\ud835""#, Some(r#""\\\ufffd""#)),
            (r#""\n\u00e9""#, None),
            ("\\", None),
            (r"\ud8", None),
        ];
        for (given, wanted) in cases {
            let found = mended(given.as_bytes());
            assert_eq!(found.as_deref(), wanted.map(str::as_bytes), "{given}");
        }
        let written = mended(b"\"\xed\xa0\xb5\"").unwrap();
        assert_eq!(written, "\"\u{fffd}\"".as_bytes());
    }
}
