//! What others wrote, in Markdown: shown to the letter, and inert. No link,
//! image, HTML, mention or reference comes of it, nor a new block.

use gutta_notation::{visible, visible_line};

/// As running text on one line, wherever it stands on it. What a reader of
/// Markdown might make an address, a mention or a reference of stands as code,
/// where none of them does: an escape does not keep it from that.
#[must_use]
pub fn inline(text: &str) -> String {
    let text = visible_line(text);
    let text = text.trim();
    if reaches_out(text) {
        return code(text);
    }
    let mut out = String::with_capacity(text.len() + 8);
    let digits = text.bytes().take_while(u8::is_ascii_digit).count();
    let ends = |at: usize| text[at..].chars().next().is_none_or(char::is_whitespace);
    for (at, c) in text.char_indices() {
        // What would begin a list, a heading or a quotation.
        let begins = (at == 0 && matches!(c, '-' | '+' | '=' | ':'))
            || (digits > 0 && at == digits && matches!(c, '.' | ')') && ends(at + 1));
        let marks = matches!(
            c,
            '\\' | '`' | '*' | '_' | '[' | ']' | '<' | '>' | '&' | '|' | '~' | '$' | '#'
        );
        if begins || marks {
            out.push('\\');
        }
        out.push(c);
    }
    out
}

/// As code inside running text.
#[must_use]
pub fn code(text: &str) -> String {
    let text = visible_line(text);
    if text.is_empty() {
        return String::new();
    }
    let fence = "`".repeat(longest_run(&text) + 1);
    let ends = |c: char| text.starts_with(c) && text.ends_with(c);
    let gap = if text.starts_with('`') || text.ends_with('`') || ends(' ') {
        " "
    } else {
        ""
    };
    format!("{fence}{gap}{text}{gap}{fence}")
}

/// The same in a cell of a table, where a bar ends even code.
#[must_use]
pub(crate) fn cell_code(text: &str) -> String {
    code(text).replace("\\|", "\\<U+007C>").replace('|', "\\|")
}

/// As running text in a cell of a table.
#[must_use]
pub fn cell(text: &str) -> String {
    let line = visible_line(text);
    if reaches_out(line.trim()) {
        return cell_code(line.trim());
    }
    inline(text)
}

/// As a block of code in the language, with a fence that nothing in it ends.
#[must_use]
pub fn block(language: &str, text: &str) -> String {
    let text = text.replace("\r\n", "\n").replace('\r', "\n");
    let text = visible(&text);
    let fence = "`".repeat((longest_run(&text) + 1).max(3));
    let end = if text.ends_with('\n') { "" } else { "\n" };
    format!("{fence}{language}\n{text}{end}{fence}")
}

fn longest_run(text: &str) -> usize {
    text.split(|c| c != '`').map(str::len).max().unwrap_or(0)
}

/// Whether a program that shows the text may make something of it that
/// reaches beyond: an address, a mention of people, a reference to an issue, a
/// request, a label or a commit.
fn reaches_out(text: &str) -> bool {
    let lower = text.to_ascii_lowercase();
    if lower.contains('@') || lower.contains("://") || lower.contains("mailto:") {
        return true;
    }
    let bytes = lower.as_bytes();
    let refers = bytes.iter().enumerate().any(|(at, byte)| {
        let before = at.checked_sub(1).and_then(|at| bytes.get(at));
        let begins = !before.is_some_and(u8::is_ascii_alphanumeric);
        let after = bytes.get(at + 1);
        let named = after.is_some_and(|next| next.is_ascii_alphanumeric() || *next == b'"');
        let number = after.is_some_and(u8::is_ascii_digit);
        let letters = bytes.get(at + 1..at + 3);
        match byte {
            b'#' => number,
            b'!' | b'$' | b'%' | b'~' | b'&' | b'^' => begins && named,
            b'.' => !begins && letters.is_some_and(|two| two.iter().all(u8::is_ascii_alphabetic)),
            _ => false,
        }
    });
    refers
        || lower
            .split(|c: char| !c.is_ascii_alphanumeric() && c != '-')
            .any(names)
}

