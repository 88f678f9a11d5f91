//! A unified diff of two texts whose lines stand against each other.
//!
//! The formatter and the corrections keep every line that holds anything, in
//! order, and add none: the lines are known to go together, and no search for
//! what was kept is needed, which may take the square of their number.

use std::fmt::Write as _;

use similar::udiff::UnifiedHunkHeader;
use similar::{DiffOp, TextDiff, group_diff_ops};

/// Lines shown around what changed.
const AROUND: usize = 2;

/// The change from one text to the other, under these names.
pub(crate) fn unified(before: &str, after: &str, old_name: &str, new_name: &str) -> String {
    let (old, new) = (lines(before), lines(after));
    let Some(changes) = aligned(&old, &new) else {
        // Not what the formatter does: then what was kept is sought.
        let diff = TextDiff::from_lines(before, after);
        let mut unified = diff.unified_diff();
        let unified = unified.context_radius(AROUND).header(old_name, new_name);
        return unified.to_string();
    };
    let mut text = format!("--- {old_name}\n+++ {new_name}\n");
    for hunk in group_diff_ops(changes, AROUND) {
        let _ = writeln!(text, "{}", UnifiedHunkHeader::new(&hunk));
        for change in hunk {
            let (was, is) = (&old[change.old_range()], &new[change.new_range()]);
            if matches!(change, DiffOp::Equal { .. }) {
                put(&mut text, ' ', was);
            } else {
                put(&mut text, '-', was);
                put(&mut text, '+', is);
            }
        }
    }
    text
}

fn put(text: &mut String, sign: char, lines: &[&str]) {
    for line in lines {
        let _ = write!(text, "{sign}{line}");
        if !line.ends_with('\n') {
            text.push_str("\n\\ No newline at end of file\n");
        }
    }
}

fn lines(text: &str) -> Vec<&str> {
    text.split_inclusive('\n').collect()
}

/// The lines that hold something set against each other, and what is blank
/// between two of them against what is blank between the same two; `None`
/// where there are not as many of them.
fn aligned(old: &[&str], new: &[&str]) -> Option<Vec<DiffOp>> {
    let mut changes = Changes::default();
    loop {
        let blank = |lines: &[&str], from: usize| {
            let rest = lines.get(from..).unwrap_or_default();
            rest.iter()
                .take_while(|line| line.trim().is_empty())
                .count()
        };
        let (was, is) = (blank(old, changes.old), blank(new, changes.new));
        let kept = (0..was.min(is))
            .take_while(|at| old[changes.old + at] == new[changes.new + at])
            .count();
        changes.push(true, kept, kept);
        changes.push(false, was - kept, is - kept);
        match (old.get(changes.old), new.get(changes.new)) {
            (Some(was), Some(is)) => changes.push(was == is, 1, 1),
            (None, None) => return Some(changes.done),
            _ => return None,
        }
    }
}

#[derive(Default)]
struct Changes {
    done: Vec<DiffOp>,
    old: usize,
    new: usize,
}

impl Changes {
    /// As many lines of each text: the same, or one for the other. What
    /// changes together is one change.
    fn push(&mut self, same: bool, was: usize, is: usize) {
        if was + is == 0 {
            return;
        }
        let (mut old_index, mut new_index) = (self.old, self.new);
        self.old += was;
        self.new += is;
        if let Some(last) = self.done.last()
            && matches!(last, DiffOp::Equal { .. }) == same
        {
            (old_index, new_index) = (last.old_range().start, last.new_range().start);
            self.done.pop();
        }
        let (old_len, new_len) = (self.old - old_index, self.new - new_index);
        self.done.push(match (same, old_len, new_len) {
            (true, len, _) => DiffOp::Equal {
                old_index,
                new_index,
                len,
            },
            (false, old_len, 0) => DiffOp::Delete {
                old_index,
                old_len,
                new_index,
            },
            (false, 0, new_len) => DiffOp::Insert {
                old_index,
                new_index,
                new_len,
            },
            (false, old_len, new_len) => DiffOp::Replace {
                old_index,
                old_len,
                new_index,
                new_len,
            },
        });
    }
}

#[cfg(test)]
mod tests {
    use similar::TextDiff;

    use super::unified;

    /// As the search for what was kept has it, where there is one way.
    fn sought(before: &str, after: &str) -> String {
        let diff = TextDiff::from_lines(before, after);
        let mut unified = diff.unified_diff();
        unified.context_radius(2).header("a", "b").to_string()
    }

    #[test]
    fn it_is_what_a_search_finds() {
        for (before, after) in [
            ("a\nb\nc\nd\ne\nf\ng\n", "a\nb\nc\nd \ne\nf\ng\n"),
            ("a\n\n\nb\n", "a\n\nb\n"),
            ("a\nb\n", "a\n\nb\n"),
            ("a\n b\n c\nd\n", "a\n  b\n  c\nd\n"),
            ("a\nb", "a\nb\n"),
            (
                "a \nb\nc\nd\ne\nf\ng\nh\ni\n",
                "a\nb\nc\nd\ne\nf\ng\nh\ni \n",
            ),
            ("a\r\nb \r\n", "a\r\nb\r\n"),
        ] {
            assert_eq!(unified(before, after, "a", "b"), sought(before, after));
        }
    }

    #[test]
    fn a_line_lost_is_found_all_the_same() {
        let (before, after) = ("a\nb\nc\n", "a\nc\n");
        assert_eq!(unified(before, after, "a", "b"), sought(before, after));
    }

    #[test]
    fn very_many_lines_are_no_hurdle() {
        let text = |indent: &str| -> String {
            (0..200_000)
                .map(|line| format!("{indent}line {line}\n"))
                .collect()
        };
        let told = unified(&text(" "), &text("  "), "a", "b");
        assert_eq!(told.lines().count(), 3 + 2 * 200_000);
    }
}
