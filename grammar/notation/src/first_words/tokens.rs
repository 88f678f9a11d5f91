//! A line in pieces: quantities, ranges, how often, texts and words.

use super::numbers::{number, unit};

/// A piece of a line.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Piece {
    /// A word in small letters.
    Word(String),
    /// A quantity: number and unit as the notation writes them. The unit is
    /// empty where none is written.
    Quantity(String, String),
    /// Two numbers with one unit.
    Range(String, String, String),
    /// How often: the time between two.
    Every(String),
    /// A text in quotes.
    Quoted(String),
}

/// A piece and where it is in the line.
#[derive(Clone, Debug)]
pub(super) struct Token {
    pub(super) piece: Piece,
    pub(super) from: usize,
    pub(super) to: usize,
}

impl Token {
    pub(super) fn word(&self) -> Option<&str> {
        match &self.piece {
            Piece::Word(word) => Some(word),
            _ => None,
        }
    }
}

/// The pieces of a line; `None` where a number in it may be read in two ways.
pub(super) fn tokens(text: &str) -> Option<Vec<Token>> {
    let mut all = Vec::new();
    let raw = raw(text);
    let mut at = 0;
    while at < raw.len() {
        let (token, next) = token(text, &raw, at)?;
        all.push(token);
        at = next;
    }
    Some(all)
}

/// Whether every number of the pieces is in the line, as often: no proposal loses
/// one. A share (`0.9 %`) may be part of a name.
pub(super) fn all_in(tokens: &[&Token], line: &str) -> bool {
    let digits = |text: &str| {
        let numbers = text.split(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',')));
        let numbers = numbers.map(|number| number.trim_matches(['.', ',']).to_owned());
        numbers
            .filter(|number| !number.is_empty())
            .collect::<Vec<_>>()
    };
    let mut left = digits(line);
    let mut takes = |number: &str| {
        let at = left.iter().position(|other| other == number);
        at.map(|at| left.swap_remove(at)).is_some()
    };
    tokens.iter().all(|token| match &token.piece {
        Piece::Quantity(_, unit) if unit == "%" => true,
        Piece::Quantity(number, _) => takes(number),
        Piece::Range(low, high, _) => takes(low) && takes(high),
        Piece::Every(time) => digits(time).iter().all(|number| takes(number)),
        Piece::Word(_) | Piece::Quoted(_) => true,
    })
}

/// A raw piece: letters, digits, one sign, or a quoted text.
#[derive(Clone, Copy, Debug)]
struct Raw<'a> {
    text: &'a str,
    from: usize,
}

impl Raw<'_> {
    fn end(&self) -> usize {
        self.from + self.text.len()
    }

    fn is_number(&self) -> bool {
        self.text
            .starts_with(|c: char| c.is_ascii_digit() || c == '.')
    }

    fn is_dash(&self) -> bool {
        matches!(self.text, "-" | "\u{2013}" | "\u{2014}" | "to")
    }
}

fn raw(text: &str) -> Vec<Raw<'_>> {
    let mut all = Vec::new();
    let mut at = 0;
    while let Some(first) = text[at..].chars().next() {
        let rest = &text[at..];
        let digit = |c: char| c.is_ascii_digit() || matches!(c, '.' | ',');
        let letter = |c: char| c.is_alphabetic() || matches!(c, '²' | '\'');
        let length = if first == '"' {
            rest[1..].find('"').map_or(rest.len(), |end| end + 2)
        } else if first.is_ascii_digit()
            || first == '.' && rest[1..].starts_with(|c: char| c.is_ascii_digit())
        {
            let end = rest.find(|c: char| !digit(c)).unwrap_or(rest.len());
            rest[..end].trim_end_matches(['.', ',']).len().max(1)
        } else if first.is_alphabetic() {
            let end = rest.find(|c: char| !letter(c)).unwrap_or(rest.len());
            // `m2` is one word, `5mg` are two.
            match (
                rest[..end].to_lowercase().as_str(),
                rest[end..].starts_with('2'),
            ) {
                ("m", true) => end + 1,
                _ => end,
            }
        } else {
            first.len_utf8()
        };
        if !first.is_whitespace() {
            all.push(Raw {
                text: &rest[..length],
                from: at,
            });
        }
        at += length;
    }
    all
}

