//! Giving a thing another name, wherever it is named.

use std::collections::BTreeMap;
use std::mem::discriminant;

use gutta_notation::lines::LINES;
use gutta_notation::{
    Fact, Line, MarkKind, Phrase, RISKY_NAMES, Span, StanzaKind, Why, read_stanza, words,
};
use gutta_protocol::{Place, Resolved, Space, StanzaId};
use smol_str::SmolStr;

use super::{Inner, Named, Target, named_at, occurrences};
use crate::features::phrases;
use crate::state::Site;

/// A set's own word, which is a substance without being declared.
const GLUCOSE: &str = "glucose";

/// A replacement.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Change {
    pub(crate) place: Place,
    pub(crate) text: String,
}

/// The name at the byte, if it can be changed; nothing where none stands.
///
/// # Errors
/// Why the name that stands there cannot be changed.
pub(crate) fn prepare(site: Site<'_>, offset: u32) -> Result<Option<Named>, String> {
    let Some(named) = named_at(site, offset) else {
        return Ok(None);
    };
    let name = &named.name;
    match &named.target {
        Target::File(_) => {
            Err("Rename the file itself: the `use` lines that name it follow.".to_owned())
        }
        Target::Stanzas(ids) => match ids.as_slice() {
            [] => Err(format!(
                "`{name}` is not defined in this file or in a file that it uses."
            )),
            [id] => {
                let mut own = site.workspace.own_names(*id);
                if own.any(|own| own.value == *name) {
                    return Ok(Some(named));
                }
                let full = RISKY_NAMES.iter().find(|(short, _)| short == name);
                let full = full.map_or("its full name", |(_, full)| full);
                Err(format!(
                    "`{name}` is a short form of `{full}`: write that, and rename it."
                ))
            }
            _ => Err(format!(
                "Several things are called `{name}`, so it is not clear which is meant: rename it where it is defined."
            )),
        },
        Target::Substance(name) if name == GLUCOSE => Err(format!(
            "`{GLUCOSE}` is a word of the notation, and keeps its name."
        )),
        Target::Substance(_) | Target::Inner(..) => Ok(Some(named)),
    }
}

/// What is to be replaced so that the thing at the byte is called `new`.
///
/// # Errors
/// Why it cannot be called so.
pub(crate) fn rename(site: Site<'_>, offset: u32, new: &str) -> Result<Vec<Change>, String> {
    let Some(named) = prepare(site, offset)? else {
        return Err("There is no name here.".to_owned());
    };
    if is_reserved(new) {
        return Err(format!(
            "`{new}` is a word of the notation and cannot be a name."
        ));
    }
    let new = valid(site, &named.target, new)?;
    if new == named.name {
        return Ok(Vec::new());
    }
    is_free(site, &named.target, &new)?;
    let mut changes = Vec::new();
    for found in occurrences(site, &named.target, None) {
        let follows = match &named.target {
            Target::Stanzas(ids) => follows(site, ids, &named, &found)?,
            _ => true,
        };
        if follows {
            changes.push(Change {
                place: found.place,
                text: new.to_string(),
            });
        }
    }
    stays_readable(site, &changes)?;
    Ok(changes)
}

/// Whether the word means something of its own in a line.
fn is_reserved(word: &str) -> bool {
    words::OWN.contains(&word)
        || words::AFTER_NAMES.contains(&word)
        || words::STANZAS.iter().any(|stanza| stanza.word == word)
}

