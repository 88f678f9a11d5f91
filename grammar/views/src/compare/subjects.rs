//! Which stanza was which before, and what became of each.

use gutta_notation::StanzaKind;
use gutta_protocol::{StanzaId, Workspace};
use gutta_quantity::{Exact, Style};
use rayon::prelude::*;
use rustc_hash::FxHashMap;
use smol_str::SmolStr;

use super::kept::kept;
use super::phases::{Pair, State, pairs};
use super::side::{Judged, Side};
use super::statement::differences;
use super::telling::Telling;
use super::uses::Uses;
use super::{Change, Comparison, Fate, Subject, house, in_force, lines, order};
use super::{sort, unread, values};

/// The kinds of stanza that mean something by themselves.
const KINDS: [StanzaKind; 8] = [
    StanzaKind::Order,
    StanzaKind::Set,
    StanzaKind::Drug,
    StanzaKind::Ingredient,
    StanzaKind::Area,
    StanzaKind::Pump,
    StanzaKind::GivingSet,
    StanzaKind::Solution,
];

/// Compares two states of a repository.
pub(super) fn compare(before: &Workspace, after: &Workspace) -> Comparison {
    let (before, after) = (Side::of(before), Side::of(after));
    let houses = (&before.workspace.house, &after.workspace.house);
    // A change cannot lift its own threshold.
    let threshold = houses.0.marked_change.clone();
    let threshold = threshold.min(houses.1.marked_change.clone());
    let work = Work {
        style: houses.1.style,
        threshold: &threshold,
        uses: (Uses::of(&before), Uses::of(&after)),
        before: &before,
        after: &after,
    };
    let mut subjects = Vec::new();
    let mut orders_same = 0;
    let mut not_compared = unread::told(&before, &after);
    for kind in KINDS {
        let (paired, mut gone, mut new) = matched(&before, &after, kind);
        let compared: Vec<_> = paired
            .into_par_iter()
            .map(|(old, new)| (old, new, work.pair(kind, old, new)))
            .collect();
        for (old, new, changes) in compared {
            if kind == StanzaKind::Order {
                orders_same += usize::from(changes.is_empty());
                not_compared.extend(work.underived(old, new));
            }
            if !changes.is_empty() {
                subjects.extend(work.subject(kind, Some(old), Some(new), Fate::Changed, changes));
            }
        }
        for (old, renamed) in work.renamed(kind, &mut gone, &mut new) {
            let from = before.name(old);
            let fate = Fate::Renamed { from };
            subjects.extend(work.subject(kind, Some(old), Some(renamed), fate, Vec::new()));
        }
        for id in gone {
            subjects.extend(work.subject(kind, Some(id), None, Fate::Removed, Vec::new()));
        }
        for id in new {
            let changes = work.newly(kind, id);
            subjects.extend(work.subject(kind, None, Some(id), Fate::Added, changes));
        }
    }
    subjects.extend(work.house());
    sort::subjects(&mut subjects);
    Comparison {
        subjects,
        orders_before: before.orders.len(),
        orders_after: after.orders.len(),
        orders_same,
        not_compared,
        specimens: unread::changed_specimens(before.workspace, after.workspace),
        threshold,
    }
}

/// An order of one state.
type One<'a> = (StanzaId, &'a Judged);

type Matched = (Vec<(StanzaId, StanzaId)>, Vec<StanzaId>, Vec<StanzaId>);

