//! Judging names, texts, dates and routes.

use gutta_quantity::Atom;
use smol_str::SmolStr;
use unicode_normalization::UnicodeNormalization;
use unicode_normalization::char::is_combining_mark;
use unicode_script::{Script, UnicodeScript};

use super::Reader;
use crate::ast::{Date, Name, Route, Text};
use crate::hidden::{Hidden, visible_line};
use crate::parse::{Rule, Token};
use crate::words::OWN;
use crate::{Edit, MarkKind, NoValue, Phrase, Spanned, Why};

/// Short forms of drug names that safe-writing lists warn of, as written, and
/// the name in full (common practice, no source; the forms from memory).
pub const RISKY_NAMES: &[(&str, &str)] = &[
    ("mgso4", "magnesium-sulfate"),
    ("mso4", "morphine-sulfate"),
    ("ms", "morphine-sulfate"),
    ("hcl", "hydrochloric-acid"),
    ("kcl", "potassium-chloride"),
    ("nacl", "sodium-chloride"),
    ("nahco3", "sodium-bicarbonate"),
    ("cacl2", "calcium-chloride"),
    ("azt", "zidovudine"),
    ("mtx", "methotrexate"),
    ("tpa", "alteplase"),
];

impl Reader<'_> {
    /// A name, from its token.
    pub(super) fn name(&mut self, token: Token) -> Name {
        let span = self.place(token);
        let text = self.token_text(token);
        if is_plain(text) && !is_taken(text) {
            return Spanned::new(SmolStr::new(text), span);
        }
        let text = text.to_owned();
        self.odd_name(&text, span)
    }

    /// The name of a drug, whose short forms are marked.
    pub(super) fn drug_name(&mut self, token: Token) -> Name {
        let name = self.name(token);
        let full = RISKY_NAMES
            .iter()
            .find(|(short, _)| *short == name.value)
            .map(|(_, full)| *full);
        if let Some(full) = full {
            // A capital is the lesser matter here.
            self.marks.retain(|mark| {
                mark.span != name.span || mark.kind != MarkKind::Phrase(Phrase::Capital)
            });
            let fix = Edit {
                span: name.span,
                text: full.to_owned(),
            };
            self.mark(MarkKind::RiskyName { full }, name.span, vec![fix]);
        }
        name
    }

    fn odd_name(&mut self, text: &str, span: crate::Span) -> Name {
        let name: String = text.nfc().collect();
        let lower: String = name.to_lowercase().nfc().collect();
        let sound = |c: char| c.is_alphabetic() || is_combining_mark(c) || c.is_ascii_digit();
        let well_formed = lower.chars().all(|c| sound(c) || c == '-')
            && !lower.starts_with('-')
            && !lower.ends_with('-')
            && !lower.contains("--");
        if !well_formed {
            let kept: Vec<&str> = lower
                .split(|c: char| !sound(c))
                .filter(|part| !part.is_empty())
                .collect();
            let fix = kept.join("-");
            let fixes = if fix.chars().any(char::is_alphabetic) {
                vec![Edit { span, text: fix }]
            } else {
                Vec::new()
            };
            self.unreadable(
                span,
                vec!["a name: small letters and digits, joined by hyphens".to_owned()],
                None,
                fixes,
            );
        } else if !lower.chars().any(char::is_alphabetic) {
            self.unreadable(
                span,
                vec!["a name: it holds at least one letter".to_owned()],
                None,
                Vec::new(),
            );
        } else if is_taken(&name) || is_taken(&lower) {
            self.unreadable(
                span,
                vec!["a name".to_owned()],
                Some(Why::Other(format!(
                    "`{name}` is a word of the notation and cannot be a name"
                ))),
                Vec::new(),
            );
        } else {
            if lower != name {
                let fix = Edit {
                    span,
                    text: lower.clone(),
                };
                self.mark(MarkKind::Phrase(Phrase::Capital), span, vec![fix]);
            }
            if mixes_scripts(&lower) {
                self.mark(MarkKind::MixedScripts, span, Vec::new());
            }
        }
        Spanned::new(SmolStr::new(visible_line(&lower)), span)
    }

    /// A phase's name, which may be a plain number.
    pub(super) fn phase_name(&mut self, token: Token) -> Name {
        let text = self.token_text(token);
        if !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit()) {
            return Spanned::new(SmolStr::new(text), self.place(token));
        }
        self.name(token)
    }

    /// A rule's name.
    pub(super) fn rule_name(&mut self, token: Token) -> Name {
        Spanned::new(
            SmolStr::new(visible_line(self.token_text(token))),
            self.place(token),
        )
    }

    pub(super) fn take_name(&mut self) -> Option<Name> {
        let token = self.advance()?;
        Some(self.name(token))
    }

    pub(super) fn take_drug_name(&mut self) -> Option<Name> {
        let token = self.advance()?;
        Some(self.drug_name(token))
    }

    /// A comma list of names.
    pub(super) fn take_names(&mut self, judge: fn(&mut Self, Token) -> Name) -> Vec<Name> {
        let mut names = Vec::new();
        while let Some(token) = self.next_if(Rule::name) {
            names.push(judge(self, token));
            self.skip_comma_before(Rule::name);
        }
        names
    }

    /// A comma list of routes.
    pub(super) fn take_routes(&mut self) -> Vec<Spanned<Route>> {
        let mut routes = Vec::new();
        while let Some(token) = self.next_if(Rule::route) {
            if let Some(route) = self.route(token) {
                routes.push(route);
            }
            self.skip_comma_before(Rule::route);
        }
        routes
    }

    /// Passes a comma, if what follows it is of the rule.
    fn skip_comma_before(&mut self, rule: Rule) {
        if self.peek(Rule::comma).is_some()
            && self
                .tokens
                .get(self.next + 1)
                .is_some_and(|token| token.rule == rule)
        {
            self.next += 1;
        }
    }

    /// A route, from its token, which the grammar has read word by word.
    pub(super) fn route(&mut self, token: Token) -> Option<Spanned<Route>> {
        let text = self.token_text(token);
        let mut words = text.split(' ').filter(|word| !word.is_empty());
        let route = Route::ALL.into_iter().find(|route| {
            let mut theirs = route.phrase().split(' ');
            words.clone().eq(theirs.by_ref())
        });
        words.next()?;
        route.map(|route| Spanned::new(route, self.place(token)))
    }

    /// A text, without its quotes, as it may be shown anywhere.
    pub(super) fn take_text(&mut self) -> Option<Text> {
        let exact = self.take_exact()?;
        Some(Spanned::new(
            SmolStr::new(visible_line(&exact.value)),
            exact.span,
        ))
    }

    /// A text, without its quotes, to the letter: the path of a file.
    pub(super) fn take_exact(&mut self) -> Option<Text> {
        let token = self.next_if(Rule::text)?;
        let text = self.token_text(token);
        let inner = text
            .strip_prefix('"')
            .and_then(|text| text.strip_suffix('"'))
            .unwrap_or(text);
        Some(Spanned::new(SmolStr::new(inner), self.place(token)))
    }

    /// Why, in words: a text in which something can be seen.
    pub(super) fn take_reason(&mut self) -> Option<Text> {
        let place = self.next;
        let exact = self.take_exact()?;
        let seen = |c: char| !c.is_whitespace() && Hidden::of(c).is_none();
        self.next = place;
        let reason = self.take_text();
        reason.filter(|_| exact.value.contains(seen))
    }

    /// A date; `None` within where it does not exist.
    pub(super) fn take_date(&mut self) -> Option<Spanned<Option<Date>>> {
        let token = self.advance()?;
        let span = self.place(token);
        let date = date(self.token_text(token));
        if date.is_none() {
            self.no_value(NoValue::Date, span);
        }
        Some(Spanned::new(date, span))
    }
}

