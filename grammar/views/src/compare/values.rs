//! What follows from an order before and after, value by value, over all
//! patients that both states cover.

use std::borrow::Cow;

use gutta_checks::telling::bound_of_patients;
use gutta_notation::ast::ExpectMeasure;
use gutta_protocol::derive::{Incomplete, Patient, Values, Variable, View, derive};
use gutta_protocol::measures::{Measures, Question, Value, ValueOf};
use gutta_protocol::model::order::Order;
use gutta_protocol::model::size::Extent;
use gutta_quantity::{Exact, Quantity, units};

use super::items::{Item, Olds, items};
use super::looked::Looked;
use super::phases::State;
use super::side::Judged;
use super::stepped::StepsCompared;
use super::stretch::{self, Compared};
use super::telling::{Telling, tell_apart};
use super::{Change, Effect, Greatest, Row, Turn, ValueText};

/// What changed of all that follows from an order. The second part says why
/// they could not be set side by side.
pub(super) fn differences(
    before: &Judged,
    after: &Judged,
    telling: Telling<'_>,
) -> Result<Vec<Change>, String> {
    let (mut old, mut new) = (before.order.clone(), after.order.clone());
    // Both over the patients that both cover; an order that does not go by
    // weight is the same for every weight.
    let shared =
        share(&mut old.weight, &mut new.weight) && share(&mut old.surface, &mut new.surface);
    if !shared {
        return Err("they have no patient in common".to_owned());
    }
    let (Ok(of_old), Ok(of_new)) = (over(&old, before), over(&new, after)) else {
        return Err("one of them cannot be calculated for the patients that both cover".to_owned());
    };
    let all = of_views((&old, &of_old), (&new, &of_new), telling);
    all.ok_or_else(|| "one is by weight and the other by body surface area".to_owned())
}

/// What follows over the patients that both states cover: known already where
/// these are all that the order covers.
fn over<'a>(order: &Order, judged: &'a Judged) -> Result<Cow<'a, Values>, Incomplete> {
    let whole = (&judged.order.weight, &judged.order.surface);
    if (&order.weight, &order.surface) == whole {
        return judged
            .values()
            .as_ref()
            .map(Cow::Borrowed)
            .map_err(Clone::clone);
    }
    derive(order, &Patient::default()).map(Cow::Owned)
}

/// Cuts both ranges to what they share; `false` where that is nothing.
fn share(before: &mut Option<Extent>, after: &mut Option<Extent>) -> bool {
    match (&mut *before, &mut *after) {
        (Some(old), Some(new)) => {
            let low = old.low.clone().max(new.low.clone());
            let high = old.high.clone().min(new.high.clone());
            let some = match (&low, &high) {
                (Some(low), Some(high)) => low <= high,
                _ => true,
            };
            for extent in [old, new] {
                (extent.low, extent.high) = (low.clone(), high.clone());
            }
            some
        }
        (None, Some(extent)) => {
            *before = Some(extent.clone());
            true
        }
        (Some(extent), None) => {
            *after = Some(extent.clone());
            true
        }
        (None, None) => true,
    }
}

fn of_views(
    (before, old): (&Order, &Values),
    (after, new): (&Order, &Values),
    telling: Telling<'_>,
) -> Option<Vec<Change>> {
    if old.views.len() != new.views.len() {
        return None;
    }
    let mut all: Vec<Vec<Change>> = Vec::new();
    for (old, new) in old.views.iter().zip(&new.views) {
        if old.patients.variable != new.patients.variable {
            return None;
        }
        let items = |order, view, state| items(Measures { order, view }, telling, state);
        let olds = items(before, old, State::Before);
        let news = items(after, new, State::After);
        all.push(of_items(olds, news, (before, old), new, telling));
    }
    Some(joined(all))
}

