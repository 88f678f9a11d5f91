//! The formatter's layout, as the least replacements that bring it about.

use gutta_notation::{Span, format_guarded, says_the_same};

use crate::state::Site;

/// A replacement, in bytes of the file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Replacement {
    pub(crate) span: Span,
    pub(crate) text: String,
}

/// The whole file laid out; nothing where that would change what it says.
pub(crate) fn whole(site: Site<'_>) -> Vec<Replacement> {
    let before = site.source().text.as_str();
    let Some(after) = format_guarded(before, &site.workspace.house.style) else {
        return Vec::new();
    };
    aligned(before, &after).unwrap_or_default()
}

/// The stanzas that the stretch touches laid out.
pub(crate) fn touched(site: Site<'_>, span: Span) -> Vec<Replacement> {
    let mut stanzas = site.stanzas_in(span);
    let Some(first) = stanzas.next() else {
        return Vec::new();
    };
    let last = stanzas.last().unwrap_or(first);
    part(site, first.index, last.index, |from, _| from)
}

/// The line that ends before the byte laid out, and nothing else; comments
/// stay where they were written.
pub(crate) fn finished_line(site: Site<'_>, offset: u32) -> Vec<Replacement> {
    let text = site.source().text.as_str();
    let at = text.floor_char_boundary(offset as usize);
    let above = text[..at].trim_end_matches([' ', '\t']);
    let above = above
        .strip_suffix("\r\n")
        .or_else(|| above.strip_suffix(['\n', '\r']));
    let Some(above) = above else {
        return Vec::new();
    };
    let start = above.rfind(['\n', '\r']).map_or(0, |end| end + 1);
    let row = above.get(start..).unwrap_or_default().trim();
    if row.is_empty() || row.starts_with('#') {
        return Vec::new();
    }
    let Some(id) = site.stanza_at(count(start)) else {
        return Vec::new();
    };
    let (from, to) = (count(start), count(above.len()));
    let mut found = part(site, id.index, id.index, |_, _| from);
    found.retain(|found| from <= found.span.start && found.span.end <= to);
    // What is not on that line stays, so that nothing else moves.
    found.retain(|found| !found.text.contains(['\n', '\r']));
    found
}

/// Lays out the stanzas from `first` to `last`, with the one above, on which
/// blank lines and comments depend. Keeps what ends at or behind the byte
/// that `keep` gives, of the first's start and the last's end.
fn part(site: Site<'_>, first: u32, last: u32, keep: impl Fn(u32, u32) -> u32) -> Vec<Replacement> {
    let stanzas = &site.source().ast.stanzas;
    let at = |index: u32| stanzas.get(index as usize);
    let (Some(own), Some(end)) = (at(first), at(last)) else {
        return Vec::new();
    };
    let above = first.checked_sub(1).and_then(at).unwrap_or(own);
    let (from, to) = (above.start, end.start + end.stanza.len);
    let before = Span::new(from, to).text(&site.source().text);
    let style = site.workspace.house.style;
    let Some(after) = format_guarded(before, &style) else {
        return Vec::new();
    };
    let keep = keep(own.start, to);
    let mut found = aligned(before, &after).unwrap_or_default();
    // What is blank above a line is that line's.
    found.retain(|found| found.span.end + from >= keep);
    // What is left out might have been needed for the text to say the same.
    if !says_the_same(before, &applied(before, &found), &style) {
        return Vec::new();
    }
    for replacement in &mut found {
        replacement.span = replacement.span.shifted(from);
    }
    found
}

/// The text with the replacements made, which stand in order.
fn applied(text: &str, replacements: &[Replacement]) -> String {
    let mut out = String::with_capacity(text.len());
    let mut at = 0;
    for replacement in replacements {
        let start = replacement.span.start as usize;
        out.push_str(text.get(at..start).unwrap_or_default());
        out.push_str(&replacement.text);
        at = replacement.span.end as usize;
    }
    out.push_str(text.get(at..).unwrap_or_default());
    out
}

/// The replacements that make `after` of `before`. The formatter keeps every
/// line that holds anything, in order, and adds none: line stands against
/// line, and the blank ones between two against those between the same two.
/// `None` where it did not.
fn aligned(before: &str, after: &str) -> Option<Vec<Replacement>> {
    let (old, new) = (rows(before), rows(after));
    if old.len() != new.len() {
        return None;
    }
    let mut found = Vec::new();
    let (mut old_at, mut new_at) = (0, 0);
    for (old, new) in old.iter().zip(&new) {
        // What is blank between, then the line.
        replace(
            before,
            old_at..old.start,
            after,
            new_at..new.start,
            &mut found,
        );
        replace(before, old.clone(), after, new.clone(), &mut found);
        (old_at, new_at) = (old.end, new.end);
    }
    let ends = (old_at..before.len(), new_at..after.len());
    replace(before, ends.0, after, ends.1, &mut found);
    Some(found)
}

