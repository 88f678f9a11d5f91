//! The notation's lines, made of a line's pieces.

mod bags;
mod reference;

use super::Meant;
use super::routes::routes;
use super::tokens::{Piece, Token, all_in};
use super::vocabulary::{About, about};
use crate::ast::StanzaKind;

type Named<'a> = &'a dyn Fn(StanzaKind, &str) -> Option<String>;

/// A line in pieces, behind the words that say what it is about.
struct Source<'a> {
    text: &'a str,
    /// The words it begins with.
    keyword: &'a str,
    tokens: Vec<&'a Token>,
    named: Named<'a>,
}

/// What a quantity is, by its unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Is {
    Rate,
    Time,
    Volume,
    Amount,
    Strength,
    Patient,
    Other,
}

fn is(unit: &str) -> Is {
    let mut parts = unit.split('/');
    let top = parts.next().unwrap_or("");
    let below: Vec<&str> = parts.collect();
    let in_time = below
        .iter()
        .any(|part| matches!(*part, "h" | "min" | "s" | "day"));
    match top {
        "" | "%" => Is::Other,
        "h" | "min" | "s" | "days" => Is::Time,
        "kg" | "m2" | "years" | "months" | "weeks" => Is::Patient,
        _ if in_time => Is::Rate,
        _ if below.iter().any(|part| matches!(*part, "mL" | "L")) => Is::Strength,
        "mL" | "L" => Is::Volume,
        _ => Is::Amount,
    }
}

fn shown(piece: &Piece) -> Option<String> {
    match piece {
        Piece::Quantity(number, unit) if unit.is_empty() => Some(number.clone()),
        Piece::Quantity(number, unit) => Some(format!("{number} {}", singular(number, unit))),
        Piece::Range(low, high, unit) => {
            Some(format!("{low} to {high} {unit}").trim_end().to_owned())
        }
        _ => None,
    }
}

/// `1 day`, `2 days`.
fn singular<'u>(number: &str, unit: &'u str) -> &'u str {
    match unit {
        "days" | "years" | "months" | "weeks" if number == "1" => &unit[..unit.len() - 1],
        unit => unit,
    }
}

/// Every line that may have been meant, unread.
pub(super) fn lines(
    kind: StanzaKind,
    text: &str,
    tokens: &[Token],
    named: Named<'_>,
) -> Vec<Meant> {
    let mut all = Vec::new();
    let found = about(kind, text);
    let (what, end) = match found {
        Some(found) => found,
        // A route, or how fast, without a word before it.
        None if !routes(text).is_empty() => (About::Route, 0),
        None => match tokens {
            [first, ..] if matches!(&first.piece, Piece::Quantity(_, unit) if is(unit) == Is::Rate) => {
                (About::Run, 0)
            }
            _ => return all,
        },
    };
    let source = Source {
        text,
        keyword: text.get(..end).unwrap_or(""),
        // `every 24 h` may begin within the keyword.
        tokens: tokens.iter().filter(|token| token.to > end).collect(),
        named,
    };
    if source.says_otherwise(what) {
        return all;
    }
    let as_it_is = matches!(what, About::Text(_) | About::Review | About::Also);
    for line in source.lines(what) {
        if !as_it_is && !all_in(&source.tokens, &line) {
            continue;
        }
        let spelling = source.is_spelling(&line);
        all.push(Meant { line, spelling });
    }
    all
}