/// Stanzas of one name, in pairs: within one file first, since a name may be
/// borne twice where no file sees both. Then those gone and those new.
fn matched(before: &Side<'_>, after: &Side<'_>, kind: StanzaKind) -> Matched {
    let named = |side: &Side<'_>| {
        let mut all: FxHashMap<SmolStr, Vec<StanzaId>> = FxHashMap::default();
        for id in side.workspace.stanzas_of(kind) {
            if side.workspace.stanza(id).name.is_some() {
                all.entry(side.name(id)).or_default().push(id);
            }
        }
        all
    };
    let (mut olds, news) = (named(before), named(after));
    let (mut paired, mut gone, mut new) = (Vec::new(), Vec::new(), Vec::new());
    let path = |side: &Side<'_>, id: StanzaId| side.workspace.file(id.file).path.clone();
    for (name, ids) in news {
        let mut known = olds.remove(&name).unwrap_or_default();
        let mut left = Vec::new();
        for id in ids {
            let here = |old: &StanzaId| path(before, *old) == path(after, id);
            match known.iter().position(here) {
                Some(index) => paired.push((known.remove(index), id)),
                None => left.push(id),
            }
        }
        for id in left {
            if known.is_empty() {
                new.push(id);
            } else {
                paired.push((known.remove(0), id));
            }
        }
        gone.extend(known);
    }
    gone.extend(olds.into_values().flatten());
    paired.sort();
    gone.sort();
    new.sort();
    (paired, gone, new)
}

/// The more pairs there are to look at, the less a new name is worth it.
const MOST_RENAMED: usize = 10_000;

struct Work<'a> {
    before: &'a Side<'a>,
    after: &'a Side<'a>,
    uses: (Uses, Uses),
    /// Both states are told as the house writes now.
    style: Style,
    threshold: &'a Exact,
}