/// Whether each stanza that changes is read as before.
///
/// # Errors
/// Which line would be read otherwise, or not at all.
fn stays_readable(site: Site<'_>, changes: &[Change]) -> Result<(), String> {
    let workspace = site.workspace;
    let style = workspace.house.style;
    let mut stanzas: BTreeMap<StanzaId, Vec<&Change>> = BTreeMap::new();
    for change in changes {
        let Place { file, span } = change.place;
        if let Some(id) = workspace.stanza_at(file, span.start) {
            stanzas.entry(id).or_default().push(change);
        }
    }
    for (id, mut own) in stanzas {
        let start = workspace.place(id, Span::new(0, 0)).span.start as usize;
        let mut text = workspace.stanza_text(id).to_owned();
        own.sort_by_key(|change| std::cmp::Reverse(change.place.span));
        for change in &own {
            let span = change.place.span;
            let within =
                (span.start as usize).checked_sub(start)..(span.end as usize).checked_sub(start);
            let (Some(from), Some(to)) = (within.start, within.end) else {
                continue;
            };
            if text.get(from..to).is_some() {
                text.replace_range(from..to, &change.text);
            }
        }
        let (old, new) = (workspace.stanza(id), read_stanza(&text, style));
        let same = |(old, new): (&Line, &Line)| {
            discriminant(&old.fact) == discriminant(&new.fact) && (new.whole || !old.whole)
        };
        let lines = old.lines.len() == new.lines.len();
        let read = lines && old.lines.iter().zip(&new.lines).all(same);
        if !read || new.marks.len() > old.marks.len() {
            let name = own.first().map_or("", |change| change.text.as_str());
            return Err(format!(
                "With the name `{name}`, a line of `{}` would not be read as it is now.",
                workspace.file(id.file).path
            ));
        }
    }
    Ok(())
}

/// Whether what stands at the place changes with the stanza's name: a mention
/// by another of its names does not, one that may be of another stanza cannot.
fn follows(
    site: Site<'_>,
    ids: &[StanzaId],
    named: &Named,
    found: &super::Occurrence,
) -> Result<bool, String> {
    let old = &named.name;
    if found.declares {
        return Ok(found.name == *old);
    }
    // A short form means the name in full, and would mean nothing.
    let short = RISKY_NAMES
        .iter()
        .any(|(short, full)| found.name == *short && old == full);
    if found.name != *old && !short {
        return Ok(false);
    }
    let workspace = site.workspace;
    let offset = found.place.span.start;
    let Some(id) = workspace.stanza_at(found.place.file, offset) else {
        return Ok(false);
    };
    let start = workspace
        .place(id, gutta_notation::Span::new(0, 0))
        .span
        .start;
    let mut references = workspace.references(id).iter();
    let Some(reference) = references.find(|held| held.span.start + start == offset) else {
        return Ok(false);
    };
    match workspace.resolve_reference(id.file, reference) {
        Resolved::One(_) | Resolved::None => Ok(true),
        Resolved::Many(meant) => {
            let kind = |id: &StanzaId| workspace.stanza(*id).kind;
            let own = ids.first().map(kind);
            match meant.iter().map(kind).find(|other| Some(*other) != own) {
                // `not with` means both, and must go on doing so.
                Some(other) => Err(format!(
                    "{} is called `{old}` too, and `{}` means both: rename that first.",
                    phrases::a_kind(other),
                    workspace.file(id.file).path,
                )),
                // It goes on meaning the other stanza of this name.
                None => Ok(false),
            }
        }
    }
}

/// The name as it is to be written.
///
/// # Errors
/// Why it is none.
fn valid(site: Site<'_>, target: &Target, new: &str) -> Result<SmolStr, String> {
    let text = match target {
        Target::Stanzas(ids) => {
            let kind = ids.first().map(|id| site.workspace.stanza(*id).kind);
            let mut stanzas = words::STANZAS.iter();
            let word = stanzas.find(|stanza| Some(stanza.kind) == kind);
            format!("{} {new}\n", word.map_or("area", |stanza| stanza.word))
        }
        Target::Substance(_) | Target::File(_) => {
            format!("solution a\n  contains {new} 1 mg/mL\n")
        }
        Target::Inner(_, Inner::Phase, _) => format!("order a\n  phase {new}\n"),
        Target::Inner(_, Inner::Line, _) => format!("set a\n  line {new}: b\n"),
    };
    let stanza = read_stanza(&text, site.workspace.house.style);
    let read = match (target, stanza.lines.first().map(|line| &line.fact)) {
        (Target::Stanzas(_), _) => stanza.name.as_ref(),
        (_, Some(Fact::Contains { substance, .. })) => Some(substance),
        (_, Some(Fact::Phase { name, .. })) => Some(name),
        (_, Some(Fact::LineMembers { line, .. })) => Some(&**line),
        _ => None,
    };
    let whole = read.filter(|name| name.span.text(&text) == new);
    match (whole, stanza.marks.first()) {
        (Some(name), None) => Ok(name.value.clone()),
        (_, mark) => Err(wrong(new, mark.map(|mark| &mark.kind))),
    }
}

