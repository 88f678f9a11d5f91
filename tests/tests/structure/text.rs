//! A Rust text without what is no code of the crate: comments, texts, tests.

/// The code: of comments nothing, of texts the quotes, of what only tests see
/// nothing.
pub(crate) fn code(text: &str) -> String {
    without_tests(&without_texts(text))
}

fn without_texts(text: &str) -> String {
    let mut code = String::with_capacity(text.len());
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let after_word = code.ends_with(|c: char| c.is_alphanumeric() || c == '_');
        let skipped = match first {
            '/' if rest.starts_with("//") => rest.find('\n').unwrap_or(rest.len()),
            '/' if rest.starts_with("/*") => rest.find("*/").map_or(rest.len(), |end| end + 2),
            'r' if !after_word => raw(rest),
            '"' => quoted(rest),
            '\'' => letter(rest),
            _ => 0,
        };
        if skipped == 0 {
            code.push(first);
            rest = &rest[first.len_utf8()..];
        } else {
            code.push(' ');
            rest = &rest[skipped..];
        }
    }
    code
}

/// The length of a raw text, or 0.
fn raw(rest: &str) -> usize {
    let hashes = rest[1..].chars().take_while(|c| *c == '#').count();
    let body = 1 + hashes;
    if !rest[body..].starts_with('"') {
        return 0;
    }
    let end = format!("\"{}", "#".repeat(hashes));
    rest[body + 1..]
        .find(&end)
        .map_or(rest.len(), |at| body + 1 + at + end.len())
}

/// The length of a quoted text.
fn quoted(rest: &str) -> usize {
    let mut escaped = false;
    for (at, c) in rest.char_indices().skip(1) {
        match c {
            _ if escaped => escaped = false,
            '\\' => escaped = true,
            '"' => return at + 1,
            _ => {}
        }
    }
    rest.len()
}

/// The length of a quoted letter, or 0 where it is a lifetime.
fn letter(rest: &str) -> usize {
    let mut letters = rest.char_indices().skip(1);
    match letters.next() {
        Some((_, '\\')) => {
            letters.next();
            letters
                .find(|(_, c)| *c == '\'')
                .map_or(0, |(at, _)| at + 1)
        }
        Some(_) => match letters.next() {
            Some((at, '\'')) => at + 1,
            _ => 0,
        },
        None => 0,
    }
}

fn without_tests(code: &str) -> String {
    let mut kept = String::with_capacity(code.len());
    let mut rest = code;
    while let Some(at) = rest.find("#[cfg(test)]") {
        kept.push_str(&rest[..at]);
        rest = &rest[at..];
        rest = &rest[item(rest)..];
    }
    kept.push_str(rest);
    kept
}

/// The length of an item: up to its `;`, or to the brace that closes it.
fn item(rest: &str) -> usize {
    let mut depth = 0_usize;
    for (at, c) in rest.char_indices() {
        match c {
            '{' => depth += 1,
            '}' => {
                depth = depth.saturating_sub(1);
                if depth == 0 {
                    return at + 1;
                }
            }
            ';' if depth == 0 => return at + 1,
            _ => {}
        }
    }
    rest.len()
}
