//! The last look at what goes out, whatever form it has: nothing hidden, and
//! no command to a program that reads along.

use std::borrow::Cow;

use gutta_notation::{Hidden, code, hidden, visible};

/// What a form lets through, and how it writes what it does not.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Net {
    /// Lines for people, in no colour.
    Text,
    /// The same with colours: `ESC [ numbers m`.
    Coloured,
    /// Lines that are commands, each made by us.
    Commands,
    /// JSON, in which whatever is hidden stands in a string.
    Json,
    /// HTML or XML.
    Markup,
}

/// The text as it goes out.
pub(super) fn caught(text: &str, net: Net) -> Cow<'_, str> {
    let seen = match net {
        Net::Text | Net::Commands => visible(text),
        Net::Coloured => coloured(text),
        Net::Json => escaped(text),
        Net::Markup => marked_up(text),
    };
    match (net, seen) {
        (Net::Commands, seen) => seen,
        (_, Cow::Borrowed(seen)) => without_commands(seen, net),
        (_, Cow::Owned(seen)) => match without_commands(&seen, net) {
            Cow::Borrowed(_) => Cow::Owned(seen),
            Cow::Owned(seen) => Cow::Owned(seen),
        },
    }
}

/// Visible between our own colours.
fn coloured(text: &str) -> Cow<'_, str> {
    if !text.contains('\u{1b}') {
        return visible(text);
    }
    let mut out = String::with_capacity(text.len());
    let mut parts = text.split('\u{1b}');
    out.push_str(&visible(parts.next().unwrap_or("")));
    for part in parts {
        let colour = part.strip_prefix('[').and_then(|rest| {
            let end = rest.find(|c: char| !c.is_ascii_digit() && c != ';')?;
            rest[end..].starts_with('m').then_some(end + 2)
        });
        out.push_str(colour.map_or("<U+001B>", |_| "\u{1b}"));
        let (colour, rest) = part.split_at(colour.unwrap_or(0));
        out.push_str(colour);
        out.push_str(&visible(rest));
    }
    out.into()
}

/// With `\u` for whatever is hidden; the strings stay the same.
fn escaped(text: &str) -> Cow<'_, str> {
    if text.is_ascii() && !text.contains('\u{7f}') {
        return text.into();
    }
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        if Hidden::of(c).is_none() {
            out.push(c);
            continue;
        }
        for unit in c.encode_utf16(&mut [0; 2]) {
            out.push_str(&format!("\\u{unit:04x}"));
        }
    }
    out.into()
}

/// With the code of whatever is hidden, escaped.
fn marked_up(text: &str) -> Cow<'_, str> {
    // A reader of either makes a line end of every carriage return.
    let ends = text.match_indices('\r').map(|(at, _)| (at, '\r'));
    let mut found: Vec<_> = hidden(text).map(|(at, c, _)| (at, c)).chain(ends).collect();
    if found.is_empty() {
        return text.into();
    }
    found.sort_unstable();
    let mut out = String::with_capacity(text.len() + 16 * found.len());
    let mut from = 0;
    for (at, c) in found {
        out.push_str(text.get(from..at).unwrap_or(""));
        out.push_str(&entities(&code(c)));
        from = at + c.len_utf8();
    }
    out.push_str(text.get(from..).unwrap_or(""));
    out.into()
}

fn entities(code: &str) -> String {
    code.replace('<', "&lt;").replace('>', "&gt;")
}

/// What a runner that reads the output takes for a command is broken up: `::`
/// at a line's beginning, blanks before it or not, and `##NAME[` anywhere.
fn without_commands(text: &str, net: Net) -> Cow<'_, str> {
    let mut places: Vec<usize> = Vec::new();
    let mut start = 0;
    for line in text.split_inclusive('\n') {
        let own = line.trim_start();
        if own.starts_with("::") {
            places.push(start + line.len() - own.len());
        }
        start += line.len();
    }
    // The last of a run of `#`, so that no two stand before the name.
    let mut at = 0;
    while let Some(run) = text[at..].find("##") {
        let rest = text[at + run..].trim_start_matches('#');
        at = text.len() - rest.len();
        let name = rest.trim_start_matches(|c: char| c.is_ascii_alphanumeric() || c == '-');
        if name.starts_with('[') {
            places.push(at - 1);
        }
    }
    if places.is_empty() {
        return text.into();
    }
    places.sort_unstable();
    let mut out = String::with_capacity(text.len() + 8 * places.len());
    let mut from = 0;
    for at in places {
        let broken = text[at..].chars().next().unwrap_or(':');
        let shown = match net {
            Net::Json => format!("\\u{:04x}", u32::from(broken)),
            Net::Markup => entities(&code(broken)),
            _ => code(broken),
        };
        out.push_str(&text[from..at]);
        out.push_str(&shown);
        from = at + 1;
    }
    out.push_str(&text[from..]);
    out.into()
}

#[cfg(test)]
mod tests {
    use super::{Net, caught};

    #[test]
    fn nothing_hidden_passes() {
        let text = "a\u{1b}[31mb\u{202e}\u{200b}\r\n\tc\rd\u{7f}";
        assert_eq!(
            caught(text, Net::Text),
            "a<U+001B>[31mb<U+202E><U+200B>\r\n\tc<U+000D>d<U+007F>"
        );
        assert_eq!(
            caught(text, Net::Coloured),
            "a\u{1b}[31mb<U+202E><U+200B>\r\n\tc<U+000D>d<U+007F>"
        );
        assert_eq!(
            caught("\u{1b}]0;x\u{7}\u{1b}[2Jy", Net::Coloured),
            "<U+001B>]0;x<U+0007><U+001B>[2Jy"
        );
        assert_eq!(
            caught("\"\u{e0041}\u{202e}\"", Net::Json),
            "\"\\udb40\\udc41\\u202e\""
        );
        assert_eq!(
            caught("<p>\u{202e}\r</p>", Net::Markup),
            "<p>&lt;U+202E&gt;&lt;U+000D&gt;</p>"
        );
    }

    #[test]
    fn nothing_commands_a_runner() {
        let text = "::a::b\n  ::c\nd::e\n### f\n##[g]##h[i]###j[";
        let broken =
            "<U+003A>:a::b\n  <U+003A>:c\nd::e\n### f\n#<U+0023>[g]#<U+0023>h[i]##<U+0023>j[";
        assert_eq!(caught(text, Net::Text), broken);
        assert_eq!(caught("::a\n", Net::Commands), "::a\n");
        assert_eq!(caught("\"##[x]\"", Net::Json), "\"#\\u0023[x]\"");
    }
}