fn wrong(new: &str, mark: Option<&MarkKind>) -> String {
    match mark {
        Some(MarkKind::Phrase(Phrase::Capital)) => {
            format!("`{new}` cannot be a name: names are written in small letters.")
        }
        Some(MarkKind::MixedScripts) => {
            format!("`{new}` cannot be a name: its letters are of more than one script.")
        }
        Some(MarkKind::RiskyName { full }) => {
            format!("`{new}` is an error-prone abbreviation; write `{full}`.")
        }
        Some(MarkKind::Unreadable(unreadable)) => match &unreadable.why {
            Some(Why::Other(why)) => format!("{why}."),
            _ => no_name(new),
        },
        _ => no_name(new),
    }
}

fn no_name(new: &str) -> String {
    format!(
        "`{new}` cannot be a name: a name is small letters and digits joined by hyphens, with at least one letter."
    )
}

/// # Errors
/// What bears the name already.
fn is_free(site: Site<'_>, target: &Target, new: &SmolStr) -> Result<(), String> {
    let workspace = site.workspace;
    let taken = |space, what: &str| match workspace.declared_anywhere(space, new).first() {
        Some(id) => Err(format!(
            "{what} is called `{new}` already, in `{}`.",
            workspace.file(id.file).path
        )),
        None => Ok(()),
    };
    match target {
        Target::Stanzas(ids) => {
            let Some(&id) = ids.first() else {
                return Ok(());
            };
            if workspace.own_names(id).any(|name| name.value == *new) {
                return Err(format!("`{new}` is a name of it already."));
            }
            let kind = workspace.stanza(id).kind;
            // What may be either a drug or a solution would mean both.
            let also = match kind {
                StanzaKind::Drug => Some(StanzaKind::Solution),
                StanzaKind::Solution => Some(StanzaKind::Drug),
                _ => None,
            };
            for kind in [Some(kind), also].into_iter().flatten() {
                taken(Space::Stanza(kind), &phrases::a_kind(kind))?;
            }
            Ok(())
        }
        Target::Substance(_) => {
            let measure = words::EXPECT_MEASURES.iter().any(|(word, _)| word == new);
            let own = LINES.iter().any(|line| {
                line.homes.has(StanzaKind::Set) && line.words.split(' ').next() == Some(new)
            });
            if measure || own || new == GLUCOSE {
                return Err(format!(
                    "`{new}` is a word of the notation, and cannot be a substance's name."
                ));
            }
            taken(Space::Substance, "A substance")?;
            let kind = StanzaKind::Ingredient;
            taken(Space::Stanza(kind), &phrases::a_kind(kind))
        }
        Target::Inner(id, inner, _) => {
            let held = Target::Inner(*id, *inner, new.clone());
            let what = match inner {
                Inner::Phase => "phase of this order",
                Inner::Line => "line of this set",
            };
            match occurrences(site, &held, None).is_empty() {
                true => Ok(()),
                false => Err(format!("A {what} is called `{new}` already.")),
            }
        }
        Target::File(_) => Ok(()),
    }
}

/// The house's default (`pump`, `area`, `giving-set` of `gutta.toml`) that
/// names the stanza at the byte, and so must change with it.
pub(crate) fn default_key(site: Site<'_>, offset: u32) -> Option<&'static str> {
    let named = named_at(site, offset)?;
    let Target::Stanzas(ids) = &named.target else {
        return None;
    };
    let kind = site.workspace.stanza(*ids.first()?).kind;
    let house = &site.workspace.house;
    let (key, held) = match kind {
        StanzaKind::Pump => ("pump", &house.pump),
        StanzaKind::Area => ("area", &house.area),
        StanzaKind::GivingSet => ("giving-set", &house.giving_set),
        _ => return None,
    };
    let only = || {
        let space = Space::Stanza(kind);
        site.workspace.declared_anywhere(space, &named.name).len() == 1
    };
    (held.as_ref() == Some(&named.name) && only()).then_some(key)
}