fn token(text: &str, raw: &[Raw<'_>], at: usize) -> Option<(Token, usize)> {
    let one = raw[at];
    let made = |piece: Piece, next: usize| {
        let to = raw[next - 1].end();
        Some((
            Token {
                piece,
                from: one.from,
                to,
            },
            next,
        ))
    };
    if let Some(quoted) = one.text.strip_prefix('"') {
        let inner = quoted.strip_suffix('"').unwrap_or(quoted);
        return made(Piece::Quoted(inner.to_owned()), at + 1);
    }
    if let Some((time, next)) = how_often(raw, at) {
        return made(Piece::Every(time), next);
    }
    // `half an hour`, `an hour`
    let word = |place: usize| raw.get(place).map(|raw| raw.text.to_lowercase());
    let hour = |place: usize| word(place).is_some_and(|word| word == "hour");
    let article =
        |place: usize| word(place).is_some_and(|word| matches!(word.as_str(), "a" | "an" | "one"));
    if word(at).is_some_and(|word| word == "half") {
        return match article(at + 1) && hour(at + 2) {
            true => made(Piece::Quantity("30".to_owned(), "min".to_owned()), at + 3),
            false => None,
        };
    }
    if article(at) && hour(at + 1) {
        return made(Piece::Quantity("1".to_owned(), "h".to_owned()), at + 2);
    }
    if one.is_number() {
        let low = number(one.text)?;
        let (own, mut next) = unit_at(raw, at + 1);
        if raw.get(next).is_some_and(Raw::is_dash)
            && let Some(other) = raw.get(next + 1).filter(|other| other.is_number())
        {
            let high = number(other.text)?;
            let (unit, end) = unit_at(raw, next + 2);
            // `1 mg to 2 g` is left to its author.
            if own.is_none() || own == unit {
                return made(Piece::Range(low, high, unit.unwrap_or_default()), end);
            }
            next = at + 1;
        }
        if own.is_some() {
            return made(
                Piece::Quantity(low, own.unwrap_or_default()),
                next.max(at + 1),
            );
        }
        return made(Piece::Quantity(low, String::new()), at + 1);
    }
    // `8-hourly` was read above; a hyphen within a word keeps it one.
    let mut next = at + 1;
    let letters = |raw: &Raw<'_>| raw.text.starts_with(char::is_alphabetic);
    while letters(&one)
        && raw
            .get(next)
            .is_some_and(|dash| dash.text == "-" && dash.from == raw[next - 1].end())
        && raw
            .get(next + 1)
            .is_some_and(|more| letters(more) && more.from == raw[next].end())
    {
        next += 2;
    }
    let word = text[one.from..raw[next - 1].end()].to_lowercase();
    made(Piece::Word(word), next)
}

/// The unit that begins at a place, and what follows it: `mg/kg/h`, `ml per hour`,
/// `mcg per kg per min`, `dpm`.
fn unit_at(raw: &[Raw<'_>], at: usize) -> (Option<String>, usize) {
    let Some(first) = raw.get(at) else {
        return (None, at);
    };
    if first.text.eq_ignore_ascii_case("dpm") {
        return (Some("drops/min".to_owned()), at + 1);
    }
    let mut parts = vec![first.text];
    let mut next = at + 1;
    while let (Some(joint), Some(part)) = (raw.get(next), raw.get(next + 1)) {
        let joins = joint.text == "/"
            || matches!(
                joint.text.to_lowercase().as_str(),
                "per" | "a" | "an" | "each"
            );
        let mut longer = parts.clone();
        longer.push(part.text);
        if !joins || unit(&longer).is_none() {
            break;
        }
        parts = longer;
        next += 2;
    }
    // `mL/24 h` is a day's.
    if raw.get(next).is_some_and(|slash| slash.text == "/")
        && raw.get(next + 1).is_some_and(|number| number.text == "24")
        && raw
            .get(next + 2)
            .is_some_and(|hours| unit(&[hours.text]).as_deref() == Some("h"))
    {
        parts.push("day");
        next += 3;
    }
    match unit(&parts) {
        Some(unit) => (Some(unit), next),
        None => (None, at),
    }
}

/// `every 8 hours`, `8 hourly`, `8-hourly`, `q8h`, `twice daily`.
fn how_often(raw: &[Raw<'_>], at: usize) -> Option<(String, usize)> {
    let word = |place: usize| raw.get(place).map(|raw| raw.text.to_lowercase());
    let first = word(at)?;
    let latin = match first.as_str() {
        "tds" | "tid" => Some("8 h"),
        "bd" | "bid" => Some("12 h"),
        "qds" | "qid" => Some("6 h"),
        "od" | "daily" | "nightly" => Some("24 h"),
        "hourly" => Some("1 h"),
        _ => None,
    };
    if let Some(time) = latin {
        return Some((time.to_owned(), at + 1));
    }
    let times = match first.as_str() {
        "once" => Some("24 h"),
        "twice" => Some("12 h"),
        _ => None,
    };
    if let Some(time) = times {
        let second = word(at + 1)?;
        if matches!(second.as_str(), "daily") {
            return Some((time.to_owned(), at + 2));
        }
        let third = word(at + 2)?;
        return (matches!(second.as_str(), "a" | "per") && third == "day")
            .then(|| (time.to_owned(), at + 3));
    }
    if first == "q" {
        let time = number(raw.get(at + 1)?.text)?;
        let unit = unit(&[raw.get(at + 2)?.text])?;
        return Some((format!("{time} {unit}"), at + 3));
    }
    if matches!(first.as_str(), "every" | "each") {
        if let Some(time) = raw.get(at + 1).filter(|raw| raw.is_number()) {
            let unit = unit(&[raw.get(at + 2)?.text]);
            let unit = unit.filter(|unit| matches!(unit.as_str(), "h" | "min" | "days"))?;
            return Some((format!("{} {unit}", number(time.text)?), at + 3));
        }
        let unit = unit(&[raw.get(at + 1)?.text])?;
        let one = matches!(unit.as_str(), "h" | "min");
        let day = unit == "days";
        return (one || day).then(|| {
            let time = if day {
                "24 h".to_owned()
            } else {
                format!("1 {unit}")
            };
            (time, at + 2)
        });
    }
    if raw[at].is_number() {
        let dash = usize::from(raw.get(at + 1).is_some_and(|dash| dash.text == "-"));
        let hourly = word(at + 1 + dash)?;
        return (hourly == "hourly")
            .then(|| Some((format!("{} h", number(raw[at].text)?), at + 2 + dash)))?;
    }
    None
}
