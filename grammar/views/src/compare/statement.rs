//! What a stanza states, in one form, and how two such lists differ.

use std::cmp::Ordering;
use std::collections::BTreeSet;

use gutta_notation::ast::Date;
use gutta_protocol::model::size::Size;
use gutta_quantity::{Dimension, Exact, Style, Unit, units};

use super::telling::{Telling, number, tell_apart};
use super::{Change, Effect, Greatest, Row, Turn, ValueText};

/// One thing that a stanza states.
#[derive(Clone, Debug)]
pub(super) struct Statement {
    /// What it is about; two of one stanza may be alike.
    pub(super) what: String,
    /// The pair of phases it belongs to.
    pub(super) phase: Option<usize>,
    /// What is said.
    pub(super) said: StatementValue,
    /// What a change of it means.
    pub(super) bearing: Bearing,
}

/// What is said.
#[derive(Clone, Debug)]
pub(super) enum StatementValue {
    /// All of it is in what it is about.
    So,
    /// Words or a name.
    Words(String),
    /// Names of which the order does not matter.
    Set(BTreeSet<String>),
    /// A day.
    Day(Date),
    /// A number in base units, and the unit it was written in.
    Number(Exact, Unit),
    /// A body weight in kg.
    Weight(Exact),
    /// Several numbers.
    Numbers(Vec<(Exact, Unit)>),
}

/// What a change of a statement means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Bearing {
    /// Which way it loosens.
    more: More,
    /// What its being there does.
    there: Presence,
}

/// What more of it does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum More {
    Loosens,
    Tightens,
    Neither,
}

/// What a statement's being there does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Presence {
    /// It holds something back.
    Guards,
    /// It allows something.
    Allows,
    /// It is done to the patient.
    Acts,
    /// It pins a value: without it less is tested.
    Pins,
    /// It tells people something.
    Tells,
}

impl Bearing {
    const fn new(more: More, there: Presence) -> Self {
        Self { more, there }
    }

    /// What is given, and how.
    pub(super) const ACTS: Self = Self::new(More::Neither, Presence::Acts);
    /// Words for people.
    pub(super) const TELLS: Self = Self::new(More::Neither, Presence::Tells);
    /// A worked example.
    pub(super) const PINS: Self = Self::new(More::Neither, Presence::Pins);
    /// Something that holds back, without a number.
    pub(super) const GUARDS: Self = Self::new(More::Neither, Presence::Guards);
    /// A bound from above.
    pub(super) const MOST: Self = Self::new(More::Loosens, Presence::Guards);
    /// A bound from below, or a list of what is forbidden.
    pub(super) const LEAST: Self = Self::new(More::Tightens, Presence::Guards);
    /// A permission without a number.
    pub(super) const ALLOWS: Self = Self::new(More::Neither, Presence::Allows);
    /// A permission up to a number.
    pub(super) const ALLOWS_UP_TO: Self = Self::new(More::Loosens, Presence::Allows);
    /// A permission down to a number.
    pub(super) const ALLOWS_DOWN_TO: Self = Self::new(More::Tightens, Presence::Allows);

    fn effect(self, turn: Turn, grown: Option<Ordering>) -> Effect {
        use Effect::{Narrowed, Neither, Widened};
        match (turn, self.there, self.more, grown) {
            (Turn::Added, Presence::Guards, ..) | (Turn::Removed, Presence::Allows, ..) => Narrowed,
            (Turn::Removed, Presence::Guards, ..) | (Turn::Added, Presence::Allows, ..) => Widened,
            (Turn::Changed, _, More::Loosens, Some(Ordering::Greater))
            | (Turn::Changed, _, More::Tightens, Some(Ordering::Less)) => Widened,
            (Turn::Changed, _, More::Loosens, Some(Ordering::Less))
            | (Turn::Changed, _, More::Tightens, Some(Ordering::Greater)) => Narrowed,
            _ => Neither,
        }
    }