impl Work<'_> {
    /// What changed of one stanza, gravest first.
    fn pair(&self, kind: StanzaKind, old: StanzaId, new: StanzaId) -> Vec<Change> {
        let mut changes = if kind == StanzaKind::Order {
            self.orders(old, new)
        } else {
            let (old, new) = (
                self.before.statements(kind, old, self.style),
                self.after.statements(kind, new, self.style),
            );
            differences(old, new, self.telling(&[]))
        };
        sort::changes(&mut changes);
        changes
    }

    /// Whether two stanzas differ by name at most: first by what they state,
    /// which mostly decides it and takes next to nothing.
    fn is_same(&self, kind: StanzaKind, old: StanzaId, new: StanzaId) -> bool {
        if kind == StanzaKind::Order
            && let (Some(one), Some(other)) =
                (self.before.orders.get(&old), self.after.orders.get(&new))
        {
            let phases = pairs(&one.order, &other.order);
            let stated = self.stated((old, one), (new, other), self.telling(&phases));
            if !stated.is_empty() {
                return false;
            }
        }
        self.pair(kind, old, new).is_empty()
    }

    const fn telling<'a>(&'a self, phases: &'a [Pair]) -> Telling<'a> {
        Telling {
            style: self.style,
            threshold: self.threshold,
            phases,
        }
    }

    fn orders(&self, old: StanzaId, new: StanzaId) -> Vec<Change> {
        let (Some(one), Some(other)) = (self.before.orders.get(&old), self.after.orders.get(&new))
        else {
            return Vec::new();
        };
        if self.before.is_unchanged(old, self.after, new) {
            return Vec::new();
        }
        let phases = pairs(&one.order, &other.order);
        let telling = self.telling(&phases);
        let mut changes = self.followed((old, one), (new, other), telling);
        changes.extend(self.stated((old, one), (new, other), telling));
        changes.extend(in_force::differences(one, other, telling));
        changes
    }

    /// What follows from an order otherwise than before.
    fn followed(&self, old: One<'_>, new: One<'_>, telling: Telling<'_>) -> Vec<Change> {
        match (old.1.values(), new.1.values()) {
            (Ok(_), Ok(_)) => match values::differences(old.1, new.1, telling) {
                Ok(values) => values,
                Err(why) => vec![unread::apart(&why)],
            },
            (Err(_), Ok(_)) => vec![unread::derived_now(self.before, old.0)],
            (Ok(_), Err(_)) => vec![unread::derived_no_more(self.after, new.0)],
            (Err(_), Err(_)) => Vec::new(),
        }
    }

    /// What an order states otherwise than before.
    fn stated(&self, old: One<'_>, new: One<'_>, telling: Telling<'_>) -> Vec<Change> {
        let all = |side: &Side<'_>, (id, judged): One<'_>, state| {
            let mut all = order::statements(&judged.order, telling, state);
            all.extend(lines::of_stanza(side.workspace, id));
            all.extend(unread::problems(side.workspace, id, judged));
            all
        };
        differences(
            all(self.before, old, State::Before),
            all(self.after, new, State::After),
            telling,
        )
    }

    /// That nothing of an order's values was compared.
    fn underived(&self, old: StanzaId, new: StanzaId) -> Option<String> {
        let is_without = |side: &Side<'_>, id| {
            let judged = side.orders.get(&id);
            judged.is_none_or(|judged| judged.values().is_err())
        };
        // Of an order that is unchanged one state tells of both.
        let neither = is_without(self.after, new)
            && (self.before.is_unchanged(old, self.after, new) || is_without(self.before, old));
        neither.then(|| {
            let name = self.after.name(new);
            format!("the values of order {name}: they could not be calculated before or after")
        })
    }

    /// Pairs that differ by name alone, taken out of both lists.
    fn renamed(
        &self,
        kind: StanzaKind,
        gone: &mut Vec<StanzaId>,
        new: &mut Vec<StanzaId>,
    ) -> Vec<(StanzaId, StanzaId)> {
        let mut pairs = Vec::new();
        if gone.len() * new.len() > MOST_RENAMED {
            return pairs;
        }
        gone.retain(|old| {
            let same = |other: &StanzaId| self.is_same(kind, *old, *other);
            match new.iter().position(same) {
                Some(index) => {
                    pairs.push((*old, new.remove(index)));
                    false
                }
                None => true,
            }
        });
        pairs
    }

    /// What is to be said of a new stanza: that nothing can be derived from it.
    fn newly(&self, kind: StanzaKind, id: StanzaId) -> Vec<Change> {
        let judged = self.after.orders.get(&id);
        let incomplete = judged.is_some_and(|judged| judged.values().is_err());
        let wanted = kind == StanzaKind::Order && incomplete;
        wanted
            .then(|| unread::never_derived(self.after, id))
            .into_iter()
            .collect()
    }

    fn subject(
        &self,
        kind: StanzaKind,
        old: Option<StanzaId>,
        new: Option<StanzaId>,
        fate: Fate,
        changes: Vec<Change>,
    ) -> Option<Subject> {
        let (side, uses, id) = match (old, new) {
            (_, Some(new)) => (self.after, &self.uses.1, new),
            (Some(old), None) => (self.before, &self.uses.0, old),
            (None, None) => return None,
        };
        Some(Subject {
            kind: Some(kind),
            name: side.name(id),
            title: side.title(id),
            before: old.map(|old| self.before.site(old)),
            after: new.map(|new| self.after.site(new)),
            marked: fate != Fate::Changed || changes.iter().any(|change| change.marked),
            fate,
            kept: new.map_or_else(Vec::new, |new| self.kept(new, &changes)),
            changes,
            used_by: uses.of_stanza(id),
        })
    }

    /// What of the order in its new state is as it was, though other values
    /// are not.
    fn kept(&self, new: StanzaId, changes: &[Change]) -> Vec<&'static str> {
        let judged = self.after.orders.get(&new);
        judged.map_or_else(Vec::new, |judged| kept(judged, changes))
    }

    fn house(&self) -> Option<Subject> {
        let (old, new) = (&self.before.workspace.house, &self.after.workspace.house);
        let stated = (house::statements(old), house::statements(new));
        let mut changes = differences(stated.0, stated.1, self.telling(&[]));
        sort::changes(&mut changes);
        (!changes.is_empty()).then(|| Subject {
            kind: None,
            name: SmolStr::new_static("gutta.toml"),
            title: None,
            before: None,
            after: None,
            fate: Fate::Changed,
            marked: changes.iter().any(|change| change.marked),
            changes,
            kept: Vec::new(),
            used_by: Vec::new(),
        })
    }
}
