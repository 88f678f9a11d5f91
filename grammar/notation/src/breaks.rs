//! Where lines begin: after LF, CRLF or a lone CR, and nowhere else. Whoever
//! counts lines counts them here.

use memchr::memchr2_iter;

/// The byte at which each line but the first begins, in rising order.
pub fn breaks(text: &str) -> impl Iterator<Item = usize> + '_ {
    let bytes = text.as_bytes();
    memchr2_iter(b'\n', b'\r', bytes).filter_map(|end| {
        let pair = bytes[end] == b'\r' && bytes.get(end + 1) == Some(&b'\n');
        (!pair).then_some(end + 1)
    })
}

/// The line, from 1, on which the byte at `offset` stands; the last one past
/// the end.
#[must_use]
pub fn line_number(text: &str, offset: u32) -> usize {
    let offset = offset as usize;
    1 + breaks(text).take_while(|start| *start <= offset).count()
}

#[cfg(test)]
mod tests {
    use super::{breaks, line_number};

    #[test]
    fn lines_end_at_lf_crlf_and_lone_cr() {
        let text = "a\nb\r\nc\rd\u{2028}e\u{85}f\u{b}\n\r\n\r";
        let starts: Vec<_> = breaks(text).collect();
        let ends = text.len();
        assert_eq!(starts, [2, 5, 7, ends - 3, ends - 1, ends]);
        let at = |found: &str| u32::try_from(text.find(found).unwrap_or(0)).unwrap_or(0);
        let lines = ["a", "b", "\r\nc", "c", "d", "f"].map(|found| line_number(text, at(found)));
        assert_eq!(lines, [1, 2, 2, 3, 4, 4]);
        assert_eq!(line_number(text, 9_999), 7);
    }
}