    /// Whether a change that has no ratio is grave.
    fn is_grave(self, turn: Turn, effect: Effect) -> bool {
        match self.there {
            Presence::Tells => false,
            Presence::Acts => true,
            Presence::Pins => turn != Turn::Added,
            Presence::Guards | Presence::Allows => effect != Effect::Narrowed,
        }
    }
}

impl Statement {
    /// A statement of the whole stanza.
    pub(super) fn new(what: impl Into<String>, said: StatementValue, bearing: Bearing) -> Self {
        Self {
            what: what.into(),
            phase: None,
            said,
            bearing,
        }
    }

    /// A size, in the form written.
    pub(super) fn size(what: impl Into<String>, size: &Size, bearing: Bearing) -> Self {
        let number = StatementValue::Number(size.value.clone(), size.unit);
        Self::new(what, number, bearing)
    }

    /// A time in base units.
    pub(super) fn time(what: impl Into<String>, minutes: &Exact, bearing: Bearing) -> Self {
        Self::new(
            what,
            StatementValue::Number(minutes.clone(), units::H),
            bearing,
        )
    }

    /// Words or a name.
    pub(super) fn words(
        what: impl Into<String>,
        words: impl Into<String>,
        bearing: Bearing,
    ) -> Self {
        Self::new(what, StatementValue::Words(words.into()), bearing)
    }

    fn is_about(&self, other: &Self) -> bool {
        self.what == other.what && self.phase == other.phase
    }
}

/// A name or words that say what is done.
pub(super) fn name(what: &str, name: &str) -> Statement {
    Statement::words(what, name, Bearing::ACTS)
}

impl StatementValue {
    fn dimension(&self) -> Option<Dimension> {
        match self {
            Self::Number(_, unit) => Some(unit.dimension()),
            _ => None,
        }
    }

    fn is(&self, other: &Self) -> bool {
        let same = |(one, unit): &(Exact, Unit), (other, like): &(Exact, Unit)| {
            one == other && unit.commensurable(*like)
        };
        match (self, other) {
            (Self::So, Self::So) => true,
            (Self::Words(one), Self::Words(other)) => one == other,
            (Self::Set(one), Self::Set(other)) => one == other,
            (Self::Day(one), Self::Day(other)) => one == other,
            (Self::Number(one, unit), Self::Number(other, like)) => {
                one == other && unit.commensurable(*like)
            }
            (Self::Weight(one), Self::Weight(other)) => one == other,
            (Self::Numbers(one), Self::Numbers(other)) => {
                one.len() == other.len()
                    && one.iter().zip(other).all(|(one, other)| same(one, other))
            }
            _ => false,
        }
    }

    /// Whether the other is more than this one, where that can be told.
    fn grown(&self, other: &Self) -> Option<Ordering> {
        match (self, other) {
            (Self::Number(one, unit), Self::Number(other, like)) => {
                unit.commensurable(*like).then(|| other.cmp(one))
            }
            (Self::Weight(one), Self::Weight(other)) => Some(other.cmp(one)),
            (Self::Day(one), Self::Day(other)) => Some(other.cmp(one)),
            (Self::Set(one), Self::Set(other)) if one.is_subset(other) => Some(Ordering::Greater),
            (Self::Set(one), Self::Set(other)) if other.is_subset(one) => Some(Ordering::Less),
            _ => None,
        }
    }

    /// The other over this one.
    fn ratio(&self, other: &Self) -> Option<Exact> {
        match (self, other) {
            (Self::Number(one, unit), Self::Number(other, like)) if unit.commensurable(*like) => {
                other.checked_div(one)
            }
            (Self::Weight(one), Self::Weight(other)) => other.checked_div(one),
            _ => None,
        }
    }

