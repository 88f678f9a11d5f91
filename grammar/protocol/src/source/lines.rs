//! Where the lines of a file start, found once for all who ask.

use std::sync::OnceLock;

/// The lines of one text; made anew with the text.
#[derive(Clone, Debug, Default)]
pub(crate) struct Lines(OnceLock<Vec<u32>>);

impl Lines {
    /// The line, from 1, that holds the byte at `offset`: lines end with LF,
    /// CR LF or CR.
    pub(crate) fn line_at(&self, offset: u32, text: &str) -> usize {
        let starts = self.0.get_or_init(|| {
            let bytes = text.as_bytes();
            let ends = memchr::memchr2_iter(b'\n', b'\r', bytes);
            // Of CR LF, the LF ends it.
            let ends =
                ends.filter(|end| bytes[*end] == b'\n' || bytes.get(end + 1) != Some(&b'\n'));
            ends.filter_map(|end| u32::try_from(end + 1).ok()).collect()
        });
        1 + starts.partition_point(|start| *start <= offset)
    }
}

#[cfg(test)]
mod tests {
    use super::Lines;

    #[test]
    fn lines_end_in_three_ways() {
        let text = "a\nb\r\nc\rd\n";
        let lines = Lines::default();
        let at: Vec<_> = (0..=10).map(|at| lines.line_at(at, text)).collect();
        assert_eq!(at, [1, 1, 2, 2, 2, 3, 3, 4, 4, 5, 5]);
    }
}
