//! Lines and columns of a text's bytes, for many questions.

/// So many bytes lie between two counts of the characters before them.
const STRIDE: usize = 256;

/// A text with its lines found.
pub(super) struct Positions<'a> {
    text: &'a str,
    /// Where lines start, but for the first.
    lines: Vec<usize>,
    /// How many characters begin before every so manieth byte.
    characters: Vec<usize>,
}

impl<'a> Positions<'a> {
    pub(super) fn of(text: &'a str) -> Self {
        let (mut lines, mut characters, mut count) = (Vec::new(), Vec::new(), 0);
        for (at, byte) in text.bytes().enumerate() {
            if at % STRIDE == 0 {
                characters.push(count);
            }
            count += usize::from(begins(byte));
            if byte == b'\n' {
                lines.push(at + 1);
            }
        }
        Self {
            text,
            lines,
            characters,
        }
    }

    pub(super) const fn text(&self) -> &'a str {
        self.text
    }

    /// Line and column in characters, from 1, of a byte.
    pub(super) fn position(&self, at: usize) -> (u32, u32) {
        let line = self.lines.partition_point(|start| *start <= at);
        let start = line.checked_sub(1).and_then(|line| self.lines.get(line));
        let column = self.before(at) - self.before(start.copied().unwrap_or(0)) + 1;
        let small = |number: usize| u32::try_from(number).unwrap_or(u32::MAX);
        (small(line + 1), small(column))
    }

    /// The characters that begin before a byte.
    fn before(&self, at: usize) -> usize {
        let at = at.min(self.text.len());
        let stride = (at / STRIDE).min(self.characters.len().saturating_sub(1));
        let counted = self.characters.get(stride).copied().unwrap_or(0);
        let rest = self.text.as_bytes().get(stride * STRIDE..at).unwrap_or(&[]);
        counted + rest.iter().filter(|byte| begins(**byte)).count()
    }
}

/// Whether a character begins with this byte.
const fn begins(byte: u8) -> bool {
    byte & 0b1100_0000 != 0b1000_0000
}

#[cfg(test)]
mod tests {
    use super::Positions;

    #[test]
    fn columns_count_characters() {
        let text = format!("a\n{}b\nc", "é".repeat(300));
        let positions = Positions::of(&text);
        assert_eq!(positions.position(0), (1, 1));
        assert_eq!(positions.position(2), (2, 1));
        assert_eq!(positions.position(602), (2, 301));
        assert_eq!(positions.position(text.len()), (3, 2));
        assert_eq!(Positions::of("").position(0), (1, 1));
    }
}