impl Source<'_> {
    fn lines(&self, what: About) -> Vec<String> {
        let one = |line: Option<String>| line.into_iter().collect();
        match what {
            About::Run => one(self.run()),
            About::Bolus => one(self.bolus()),
            About::Mix => self.mix(),
            About::Hang => one(self.hang()),
            About::Route => self.route("route"),
            About::OnlyBy => self.route("only by"),
            About::Patient => one(self.patient()),
            About::Ceiling => one(self.first(Is::Rate).map(|rate| format!("ceiling {rate}"))),
            About::Adjust => one(self.adjust()),
            About::Prime => one(self
                .first(Is::Volume)
                .map(|volume| format!("prime {volume}"))),
            About::Priming => one(self
                .first(Is::Volume)
                .map(|volume| format!("priming {volume}"))),
            About::Flush => one(self.flush()),
            About::Stop => one(self.bare().then(|| "then stop".to_owned())),
            About::Renew => one(self.bare().then(|| "then renew".to_owned())),
            About::KeepOpen => one(self.keep_open()),
            About::ChangeBag => one(self.time().map(|time| format!("change bag every {time}"))),
            About::Review => one(self.date().map(|date| format!("review by {date}"))),
            About::Name(keyword) => one(self.name(keyword)),
            About::Text(keyword) => one(self.quoted(keyword)),
            About::Supplied => one(self.supplied()),
            About::With => one(self.solutions("with")),
            About::NotWith => one(self.solutions("not with")),
            About::Usual(measure) => one(self.limit("usual", measure)),
            About::Never(measure) => one(self.limit("never", measure)),
            About::Also => one(self.names("also")),
            About::HangTime => one(self.time().map(|time| format!("hang time {time}"))),
            About::DosedIn => one(self.unit().map(|unit| format!("dosed in {unit}"))),
            About::HighAlert => one(self.bare().then(|| "high-alert".to_owned())),
            About::PumpFlow => one(self.pump_flow()),
            About::PumpVolume => one(self
                .first(Is::Volume)
                .map(|volume| format!("volume up to {volume}"))),
            About::Drops => one(self.drops()),
        }
    }

    /// Whether a word or a sign turns what the numbers mean: `not`, `if`, `>`, a
    /// minus. Texts are taken as they are.
    fn says_otherwise(&self, what: About) -> bool {
        const TURNS: [&str; 24] = [
            "not", "no", "never", "avoid", "unless", "if", "except", "without", "plus", "minus",
            "double", "less", "than", "reduce", "half", "x", "<", ">", "\u{2264}", "\u{2265}",
            "\u{b1}", "~", "*", "\u{d7}",
        ];
        if matches!(what, About::Text(_) | About::Review | About::Also) {
            return false;
        }
        let mut tokens = self.tokens.iter().enumerate();
        tokens.any(|(at, token)| {
            let Some(word) = token.word() else {
                return false;
            };
            let next = self.tokens.get(at + 1).map(|next| &next.piece);
            let minus = matches!(word, "-" | "\u{2013}" | "\u{2014}" | "\u{2212}")
                && matches!(next, Some(Piece::Quantity(..) | Piece::Range(..)));
            let either =
                word == "or" && !matches!(what, About::Patient | About::With | About::NotWith);
            TURNS.contains(&word) || minus || either
        })
    }

    /// The first quantity of a kind.
    fn first(&self, kind: Is) -> Option<String> {
        self.tokens.iter().find_map(|token| match &token.piece {
            Piece::Quantity(_, unit) if is(unit) == kind => shown(&token.piece),
            _ => None,
        })
    }

    fn all(&self, kind: Is) -> Vec<(usize, String)> {
        let tokens = self.tokens.iter().enumerate();
        let all = tokens.filter_map(|(at, token)| match &token.piece {
            Piece::Quantity(_, unit) if is(unit) == kind => Some((at, shown(&token.piece)?)),
            _ => None,
        });
        all.collect()
    }

    fn word_before(&self, at: usize) -> &str {
        let before = at.checked_sub(1).and_then(|before| self.tokens.get(before));
        match before {
            Some(token) => token.word().unwrap_or(""),
            None => self.keyword.rsplit(' ').next().unwrap_or(""),
        }
    }

    fn has_word(&self, words: &[&str]) -> bool {
        let mut own = self.tokens.iter().filter_map(|token| token.word());
        own.any(|word| words.contains(&word))
    }

    fn every(&self) -> Option<&str> {
        self.tokens.iter().find_map(|token| match &token.piece {
            Piece::Every(time) => Some(time.as_str()),
            _ => None,
        })
    }

    /// Nothing behind the keyword: `repeat once` is no `repeat`.
    fn bare(&self) -> bool {
        self.tokens.is_empty()
    }

    /// What is left of the text behind a place, as it was written.
    fn rest(&self, from: usize) -> &str {
        let from = self
            .tokens
            .get(from)
            .map_or(self.text.len(), |token| token.from);
        self.text[from..]
            .trim()
            .trim_start_matches([':', '='])
            .trim()
    }

    /// `run WHAT at RATE over TIME every TIME`.
    fn run(&self) -> Option<String> {
        let is_range = |token: &&Token| matches!(token.piece, Piece::Range(..));
        if self.tokens.iter().any(is_range) {
            return None;
        }
        let one = |kind: Is| match self.all(kind).as_slice() {
            [] => Some(None),
            [(_, only)] => Some(Some(only.clone())),
            _ => None,
        };
        let (rate, time) = (one(Is::Rate)?, one(Is::Time)?);
        let what = match (one(Is::Amount)?, one(Is::Volume)?) {
            (Some(_), Some(_)) => return None,
            (amount, volume) => amount.or(volume),
        };
        if rate.is_none() && time.is_none() {
            return None;
        }
        let mut line = format!("run {}", what.as_deref().unwrap_or("all"));
        let parts = [
            (" at ", rate.as_deref()),
            (" over ", time.as_deref()),
            (" every ", self.every()),
        ];
        for (word, part) in parts {
            if let Some(part) = part {
                line.push_str(word);
                line.push_str(part);
            }
        }
        Some(line)
    }

    fn bolus(&self) -> Option<String> {
        let what = self.first(Is::Amount).or_else(|| self.first(Is::Volume))?;
        let way = match (self.first(Is::Time), self.first(Is::Rate)) {
            (Some(time), None) => format!("over {time}"),
            (None, Some(rate)) => format!("at {rate}"),
            _ => return None,
        };
        Some(format!("bolus {what} {way}"))
    }

    fn time(&self) -> Option<String> {
        self.every()
            .map(str::to_owned)
            .or_else(|| self.first(Is::Time))
    }

    /// Of a date in which year, month and day cannot be taken for one another.
    fn date(&self) -> Option<String> {
        let rest = self.rest(0);
        let rest = rest.trim_start_matches(|c: char| !c.is_ascii_digit());
        let iso: Vec<&str> = rest.split(['-', '/', '.']).collect();
        if let [year, month, day] = iso.as_slice()
            && year.len() == 4
        {
            return Some(format!("{year}-{month:0>2}-{day:0>2}"));
        }
        const MONTHS: [&str; 12] = [
            "jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec",
        ];
        let words: Vec<&str> = rest.split_whitespace().collect();
        let [day, month, year] = words.as_slice() else {
            return None;
        };
        let day = day.trim_end_matches(|c: char| !c.is_ascii_digit());
        let named = month.to_ascii_lowercase();
        let month = MONTHS.iter().position(|known| named.starts_with(known))? + 1;
        (year.len() == 4).then(|| format!("{year}-{month:02}-{day:0>2}"))
    }

    fn name(&self, keyword: &'static str) -> Option<String> {
        let rest = self.rest(0);
        let kind = match keyword {
            "area" => StanzaKind::Area,
            "pump" => StanzaKind::Pump,
            "giving-set" => StanzaKind::GivingSet,
            _ => StanzaKind::Drug,
        };
        let phrase = if rest.is_empty() { self.keyword } else { rest };
        let name = (self.named)(kind, phrase)?;
        Some(format!("{keyword} {name}"))
    }

    fn quoted(&self, keyword: &'static str) -> Option<String> {
        let rest = self.rest(0).trim_matches('"').trim();
        (!rest.is_empty() && !rest.contains('"')).then(|| format!("{keyword} \"{rest}\""))
    }

    /// Whether a line has the same letters and digits as what was written, in the
    /// same order: then only its spelling is another.
    fn is_spelling(&self, line: &str) -> bool {
        let letters = |text: &str| {
            let text = text.to_lowercase().replace("hr", "h").replace("mls", "ml");
            let kept = text
                .chars()
                .filter(|c| c.is_alphanumeric() || matches!(c, '/' | '.' | '%' | '-'));
            kept.collect::<String>()
        };
        letters(line) == letters(self.text)
    }
}
