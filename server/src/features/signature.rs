//! The shape of a line while it is written, with the part that is next.

use gutta_notation::StanzaKind;
use gutta_notation::lines::{Part, Shape, keyword_of};

use crate::state::Site;

/// The shapes that a line may take.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Signature {
    /// The line's keyword.
    pub(crate) keyword: &'static str,
    pub(crate) shapes: Vec<&'static Shape>,
    /// Which of them the line takes, as far as it is written.
    pub(crate) active: usize,
    /// The part of that one which the cursor is in.
    pub(crate) part: usize,
}

/// The shape of the line at the byte, as far as it is written before it.
pub(crate) fn signature(site: Site<'_>, offset: u32) -> Option<Signature> {
    let id = site.stanza_at(offset)?;
    let kind = site.workspace.stanza(id).kind;
    let text = site.source().text.get(..offset as usize)?;
    let start = text.rfind(['\n', '\r']).map_or(0, |at| at + 1);
    of_line(kind, text.get(start..)?)
}

/// The same for the line's text before the cursor.
fn of_line(kind: StanzaKind, before: &str) -> Option<Signature> {
    if !before.starts_with([' ', '\t']) || in_comment_or_text(before) {
        return None;
    }
    let written = before.trim_start().replace('\t', " ");
    let (line, end) = keyword_of(&written, kind)?;
    // The keyword itself may still be being written.
    let rest = written.get(end..).filter(|rest| rest.starts_with(' '))?;
    let shapes = line.kind.row().shapes.iter();
    let shapes: Vec<_> = shapes.filter(|shape| shape.homes.has(kind)).collect();
    if shapes.is_empty() {
        return None;
    }
    let words: Vec<&str> = rest.split_whitespace().collect();
    let ended = rest.ends_with([' ', '\t']);
    let mut best = (0, 0, 0);
    for (index, shape) in shapes.iter().enumerate() {
        let (part, known) = progress(shape, &words, ended);
        if known > best.2 || index == 0 {
            best = (index, part, known);
        }
    }
    let (active, part, _) = best;
    Some(Signature {
        keyword: line.words,
        shapes,
        active,
        part,
    })
}

/// The part in which the words end, and how many of the shape's own words
/// stand among them.
fn progress(shape: &Shape, words: &[&str], ended: bool) -> (usize, usize) {
    let mut current = 0;
    let mut known = 0;
    // Where the current part's own words end.
    let mut from = 0;
    let mut at = 0;
    // A word that is still being written begins nothing.
    let whole = if ended {
        words.len()
    } else {
        words.len().saturating_sub(1)
    };
    while at < whole {
        match started(shape, words.get(at..whole).unwrap_or(&[]), current) {
            Some((part, taken)) => {
                // A number that begins a part belongs to it.
                let number = starts_number(words.get(at).copied().unwrap_or(""));
                let again = number && part == current;
                if !again {
                    current = part;
                    // A shape that begins otherwise than the rest is meant.
                    known += if part == 0 { 2 } else { 1 };
                    from = if number { at } else { at + taken };
                }
                at += taken.max(1);
            }
            None => at += 1,
        }
    }
    let own = words.get(from..whole).unwrap_or(&[]);
    if ended && is_complete(own) && current + 1 < shape.parts.len() {
        let optional = |part: &Part| part.text.starts_with(',');
        let next = (current + 1..shape.parts.len())
            .find(|next| shape.parts.get(*next).is_some_and(|part| !optional(part)));
        current = next.unwrap_or(current + 1);
    }
    (current, known)
}

/// The part that the words begin, and how many of them do. A number begins no
/// part before the current one: it belongs to that (`at 70 kg`).
fn started(shape: &Shape, words: &[&str], current: usize) -> Option<(usize, usize)> {
    let mut best: Option<(usize, usize)> = None;
    for (index, part) in shape.parts.iter().enumerate() {
        for start in part.starts {
            let len = start.split(' ').count();
            let digit = start.len() == 1 && start.starts_with(|c: char| c.is_ascii_digit());
            let fits = if digit {
                index >= current && words.first().is_some_and(|word| word.starts_with(start))
            } else {
                let mut own = words.iter().map(|word| word.trim_end_matches(','));
                start.split(' ').all(|word| own.next() == Some(word))
            };
            if fits && best.is_none_or(|(_, longest)| len > longest) {
                best = Some((index, len));
            }
        }
    }
    best
}

fn starts_number(word: &str) -> bool {
    word.starts_with(|c: char| c.is_ascii_digit())
}

/// Words that need another one behind them.
const OPEN: &[&str] = &[
    "pump",
    "true",
    "single",
    "central",
    "peripheral",
    "umbilical",
    "nerve",
];

/// Whether a part has all that it needs: a number with its unit, or words.
fn is_complete(words: &[&str]) -> bool {
    let Some(last) = words.last() else {
        return false;
    };
    if !words.iter().any(|word| starts_number(word)) {
        return !OPEN.contains(last) && !last.ends_with(',');
    }
    match words {
        [.., number, unit] => starts_number(number) && !starts_number(unit) && *unit != "to",
        _ => false,
    }
}

/// Whether a comment or an open text precedes the cursor.
fn in_comment_or_text(before: &str) -> bool {
    let mut in_text = false;
    for letter in before.chars() {
        match letter {
            '"' => in_text = !in_text,
            '#' if !in_text => return true,
            _ => {}
        }
    }
    in_text
}

#[cfg(test)]
mod tests;