type Bytes = std::ops::Range<usize>;

/// The lines that hold anything, without their ends.
fn rows(text: &str) -> Vec<Bytes> {
    let mut rows = Vec::new();
    let mut at = 0;
    for whole in text.split_inclusive(['\n', '\r']) {
        let row = whole.trim_end_matches(['\n', '\r']);
        if !row.trim_matches([' ', '\t']).is_empty() {
            rows.push(at..at + row.len());
        }
        at += whole.len();
    }
    rows
}

/// Replaces what differs, of a line only the part that does.
fn replace(before: &str, old: Bytes, after: &str, new: Bytes, found: &mut Vec<Replacement>) {
    let (Some(was), Some(is)) = (before.get(old.clone()), after.get(new)) else {
        return;
    };
    if was == is {
        return;
    }
    let breaks = |c: char| c == '\n' || c == '\r';
    let (mut head, mut tail) = (0, 0);
    // A line's end is not parted.
    if !was.contains(breaks) && !is.contains(breaks) {
        let same = |(a, b): &(char, char)| a == b;
        let length = |(c, _): (char, char)| c.len_utf8();
        head = was
            .chars()
            .zip(is.chars())
            .take_while(same)
            .map(length)
            .sum();
        let rest = was[head..].chars().rev().zip(is[head..].chars().rev());
        tail = rest.take_while(same).map(length).sum();
    }
    found.push(Replacement {
        span: Span::new(count(old.start + head), count(old.end - tail)),
        text: is[head..is.len() - tail].to_owned(),
    });
}

fn count(size: usize) -> u32 {
    u32::try_from(size).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::{applied, finished_line, touched, whole};
    use crate::features::harness::Fixture;
    use gutta_notation::{Span, Style, format};

    const WARD: &str = "\
order  a   \"A\"
 mix 4 mg made up to 50 mL with d   # é
  # loose
  run   all  at 5 mL/h
drug c


  dosed in mg/h
# of d
drug   d
  note \"𝕏\"
   ordr  x";

    #[test]
    fn the_whole_is_laid_out_by_the_least_that_differs() {
        for text in [
            WARD.to_owned(),
            WARD.replace('\n', "\r\n"),
            format!("\n\n{WARD}\n\n"),
            format!("\u{feff}{WARD}"),
            WARD.replace('\n', "\r"),
            String::new(),
            "\n".to_owned(),
        ] {
            let fixture = Fixture::of(&text);
            let found = whole(fixture.site());
            assert_eq!(applied(&text, &found), format(&text, &Style::USUAL));
            let laid = applied(&text, &found);
            assert_eq!(whole(Fixture::of(&laid).site()), []);
        }
        let found = whole(Fixture::of("drug a \"A\"\n high-alert\n").site());
        assert_eq!(found.len(), 1);
        assert_eq!(
            (found[0].span, found[0].text.as_str()),
            (Span::new(12, 12), " ")
        );
    }

    #[test]
    fn a_range_lays_out_the_stanzas_that_it_touches() {
        let fixture = Fixture::of(WARD);
        let at = WARD.find("dosed").unwrap() as u32;
        let laid = applied(WARD, &touched(fixture.site(), Span::new(at, at)));
        insta::assert_snapshot!(laid, @r#"
        order  a   "A"
         mix 4 mg made up to 50 mL with d   # é
          # loose
          run   all  at 5 mL/h

        drug c

          dosed in   mg/h
        # of d
        drug   d
          note "𝕏"
           ordr  x
        "#);
    }

    #[test]
    fn a_finished_line_is_laid_out_alone() {
        let laid = |marked: &str| {
            let fixture = Fixture::of(marked);
            let text = marked.replace('|', "");
            applied(&text, &finished_line(fixture.site(), fixture.cursor()))
        };
        assert_eq!(
            laid("order  a\n run  5 mL at 5 mL/h\n  | mix 4"),
            "order  a\n  run        5 mL at 5 mL/h\n   mix 4"
        );
        assert_eq!(laid("order  a\r\n|"), "order a\r\n");
        for still in [
            "order  a\n # c\n|",
            "order  a\n run  5 mL at\n|",
            "order a\n\n|",
            "|",
            "order  a|\n",
            "order a\n\n\n  run        all at 5 mL/h\n|",
        ] {
            assert_eq!(laid(still), still.replace('|', ""));
        }
    }
}
