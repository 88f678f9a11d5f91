//! Lines of drugs, ingredients, pumps and giving sets.

use super::{Is, Source, is, shown};
use crate::ast::StanzaKind;
use crate::first_words::numbers;
use crate::first_words::tokens::Piece;

impl Source<'_> {
    pub(super) fn supplied(&self) -> Option<String> {
        if let Some(strength) = self.first(Is::Strength) {
            return Some(format!("supplied {strength}"));
        }
        let (amount, volume) = (self.first(Is::Amount)?, self.first(Is::Volume)?);
        Some(format!("supplied {amount} in {volume}"))
    }

    /// What a list names, each declared.
    pub(super) fn solutions(&self, keyword: &str) -> Option<String> {
        let rest = self.rest(0).trim_end_matches('.');
        let parts = rest
            .split([',', ';'])
            .flat_map(|part| part.split(" or "))
            .flat_map(|part| part.split(" and "));
        let names = parts.map(str::trim).filter(|part| !part.is_empty());
        let names: Option<Vec<String>> = names
            .map(|part| (self.named)(StanzaKind::Solution, part))
            .collect();
        let names = names.filter(|names| !names.is_empty())?;
        Some(format!("{keyword} {}", names.join(", ")))
    }

    pub(super) fn names(&self, keyword: &str) -> Option<String> {
        let rest = self.rest(0).to_lowercase();
        let names: Vec<_> = rest
            .split([',', ';'])
            .map(str::trim)
            .filter(|name| !name.is_empty())
            .collect();
        (!names.is_empty()).then(|| format!("{keyword} {}", names.join(", ")))
    }

    pub(super) fn limit(&self, word: &str, measure: &str) -> Option<String> {
        let fits = |unit: &str| match measure {
            "dose" => is(unit) == Is::Rate,
            "strength" => is(unit) == Is::Strength,
            _ => is(unit) == Is::Amount || is(unit) == Is::Rate,
        };
        let ranges = self.tokens.iter().find_map(|token| match &token.piece {
            Piece::Range(_, _, unit) if fits(unit) => shown(&token.piece),
            _ => None,
        });
        let single = self.tokens.iter().find_map(|token| match &token.piece {
            Piece::Quantity(number, unit) if fits(unit) => Some((number.clone(), unit.clone())),
            _ => None,
        });
        match (word, ranges, single) {
            ("usual", Some(range), None) => Some(format!("usual {measure} {range}")),
            ("usual", None, Some((number, unit))) if self.has_word(&["to", "max", "maximum"]) => {
                Some(format!("usual {measure} up to {number} {unit}"))
            }
            ("never", None, Some((number, unit))) => {
                let (unit, day) = match unit.strip_suffix("/day") {
                    Some(amount) if measure == "total" => (amount.to_owned(), true),
                    _ => (unit, measure == "total"),
                };
                let per_day = if day { " per day" } else { "" };
                Some(format!("never {measure} above {number} {unit}{per_day}"))
            }
            _ => None,
        }
    }

    pub(super) fn unit(&self) -> Option<String> {
        let rest = self.rest(0).trim_start_matches("in ").to_ascii_lowercase();
        let rest = rest.replace(" per ", "/");
        let parts: Vec<&str> = rest.split('/').map(str::trim).collect();
        numbers::unit(&parts)
    }

    pub(super) fn pump_flow(&self) -> Option<String> {
        let range = self.tokens.iter().find_map(|token| match &token.piece {
            Piece::Range(_, _, unit) if is(unit) == Is::Rate => shown(&token.piece),
            _ => None,
        })?;
        let step = self.first(Is::Rate);
        let step = step.map_or_else(String::new, |step| format!(" in steps of {step}"));
        Some(format!("flow {range}{step}"))
    }

    pub(super) fn drops(&self) -> Option<String> {
        self.tokens.iter().find_map(|token| match &token.piece {
            Piece::Quantity(number, unit)
                if unit.is_empty() || unit == "drops/mL" || unit == "drops" =>
            {
                Some(format!("drops {number} per mL"))
            }
            _ => None,
        })
    }
}
