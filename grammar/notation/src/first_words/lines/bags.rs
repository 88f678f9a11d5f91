//! What is in the bag and beside it, by which route, for whom.

use super::{Is, Source, is, shown};
use crate::ast::StanzaKind;
use crate::first_words::routes::routes;
use crate::first_words::tokens::Piece;

impl Source<'_> {
    /// `mix … made up to … with …`, `mix … added to … of …`; both, where the words
    /// do not say which.
    pub(super) fn mix(&self) -> Vec<String> {
        let (amounts, volumes) = (self.all(Is::Amount), self.all(Is::Volume));
        let ([(_, amount)], Some((at, volume))) = (amounts.as_slice(), volumes.last()) else {
            return Vec::new();
        };
        if volumes.len() > 2 {
            return Vec::new();
        }
        let mut after = at + 1;
        let join = ["of", "with", "in", "using", "as", ",", "(", "by"];
        while self
            .tokens
            .get(after)
            .is_some_and(|token| token.word().is_some_and(|word| join.contains(&word)))
        {
            after += 1;
        }
        let mut phrase = self.rest(after);
        if phrase.is_empty() {
            // `4 mg in glucose 5 % to 50 mL`
            let before = self.tokens.iter().take(*at);
            let mut from = 0;
            for (place, token) in before.enumerate() {
                if token
                    .word()
                    .is_some_and(|word| matches!(word, "in" | "with" | "into"))
                {
                    from = place + 1;
                }
            }
            let end = self
                .tokens
                .get(*at)
                .map_or(self.text.len(), |token| token.from);
            let start = self.tokens.get(from).map_or(end, |token| token.from);
            let between = self.text.get(start..end).unwrap_or("").trim();
            phrase = [
                "to",
                "up to",
                "made up to",
                "to a total of",
                "total",
                "to total",
            ]
            .iter()
            .fold(between, |phrase, joint| {
                phrase.strip_suffix(joint).unwrap_or(phrase).trim_end()
            });
        }
        let phrase = phrase.trim_end_matches([')', '.']).trim();
        let Some(solution) = self.solution(phrase) else {
            return Vec::new();
        };
        let made_up = format!("mix {amount} made up to {volume} with {solution}");
        let added = format!("mix {amount} added to {volume} of {solution}");
        let keyword = self.keyword.to_ascii_lowercase();
        let total = self.has_word(&["up", "total", "final"])
            || keyword.starts_with("make") && self.has_word(&["to"]);
        let puts = self.has_word(&["added", "into"]) || keyword == "add";
        match (total, puts || self.has_word(&["add"])) {
            (true, false) => vec![made_up],
            (false, true) => vec![added],
            _ => vec![made_up, added],
        }
    }

    pub(super) fn hang(&self) -> Option<String> {
        let volumes = self.all(Is::Volume);
        let [(at, volume)] = volumes.as_slice() else {
            return None;
        };
        let of = usize::from(
            self.tokens
                .get(at + 1)
                .is_some_and(|token| token.word() == Some("of")),
        );
        let mut phrase = self.rest(at + 1 + of).to_owned();
        if phrase.is_empty() {
            let end = self.tokens.get(*at)?.from;
            let start = self.tokens.first()?.from;
            phrase = self
                .text
                .get(start..end)?
                .trim()
                .trim_start_matches(':')
                .trim()
                .to_owned();
        }
        let solution = self.solution(&phrase)?;
        Some(format!("hang {volume} of {solution}"))
    }

    pub(super) fn solution(&self, phrase: &str) -> Option<String> {
        (!phrase.is_empty()).then(|| (self.named)(StanzaKind::Solution, phrase))?
    }

    pub(super) fn route(&self, keyword: &str) -> Vec<String> {
        let own = self.rest(0);
        let mut found = routes(own);
        if found.is_empty() && own.is_empty() {
            found = routes(self.keyword);
        }
        if found.is_empty() {
            found = routes(self.text);
        }
        if keyword == "only by" && found.len() > 1 {
            return vec![format!("only by {}", found.join(", "))];
        }
        found
            .iter()
            .map(|route| format!("{keyword} {route}"))
            .collect()
    }

    pub(super) fn patient(&self) -> Option<String> {
        let age = |unit: &str| matches!(unit, "years" | "months" | "weeks" | "days");
        let (range, unit) = self
            .tokens
            .iter()
            .enumerate()
            .find_map(|(at, token)| match &token.piece {
                Piece::Range(_, _, unit) if is(unit) == Is::Patient || age(unit) => {
                    Some((shown(&token.piece)?, unit))
                }
                Piece::Quantity(number, unit) if is(unit) == Is::Patient || age(unit) => {
                    let own = shown(&token.piece)?;
                    let after = self.tokens.get(at + 1).and_then(|token| token.word());
                    let plus = self
                        .text
                        .get(token.to..)
                        .is_some_and(|rest| rest.starts_with('+'));
                    let or_more = plus
                        || matches!(after, Some("or" | "and"))
                            && self.has_word(&["more", "over", "above", "older"]);
                    let told = match self.word_before(at) {
                        _ if or_more => format!("{number} {unit} or more"),
                        "under" | "below" => format!("below {own}"),
                        "to" | "max" | "maximum" => format!("up to {own}"),
                        _ => return None,
                    };
                    Some((told, unit))
                }
                _ => None,
            })?;
        let kind = match unit.as_str() {
            "kg" => "weight",
            "m2" => "surface",
            _ => "age",
        };
        Some(format!("patient {kind} {range}"))
    }

    pub(super) fn adjust(&self) -> Option<String> {
        let range = self.tokens.iter().find_map(|token| match &token.piece {
            Piece::Range(_, _, unit) if is(unit) == Is::Rate => shown(&token.piece),
            _ => None,
        })?;
        let step = self.first(Is::Rate)?;
        let every = self.every()?;
        Some(format!("adjust {range} by {step} every {every}"))
    }

    pub(super) fn flush(&self) -> Option<String> {
        let volumes = self.all(Is::Volume);
        let [(at, volume)] = volumes.as_slice() else {
            return None;
        };
        let joint = usize::from(
            self.tokens
                .get(at + 1)
                .is_some_and(|token| matches!(token.word(), Some("of" | "with"))),
        );
        let solution = self.solution(self.rest(at + 1 + joint))?;
        Some(format!("flush {volume} with {solution}"))
    }

    pub(super) fn keep_open(&self) -> Option<String> {
        let rates = self.all(Is::Rate);
        let [(at, rate)] = rates.as_slice() else {
            return None;
        };
        let joint = usize::from(
            self.tokens
                .get(at + 1)
                .is_some_and(|token| matches!(token.word(), Some("of" | "with"))),
        );
        let phrase = self.rest(at + 1 + joint);
        if phrase.is_empty() {
            return Some(format!("then keep open {rate}"));
        }
        Some(format!(
            "then keep open {rate} with {}",
            self.solution(phrase)?
        ))
    }
}