/// Whether a word is the name of an issue (`gh-12`) or of a commit.
fn names(word: &str) -> bool {
    let numbered = ["gh-", "gl-"]
        .iter()
        .filter_map(|start| word.strip_prefix(start));
    let hex = |c: char| c.is_ascii_digit() || matches!(c, 'a'..='f');
    let commit = (7..=40).contains(&word.len())
        && word.chars().all(hex)
        && word.contains(|c: char| c.is_ascii_digit());
    commit
        || numbered
            .into_iter()
            .any(|rest| rest.starts_with(|c: char| c.is_ascii_digit()))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use pulldown_cmark::{Event, Options, Parser, Tag};

    use super::{block, cell, cell_code, code, inline};

    /// The words that are shown, and whether anything else comes of it.
    fn shown(markdown: &str) -> (String, bool) {
        let mut out = String::new();
        let mut inert = true;
        let options = Options::ENABLE_TABLES
            | Options::ENABLE_STRIKETHROUGH
            | Options::ENABLE_FOOTNOTES
            | Options::ENABLE_TASKLISTS
            | Options::ENABLE_MATH
            | Options::ENABLE_GFM;
        for event in Parser::new_ext(markdown, options) {
            match event {
                Event::Text(text) | Event::Code(text) => out.push_str(&text),
                Event::Start(Tag::Paragraph | Tag::CodeBlock(_)) | Event::End(_) => {}
                Event::Start(Tag::Table(_) | Tag::TableHead | Tag::TableRow | Tag::TableCell) => {}
                _ => inert = false,
            }
        }
        (out, inert)
    }

    #[test]
    fn usual_words_stay_as_they_are() {
        for text in [
            "Noradrenaline (as base), single strength",
            "cefuroxime-dose, i.v., e.g. 1.5 g at 10 % \u{2192} 5 mg/h",
            "!  Stop!",
            "1.25 mL/kg",
        ] {
            assert_eq!(inline(text), text.trim());
        }
        assert_eq!(inline("1. a_b"), "1\\. a\\_b");
        assert_eq!(inline("- x <b> & [y](z)"), "\\- x \\<b\\> \\& \\[y\\](z)");
    }

    #[test]
    fn what_reaches_out_stands_as_code() {
        for text in [
            "@everyone",
            "a@tarnwick",
            "see http://tarnwick",
            "www.tarnwick.org",
            "bed #12",
            "ward!7",
            "a !7",
            "~bug",
            "GH-12",
            "deadbeef1",
        ] {
            let is_code = inline(text).starts_with('`');
            assert_eq!(is_code, text != "ward!7", "{text}");
        }
        assert_eq!(code("a `` b"), "```a `` b```");
        assert_eq!(code("`a"), "`` `a ``");
        assert_eq!(code("a\u{202e}\nb"), "`a<U+202E><U+000A>b`");
        assert_eq!(cell_code("a|b\\|"), "`a\\|b\\<U+007C>`");
        assert_eq!(block("gtt", "a\r```\r\nb"), "````gtt\na\n```\nb\n````");
    }

    proptest! {
        #[test]
        fn whatever_is_written_is_shown_and_inert(text in "[-a1 +=>`~*_\\[\\]()<>|&;#!:./\\\\$@\\n\u{202e}]{1,24}") {
            let one = gutta_notation::visible_line(&text).trim().to_owned();
            let (words, inert) = shown(&inline(&text));
            prop_assert!(inert, "{:?}", inline(&text));
            prop_assert_eq!(words.trim(), &one);
            let (words, inert) = shown(&format!("x {}", code(&text)));
            prop_assert!(inert);
            prop_assert_eq!(words.trim_start_matches('x').trim(), &one);
            let (words, inert) = shown(&block("gtt", &text));
            let lines = gutta_notation::visible(&text).into_owned();
            prop_assert!(inert);
            prop_assert_eq!(words.trim_end_matches('\n'), lines.trim_end_matches('\n'));
            let table = format!("| a | b |\n| --- | --- |\n| c | {} |\n", cell(&text));
            let (words, inert) = shown(&table);
            let words = words.replace("<U+007C>", "|");
            prop_assert!(inert, "{}", table);
            prop_assert_eq!(words.trim_start_matches("abc").trim(), &one);
        }
    }
}