/// The changes of all views: where the other of weight and surface does not
/// matter, once and without it.
fn joined(all: Vec<Vec<Change>>) -> Vec<Change> {
    let mut views = all.into_iter();
    let mut changes = views.next().unwrap_or_default();
    for other in views {
        for change in other {
            let like = |known: &&mut Change| {
                known.what == change.what
                    && known.phase == change.phase
                    && known.turn == change.turn
            };
            match changes.iter_mut().find(like) {
                Some(known) => {
                    let new = change
                        .rows
                        .into_iter()
                        .filter(|row| !known.rows.contains(row));
                    let new: Vec<_> = new.collect();
                    known.rows.extend(new);
                    known.marked |= change.marked;
                    known.greatest = further(known.greatest.take(), change.greatest);
                }
                None => changes.push(change),
            }
        }
    }
    changes
}

fn further(one: Option<Greatest>, other: Option<Greatest>) -> Option<Greatest> {
    let (Some(one), Some(other)) = (one, other) else {
        return None;
    };
    let size = |greatest: &Greatest| super::telling::size_of(&greatest.ratio);
    let (first, second) = (size(&one), size(&other));
    let certain = one.certain && other.certain;
    let same = one.ratio == other.ratio;
    let mut kept = if first.is_none() || (second.is_some() && first >= second) {
        one
    } else {
        Greatest { ..other }
    };
    if !same && kept.at.is_none() {
        kept.at = Some("one end of the other range".to_owned());
    }
    Some(Greatest { certain, ..kept })
}

fn of_items(
    olds: Vec<Item>,
    news: Vec<Item>,
    old: (&Order, &View),
    view: &View,
    telling: Telling<'_>,
) -> Vec<Change> {
    let mut changes = Vec::new();
    let mut looked = Looked::default();
    let mut olds = Olds::of(olds);
    for new in news {
        let alike = olds.take(&new, |old| old.dimension() == new.dimension());
        match alike.or_else(|| recounted(&mut olds, &new, old)) {
            Some(like) => changes.extend(side_by_side(&like, &new, view, telling, &mut looked)),
            None => changes.push(alone(&new, Turn::Added, view, telling)),
        }
    }
    let gone = olds.left();
    changes.extend(gone.map(|item| alone(&item, Turn::Removed, old.1, telling)));
    changes
}

/// The dose before, counted as it is now: per kg, say.
fn recounted(olds: &mut Olds, new: &Item, (order, view): (&Order, &View)) -> Option<Item> {
    if new.value.measure != ExpectMeasure::Dose {
        return None;
    }
    let asked = Question {
        measure: &ExpectMeasure::Dose,
        per_day: false,
        dose: None,
        unit: Some(new.value.unit),
    };
    let answers = Measures { order, view }.answer(&asked);
    let like = |old: &Item| {
        let mut answers = answers.iter();
        answers.find(|value| value.phase == old.value.phase && value.run == new.value.run)
    };
    let old = olds.take(new, |old| like(old).is_some())?;
    let value = like(&old)?.clone();
    Some(Item { value, ..old })
}

fn side_by_side(
    old: &Item,
    new: &Item,
    view: &View,
    telling: Telling<'_>,
    looked: &mut Looked,
) -> Option<Change> {
    let span = (view.patients.interval.lo(), view.patients.interval.hi());
    let compared = match (&old.value.value, &new.value.value) {
        (ValueOf::Exact(before), ValueOf::Exact(after)) => stretch::exact(before, after)?,
        _ => match looked.compare(&old.value, &new.value, span) {
            StepsCompared::Same => return None,
            StepsCompared::Apart(compared) => compared,
            StepsCompared::Unsure => return Some(unsure(new, telling)),
        },
    };
    Some(told(old, new, &compared, view, telling))
}

