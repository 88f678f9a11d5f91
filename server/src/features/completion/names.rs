//! Names of the kind that a place asks for.

use gutta_notation::ast::Conditions;
use gutta_notation::lines::LineKind;
use gutta_notation::words::STANZAS;
use gutta_notation::{Fact, StanzaKind, hidden};
use gutta_protocol::names::relative_path;
use gutta_protocol::{Space, StanzaId};
use smol_str::SmolStr;

use super::cursor::Cursor;
use super::{About, Item, Kind, drug_of};

/// The names that fit a place of a line.
pub(super) fn names(cursor: &Cursor<'_>, kind: LineKind, before: &str) -> Vec<Item> {
    use LineKind as L;
    let of = |kind| in_sight(cursor, Space::Stanza(kind));
    match kind {
        L::Drug => of(StanzaKind::Drug),
        L::Area => of(StanzaKind::Area),
        L::Pump => of(StanzaKind::Pump),
        L::GivingSet => of(StanzaKind::GivingSet),
        L::Purpose => purposes(cursor),
        L::With => without(of(StanzaKind::Solution), before),
        L::NotWith => {
            let mut all = of(StanzaKind::Solution);
            all.extend(of(StanzaKind::Drug));
            all.extend(classes(cursor));
            without(all, before)
        }
        L::Class => without(classes(cursor), before),
        L::Mix | L::Premixed => diluents(cursor),
        L::Hang | L::Flush | L::Then => of(StanzaKind::Solution),
        L::Include => without(of(StanzaKind::Order), before),
        L::LineMembers if before.contains(':') => without(members(cursor), before),
        L::Usual | L::Never => match last_of(before, &["in", "as"]) {
            Some("as") => purposes(cursor),
            Some(_) => of(StanzaKind::Area),
            None => Vec::new(),
        },
        L::Expect => phases(cursor),
        L::Contains | L::Load => in_sight(cursor, Space::Substance),
        _ => Vec::new(),
    }
}

/// Every name of the space in the file's sight: the file's own first.
pub(super) fn in_sight(cursor: &Cursor<'_>, space: Space) -> Vec<Item> {
    let workspace = cursor.site.workspace;
    let mut items: Vec<Item> = Vec::new();
    for (name, id) in workspace.each_in_sight(cursor.site.file, space) {
        let own = Some(id) == cursor.stanza && space != Space::Substance;
        if !own && !items.iter().any(|item| item.label == name.as_str()) {
            items.push(item(cursor, name, space, id));
        }
    }
    items
}

/// The substances of the workspace that no `ingredient` limits.
pub(super) fn unlimited(cursor: &Cursor<'_>) -> Vec<Item> {
    let workspace = cursor.site.workspace;
    let mut items = in_sight(cursor, Space::Substance);
    items.retain(|item| workspace.ingredients(&item.label).is_empty());
    items
}

fn item(cursor: &Cursor<'_>, name: &SmolStr, space: Space, id: StanzaId) -> Item {
    let item = Item::new(Kind::Name, name.as_str());
    let Space::Stanza(kind) = space else {
        return item;
    };
    let stanza = cursor.site.workspace.stanza(id);
    let word = STANZAS.iter().find(|stanza| stanza.kind == kind);
    let word = word.map_or("", |stanza| stanza.word);
    let item = item.about(About::Named(word.into(), name.to_string()));
    match &stanza.title {
        Some(title) => item.detail(title.value.as_str()),
        None => item,
    }
}

/// Solutions: those that the drug may go with first, those that it must not
/// meet left out.
fn diluents(cursor: &Cursor<'_>) -> Vec<Item> {
    let mut all = in_sight(cursor, Space::Stanza(StanzaKind::Solution));
    if let Some((_, drug)) = drug_of(cursor) {
        all.retain(|item| !drug.not_with.iter().any(|name| *name == item.label));
        if let Some((with, _)) = &drug.with {
            let place = |item: &Item| with.iter().position(|name| *name == item.label);
            all.sort_by_key(|item| place(item).unwrap_or(with.len()));
        }
    }
    all
}

