//! What can follow a line's keyword, as the grammar has it.

use gutta_checks::rules;
use gutta_notation::ast::{LimitMeasure, Route};
use gutta_notation::lines::LineKind;
use gutta_notation::words::EXPECT_MEASURES;
use gutta_notation::{DigitGroups, Next, StanzaKind, next};
use gutta_protocol::Space;
use gutta_protocol::model::ingredient::Ingredient;
use jiff::{Span as Time, ToSpan};

use super::cursor::Cursor;
use super::{About, Item, Kind, names, units};

/// What could stand behind `before` in a line of this kind.
pub(super) fn values(cursor: &Cursor<'_>, kind: LineKind, before: &str) -> Vec<Item> {
    if cursor
        .begun()
        .starts_with(|found: char| found.is_ascii_digit())
    {
        return Vec::new();
    }
    let groups = cursor.site.workspace.house.style.digit_groups;
    if let Some((start, number)) = number_before(before, groups) {
        let units = units::units(cursor, kind, before.get(..start).unwrap_or(""), number);
        // A plain number has none; words follow it (`20 per mL`).
        if !units.is_empty() {
            return units;
        }
    }
    let mut items = Vec::new();
    for next in next(kind, before) {
        match next {
            Next::Word(word) if is_not_of_substance(cursor, before, word) => {}
            Next::Word(word) => items.push(Item::new(Kind::Word, word)),
            Next::Name => items.extend(names::names(cursor, kind, before)),
            Next::Route => items.extend(routes(cursor, kind)),
            Next::Measure => {
                let measures: &[LimitMeasure] = match is_ingredient(cursor) {
                    true => &Ingredient::MEASURES,
                    false => &LimitMeasure::ALL,
                };
                items.extend(
                    measures
                        .iter()
                        .map(|of| Item::new(Kind::Choice, of.phrase())),
                );
            }
            Next::ExpectMeasure => items.extend(expect_measures(cursor, before)),
            Next::RuleName => items.extend(rule_names(cursor, kind)),
            Next::Unit => items.extend(units::units(cursor, kind, before, "")),
            Next::Date => items.extend(dates(cursor, kind)),
            Next::Amount
            | Next::Volume
            | Next::Rate
            | Next::Dose
            | Next::Strength
            | Next::Step
            | Next::Time
            | Next::Value
            | Next::Count
            | Next::Text
            | Next::Comma
            | Next::Colon => {}
        }
    }
    items
}

fn is_ingredient(cursor: &Cursor<'_>) -> bool {
    cursor.kind == StanzaKind::Ingredient
}

/// Whether the word begins a limit to which a substance is not held.
fn is_not_of_substance(cursor: &Cursor<'_>, before: &str, word: &str) -> bool {
    let begins = before.trim().is_empty() && matches!(word, "by" | "in" | "undiluted");
    is_ingredient(cursor) && (begins || word == "below" && !before.contains(" for "))
}

/// The number that stands right before the word, and where: all its groups.
fn number_before(before: &str, groups: DigitGroups) -> Option<(usize, &str)> {
    let trimmed = before.trim_end_matches([' ', '\t']);
    if trimmed.len() == before.len() {
        return None;
    }
    let mut start = last_word(trimmed);
    let number = trimmed.get(start..)?;
    let digits = |found: char| found.is_ascii_digit() || matches!(found, '.' | ',');
    let is_number = number.starts_with(|found: char| found.is_ascii_digit())
        && !number.ends_with(',')
        && number.chars().all(digits);
    if !is_number {
        return None;
    }
    if groups == DigitGroups::Space {
        while let Some(above) = group_above(trimmed, start) {
            start = above;
        }
    }
    Some((start, trimmed.get(start..)?))
}

/// Where the group begins that stands before one of three digits.
fn group_above(text: &str, start: usize) -> Option<usize> {
    let digits = |word: &str| word.bytes().all(|byte| byte.is_ascii_digit());
    let own = text.get(start..)?.split(['.', ' ']).next()?;
    let above = text.get(..start)?.strip_suffix(' ')?;
    let begins = last_word(above);
    let next = above.get(begins..)?;
    let is_group = own.len() == 3 && digits(own) && (1..=3).contains(&next.len()) && digits(next);
    is_group.then_some(begins)
}

/// Where the last word begins.
fn last_word(text: &str) -> usize {
    text.rfind([' ', '\t', ':']).map_or(0, |at| at + 1)
}

/// Routes; where the drug allows some alone, those.
fn routes(cursor: &Cursor<'_>, kind: LineKind) -> Vec<Item> {
    let only = (kind == LineKind::Route)
        .then(|| super::drug_of(cursor)?.1.only_by.as_ref())
        .flatten();
    let routes = only.map_or(Route::ALL.as_slice(), |(routes, _)| routes);
    let routes = routes.iter();
    routes
        .map(|route| Item::new(Kind::Choice, route.phrase()))
        .collect()
}

fn expect_measures(cursor: &Cursor<'_>, before: &str) -> Vec<Item> {
    if !before.trim().is_empty() {
        return Vec::new();
    }
    let known = EXPECT_MEASURES.iter();
    let mut items: Vec<_> = known
        .map(|(name, _)| Item::new(Kind::Choice, *name))
        .collect();
    items.extend(names::in_sight(cursor, Space::Substance));
    items
}

/// Rules: after `waive` those that can be waived, those found here first;
/// after `expect finding` likewise all.
fn rule_names(cursor: &Cursor<'_>, kind: LineKind) -> Vec<Item> {
    let site = cursor.site;
    let found: Vec<_> = cursor
        .stanza
        .map(|id| site.checked.findings_of(site.workspace, id))
        .unwrap_or_default();
    let here = |name: &str| found.iter().any(|finding| finding.rule.name == name);
    let fits = |rule: &&gutta_checks::Rule| kind != LineKind::Waive || !rule.locked;
    let (mut first, then): (Vec<_>, Vec<_>) = rules()
        .iter()
        .copied()
        .filter(|rule| fits(rule))
        .partition(|rule| here(rule.name));
    first.extend(then);
    let style = site.workspace.house.style;
    let item = |rule: &gutta_checks::Rule| {
        Item::new(Kind::Rule, rule.name)
            .detail(rule.summary(style))
            .about(About::Rule(rule.name.into()))
    };
    first.into_iter().map(item).collect()
}

/// Days from today on: a review in years, the end of a waiver in months.
fn dates(cursor: &Cursor<'_>, kind: LineKind) -> Vec<Item> {
    let Some(today) = cursor.site.checked.options().today else {
        return Vec::new();
    };
    let parts = (
        i16::try_from(today.year),
        i8::try_from(today.month),
        i8::try_from(today.day),
    );
    let (Ok(year), Ok(month), Ok(day)) = parts else {
        return Vec::new();
    };
    let Ok(today) = jiff::civil::Date::new(year, month, day) else {
        return Vec::new();
    };
    let ahead: [(&str, Time); 3] = if kind == LineKind::ReviewBy {
        [
            ("in a year", 1.year()),
            ("in two years", 2.years()),
            ("in three years", 3.years()),
        ]
    } else {
        [
            ("in a month", 1.month()),
            ("in three months", 3.months()),
            ("in a year", 1.year()),
        ]
    };
    let dates = ahead.into_iter().filter_map(|(told, time)| {
        let date = today.checked_add(time).ok()?;
        Some(Item::new(Kind::Date, date.to_string()).detail(told))
    });
    dates.collect()
}