fn told(old: &Item, new: &Item, compared: &Compared, view: &View, telling: Telling<'_>) -> Change {
    let same_for_all = old.value.is_constant() && new.value.is_constant();
    let mut rows = Vec::new();
    for x in &compared.places {
        let (before, after) = (old.value.at(x), new.value.at(x));
        if before.is_none() && after.is_none() {
            continue;
        }
        let ratio = match (&before, &after) {
            (Some(before), Some(after)) => after.checked_div(before),
            _ => None,
        };
        // Both in the unit that stands there now.
        let told = |base: Option<Exact>| number(base, &new.value, telling);
        let (mut before, mut after) = (told(before), told(after));
        if let (Some(before), Some(after)) = (&mut before, &mut after) {
            tell_apart(before, after, telling.style);
        }
        rows.push(Row {
            at: patient(view, x, telling).filter(|_| !same_for_all),
            before,
            after,
            ratio,
        });
        if same_for_all {
            break;
        }
    }
    let greatest = compared.greatest.as_ref().map(|peak| Greatest {
        ratio: peak.ratio.clone(),
        at: peak.at.as_ref().and_then(|x| patient(view, x, telling)),
        certain: peak.certain,
    });
    // Steps on which nobody differs from another.
    let is_one = |row: &Row| (&row.before, &row.after) == (&rows[0].before, &rows[0].after);
    if compared
        .greatest
        .as_ref()
        .is_some_and(|peak| peak.at.is_none())
        && rows.iter().all(is_one)
    {
        rows.truncate(1);
        rows.iter_mut().for_each(|row| row.at = None);
    }
    let beyond = greatest
        .as_ref()
        .is_none_or(|greatest| telling.is_beyond(&greatest.ratio));
    Change {
        marked: beyond || compared.part,
        greatest,
        rows,
        ..bare(new, Turn::Changed, telling)
    }
}

fn alone(item: &Item, turn: Turn, view: &View, telling: Telling<'_>) -> Change {
    let mut places = item.value.turns(view);
    if item.value.is_constant() {
        places.truncate(1);
    } else if places.len() > 2 {
        places.drain(1..places.len() - 1);
    }
    let rows = places.iter().map(|x| {
        let told = number(item.value.at(x), &item.value, telling);
        let (before, after) = match turn {
            Turn::Removed => (told, None),
            _ => (None, told),
        };
        Row {
            at: patient(view, x, telling).filter(|_| !item.value.is_constant()),
            before,
            after,
            ratio: None,
        }
    });
    Change {
        rows: rows.collect(),
        ..bare(item, turn, telling)
    }
}

fn unsure(item: &Item, telling: Telling<'_>) -> Change {
    let words = "not compared everywhere: the same wherever it was compared";
    Change {
        rows: vec![Row {
            at: None,
            before: None,
            after: Some(ValueText {
                text: words.to_owned(),
                number: None,
            }),
            ratio: None,
        }],
        ..bare(item, Turn::Changed, telling)
    }
}

fn bare(item: &Item, turn: Turn, telling: Telling<'_>) -> Change {
    Change {
        what: item.name.clone(),
        phase: telling.phase(item.pair),
        turn,
        effect: Effect::Neither,
        derived: !item.written,
        rows: Vec::new(),
        greatest: None,
        marked: false,
    }
}

fn number(base: Option<Exact>, value: &Value, telling: Telling<'_>) -> Option<ValueText> {
    let base = base?;
    Some(ValueText {
        text: value.told(&base, telling.style).to_string(),
        number: Some((Quantity::from_base(base, value.unit).value, value.unit)),
    })
}

/// For whom: `70 kg`, `70 kg, 1.8 m2`.
fn patient(view: &View, x: &Exact, telling: Telling<'_>) -> Option<String> {
    let told = |base: &Exact, unit| bound_of_patients(base, unit, telling.style).to_string();
    let patients = &view.patients;
    if patients.variable == Variable::Nothing {
        return None;
    }
    let parts = [
        patients
            .weight
            .as_ref()
            .and_then(|curve| Some(told(&curve.at(x)?, units::KG))),
        patients
            .surface
            .as_ref()
            .and_then(|curve| Some(told(&curve.at(x)?, units::M2))),
    ];
    Some(parts.into_iter().flatten().collect::<Vec<_>>().join(", "))
}