/// What the list does not hold yet.
fn without(mut items: Vec<Item>, before: &str) -> Vec<Item> {
    let held: Vec<_> = before.split([',', ':']).map(str::trim).collect();
    items.retain(|item| !held.contains(&item.label.as_str()));
    items
}

/// The orders that the set includes.
fn members(cursor: &Cursor<'_>) -> Vec<Item> {
    let included: Vec<_> = facts(cursor)
        .filter_map(|fact| match fact {
            Fact::Include(names) => Some(names),
            _ => None,
        })
        .flatten()
        .collect();
    let mut all = in_sight(cursor, Space::Stanza(StanzaKind::Order));
    all.retain(|item| included.iter().any(|name| name.value == item.label));
    all
}

fn phases(cursor: &Cursor<'_>) -> Vec<Item> {
    facts(cursor)
        .filter_map(|fact| match fact {
            Fact::Phase { name, .. } => Some(Item::new(Kind::Name, name.value.as_str())),
            _ => None,
        })
        .collect()
}

fn facts<'a>(cursor: &Cursor<'a>) -> impl Iterator<Item = &'a Fact> + use<'a> {
    let workspace = cursor.site.workspace;
    let lines = cursor.stanza.map(|id| workspace.stanza(id).lines.iter());
    lines.into_iter().flatten().map(|line| &line.fact)
}

/// `loading`, and the purposes that the drug's limits ask for.
/// The classes that drugs in sight belong to.
fn classes(cursor: &Cursor<'_>) -> Vec<Item> {
    let workspace = cursor.site.workspace;
    let drugs = workspace.each_in_sight(cursor.site.file, Space::Stanza(StanzaKind::Drug));
    let mut items: Vec<Item> = Vec::new();
    for (_, id) in drugs {
        let lines = workspace.stanza(id).lines.iter();
        let classes = lines.filter_map(|line| match &line.fact {
            Fact::Class(names) => Some(names),
            _ => None,
        });
        for name in classes.flatten() {
            if !items.iter().any(|item| item.label == name.value.as_str()) {
                items.push(Item::new(Kind::Name, name.value.as_str()));
            }
        }
    }
    items
}

fn purposes(cursor: &Cursor<'_>) -> Vec<Item> {
    let mut names: Vec<SmolStr> = vec!["loading".into()];
    let mut add = |conditions: &Conditions| {
        for purpose in &conditions.purposes {
            if !names.contains(&purpose.value) {
                names.push(purpose.value.clone());
            }
        }
    };
    if let Some((id, _)) = drug_of(cursor) {
        for line in &cursor.site.workspace.stanza(id).lines {
            match &line.fact {
                Fact::Usual(usual) => add(&usual.conditions),
                Fact::Never(never) => {
                    add(&never.conditions);
                    let except = never.except.iter().flat_map(|except| &except.value);
                    except.for_each(&mut add);
                }
                _ => {}
            }
        }
    }
    let names = names.into_iter();
    names
        .map(|name| Item::new(Kind::Name, name.as_str()))
        .collect()
}

/// The last of the words that stands in the text.
pub(super) fn last_of<'w>(text: &str, words: &[&'w str]) -> Option<&'w str> {
    let mut found = text.split([' ', ',', '\t']).rev();
    found.find_map(|word| words.iter().find(|known| **known == word).copied())
}

/// The other files, as a `use` of this one writes them.
pub(super) fn files(cursor: &Cursor<'_>) -> Vec<Item> {
    let workspace = cursor.site.workspace;
    let own = &cursor.site.source().path;
    let used: Vec<_> = workspace.sees(cursor.site.file).to_vec();
    let others = workspace.file_ids().filter(|file| !used.contains(file));
    // What a `use` cannot name to the letter, or would hide, is not offered.
    let plain = |path: &String| !path.contains(['"', '\n', '\r']) && hidden(path).next().is_none();
    others
        .map(|file| relative_path(own, &workspace.file(file).path))
        .filter(plain)
        .map(|path| {
            let quoted = cursor.head.contains('"');
            let text = if quoted {
                path.clone()
            } else {
                format!("\"{path}\"")
            };
            Item {
                text,
                ..Item::new(Kind::Name, path)
            }
        })
        .collect()
}