/// Small letters of ASCII and digits, joined by hyphens, with a letter.
fn is_plain(text: &str) -> bool {
    let mut letter = false;
    let mut joint = true;
    for byte in text.bytes() {
        match byte {
            b'a'..=b'z' => {
                letter = true;
                joint = false;
            }
            b'0'..=b'9' => joint = false,
            b'-' if !joint => joint = true,
            _ => return false,
        }
    }
    letter && !joint
}

/// Whether the text is a unit, or a word that no name can be.
fn is_taken(text: &str) -> bool {
    let unit = || Atom::from_symbol(text).is_some_and(Atom::is_of_the_table);
    text.len() <= 10 && (OWN.contains(&text) || unit())
}

/// Whether letters of scripts stand together that no language mixes.
fn mixes_scripts(text: &str) -> bool {
    let mut one: Option<Script> = None;
    for script in text.chars().map(|c| c.script()) {
        let script = match script {
            Script::Common | Script::Inherited => continue,
            // Written together in Japanese and Korean.
            Script::Hiragana | Script::Katakana | Script::Hangul | Script::Bopomofo => Script::Han,
            other => other,
        };
        if *one.get_or_insert(script) != script {
            return true;
        }
    }
    false
}

/// `2026-11-25`.
fn date(text: &str) -> Option<Date> {
    let bytes = text.as_bytes();
    let [y1, y2, y3, y4, b'-', m1, m2, b'-', d1, d2] = bytes else {
        return None;
    };
    let number = |digits: &[&u8]| {
        digits.iter().try_fold(0_u16, |sum, digit| {
            digit
                .is_ascii_digit()
                .then(|| sum * 10 + u16::from(**digit - b'0'))
        })
    };
    let year = number(&[y1, y2, y3, y4])?;
    let month = u8::try_from(number(&[m1, m2])?).ok()?;
    let day = u8::try_from(number(&[d1, d2])?).ok()?;
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let days = match month {
        1 | 3 | 5 | 7 | 8 | 10 | 12 => 31,
        4 | 6 | 9 | 11 => 30,
        2 => 28 + u8::from(leap),
        _ => return None,
    };
    (1..=days)
        .contains(&day)
        .then_some(Date { year, month, day })
}
