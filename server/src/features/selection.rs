//! What is selected as a selection grows: a word, the piece that it is part
//! of, its line, its phase, its stanza, the file.

use gutta_notation::Span;

use super::{leaves, outline};
use crate::state::Site;

/// The stretches around the byte, from the innermost on, each larger than the
/// one before it. There is always one: the file.
pub(crate) fn around(site: Site<'_>, offset: u32) -> Vec<Span> {
    let text = site.source().text.as_str();
    let mut found = vec![Span::new(0, count(text.len()))];
    if let Some(id) = site.stanza_at(offset) {
        let stanza = site.workspace.stanza(id);
        let start = site.start_of(id);
        let own_text = site.workspace.stanza_text(id);
        found.push(trimmed(text, Span::new(start, start + stanza.len)));
        found.push(outline::whole(stanza).shifted(start));
        // To the end of its last line, as that line is selected whole too.
        let phases = outline::phases(stanza).into_iter();
        let phases = phases.map(|phase| phase.to(line_around(own_text, phase.end)));
        found.extend(phases.map(|phase| Span::new(phase.start, phase.end).shifted(start)));
        found.push(line_around(own_text, offset.saturating_sub(start)).shifted(start));
        if let Some((_, _, line)) = site.line_at(offset) {
            found.push(line.span.shifted(start));
            found.push(line.keyword.shifted(start));
            for (span, leaf) in leaves::leaves(line) {
                found.push(span.shifted(start));
                if leaf == leaves::Leaf::Text {
                    let inner = Span::new(span.start + 1, span.end.saturating_sub(1));
                    found.push(inner.shifted(start));
                }
            }
        }
        let names = stanza.name.iter().map(|name| name.span);
        let titles = stanza.title.iter().map(|title| title.span);
        let mentions = site.workspace.references(id).iter().map(|found| found.span);
        found.extend(
            names
                .chain(titles)
                .chain(mentions)
                .map(|span| span.shifted(start)),
        );
        found.push(word_around(own_text, offset.saturating_sub(start)).shifted(start));
    }
    found.retain(|span| span.start <= offset && offset <= span.end && !span.is_empty());
    if found.is_empty() {
        found.push(Span::new(0, count(text.len())));
    }
    found.sort_by_key(|span| span.end - span.start);
    found.dedup();
    // Of two that cross, the smaller one stays.
    let mut nested: Vec<Span> = Vec::new();
    for span in found {
        let holds = nested
            .last()
            .is_none_or(|inner| span.start <= inner.start && inner.end <= span.end);
        if holds && nested.last() != Some(&span) {
            nested.push(span);
        }
    }
    nested
}

fn trimmed(text: &str, span: Span) -> Span {
    let own = span.text(text);
    let is_blank = |c: char| c.is_ascii_whitespace();
    let start = span.start + count(own.len() - own.trim_start_matches(is_blank).len());
    Span::new(start, start + count(own.trim_matches(is_blank).len()))
}

/// The line that holds the byte, without the blanks at its ends.
fn line_around(text: &str, offset: u32) -> Span {
    let at = text.floor_char_boundary(offset as usize);
    let is_end = |c: char| c == '\n' || c == '\r';
    let start = text[..at].rfind(is_end).map_or(0, |end| end + 1);
    let end = text[at..].find(is_end).map_or(text.len(), |end| at + end);
    trimmed(text, Span::new(count(start), count(end)))
}

/// The word that holds the byte: between blanks, commas and quotes.
fn word_around(text: &str, offset: u32) -> Span {
    let at = text.floor_char_boundary(offset as usize);
    let is_end = |c: char| c.is_whitespace() || matches!(c, ',' | '"' | '#');
    let start = text[..at]
        .char_indices()
        .rev()
        .find(|(_, c)| is_end(*c))
        .map_or(0, |(end, c)| end + c.len_utf8());
    let end = text[at..].find(is_end).map_or(text.len(), |end| at + end);
    Span::new(count(start), count(end))
}

fn count(size: usize) -> u32 {
    u32::try_from(size).unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::around;
    use crate::features::harness::Fixture;

    fn grown(marked: &str) -> Vec<String> {
        let fixture = Fixture::of(marked);
        let text = marked.replace('|', "");
        let spans = around(fixture.site(), fixture.cursor());
        spans
            .iter()
            .map(|span| span.text(&text).to_owned())
            .collect()
    }

    #[test]
    fn a_selection_grows_from_the_word_to_the_file() {
        let stanza = "order a \"A\"\n  phase b\n    run 5 mL at 40 mL/kg/h  # é\n  then stop";
        let marked = format!("# top\n{stanza}\ndrug c\n").replace("40", "4|0");
        assert_eq!(
            grown(&marked),
            [
                "40",
                "40 mL/kg/h",
                "run 5 mL at 40 mL/kg/h",
                "run 5 mL at 40 mL/kg/h  # é",
                "phase b\n    run 5 mL at 40 mL/kg/h  # é",
                stanza,
                &format!("# top\n{stanza}"),
                &format!("# top\n{stanza}\ndrug c\n"),
            ]
        );
    }

    #[test]
    fn a_text_grows_from_inside_its_quotes() {
        assert_eq!(
            grown("drug a\n  note \"𝕏 l|ow é\"\n")[..4],
            ["low", "𝕏 low é", "\"𝕏 low é\"", "note \"𝕏 low é\""]
        );
    }

    #[test]
    fn every_place_grows_strictly_to_the_file() {
        let texts = [
            "",
            "\n",
            "ordr é\n  𝕏 \"\n",
            "use \"",
            "order a\r\n  run \"\" , \r\n",
        ];
        for text in texts {
            for (at, _) in text.char_indices().chain([(text.len(), ' ')]) {
                let (before, after) = text.split_at(at);
                let grown = grown(&format!("{before}|{after}"));
                assert!(grown.windows(2).all(|pair| pair[0].len() < pair[1].len()));
                assert_eq!(grown.last().map(String::as_str), Some(text));
            }
        }
    }
}