    fn told(&self, style: Style) -> Option<ValueText> {
        let words = |text: String| ValueText { text, number: None };
        Some(match self {
            Self::So => return None,
            Self::Words(text) => words(text.clone()),
            Self::Set(names) => words(names.iter().cloned().collect::<Vec<_>>().join(", ")),
            Self::Day(day) => words(day.to_string()),
            Self::Number(base, unit) => number(base, *unit, style),
            Self::Weight(weight) => ValueText {
                text: gutta_checks::telling::bound_of_patients(weight, units::KG, style)
                    .to_string(),
                number: Some((weight.clone(), units::KG)),
            },
            Self::Numbers(all) => {
                let all = all
                    .iter()
                    .map(|(base, unit)| number(base, *unit, style).text);
                words(all.collect::<Vec<_>>().join(", "))
            }
        })
    }
}

/// What one list of statements says otherwise than another.
pub(super) fn differences(
    before: Vec<Statement>,
    after: Vec<Statement>,
    telling: Telling<'_>,
) -> Vec<Change> {
    let (mut gone, mut new) = (before, after);
    gone.retain(|old| {
        let same = |other: &Statement| old.is_about(other) && old.said.is(&other.said);
        match new.iter().position(same) {
            Some(index) => {
                new.remove(index);
                false
            }
            None => true,
        }
    });
    let mut changes = Vec::new();
    // Of one kind first, so that a ratio can be told.
    for alike in [true, false] {
        let mut left = Vec::new();
        for old in gone {
            let fits = |other: &Statement| {
                let kind = old.said.dimension() == other.said.dimension();
                old.is_about(other) && (kind || !alike)
            };
            match new.iter().position(fits) {
                Some(index) => changes.push(changed(&old, &new.remove(index), telling)),
                None => left.push(old),
            }
        }
        gone = left;
    }
    // What is gone goes with its day and its reason.
    let is_part = |old: &Statement| {
        gone.iter().any(|whole| {
            let rest = old.what.strip_prefix(whole.what.as_str());
            rest.is_some_and(|rest| matches!(rest, ", until" | ", because"))
        })
    };
    let whole = gone.iter().filter(|old| !is_part(old));
    changes.extend(whole.map(|old| single(old, Turn::Removed, telling)));
    changes.extend(new.iter().map(|new| single(new, Turn::Added, telling)));
    changes
}

fn changed(old: &Statement, new: &Statement, telling: Telling<'_>) -> Change {
    let turn = Turn::Changed;
    let bearing = new.bearing;
    let effect = bearing.effect(turn, old.said.grown(&new.said));
    let ratio = old.said.ratio(&new.said);
    let (mut before, mut after) = (old.said.told(telling.style), new.said.told(telling.style));
    if let (Some(before), Some(after)) = (&mut before, &mut after) {
        tell_apart(before, after, telling.style);
    }
    let marked = match &ratio {
        Some(ratio) => bearing.there != Presence::Tells && telling.is_beyond(ratio),
        None => bearing.is_grave(turn, effect),
    };
    Change {
        what: new.what.clone(),
        phase: telling.phase(new.phase),
        turn,
        effect,
        derived: false,
        greatest: ratio.clone().map(|ratio| Greatest {
            ratio,
            at: None,
            certain: true,
        }),
        rows: vec![Row {
            at: None,
            before,
            after,
            ratio,
        }],
        marked,
    }
}

fn single(statement: &Statement, turn: Turn, telling: Telling<'_>) -> Change {
    let effect = statement.bearing.effect(turn, None);
    let told = statement.said.told(telling.style);
    let (before, after) = match turn {
        Turn::Removed => (told, None),
        _ => (None, told),
    };
    Change {
        what: statement.what.clone(),
        phase: telling.phase(statement.phase),
        turn,
        effect,
        derived: false,
        rows: vec![Row {
            at: None,
            before,
            after,
            ratio: None,
        }],
        greatest: None,
        marked: statement.bearing.is_grave(turn, effect),
    }
}
