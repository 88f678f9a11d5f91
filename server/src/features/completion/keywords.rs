//! Stanzas and lines that can stand at a place.

use gutta_notation::lines::{LineKind, LineWord, keyword_of};
use gutta_notation::words::{STANZAS, StanzaWord};
use gutta_notation::{Fact, Line, StanzaKind};
use gutta_protocol::Space;

use super::cursor::Cursor;
use super::{About, Item, Kind, names};

/// Every stanza; each can be written as a whole.
pub(super) fn stanzas(cursor: &Cursor<'_>) -> Vec<Item> {
    let item = |stanza: &StanzaWord| Item {
        text: format!("{} ", stanza.word),
        snippet: (!cursor.goes_on).then(|| whole(stanza.kind)).flatten(),
        ..Item::new(Kind::Stanza, stanza.word).about(About::Stanza(stanza.word.into()))
    };
    STANZAS.iter().map(item).collect()
}

/// A stanza with the lines that it hardly goes without.
fn whole(kind: StanzaKind) -> Option<String> {
    let text = match kind {
        StanzaKind::Use => "use \"${1:../reference/drugs.gtt}\"\n$0",
        StanzaKind::Pump => {
            "pump ${1:name} \"${2:Title}\"\n  flow       ${3:0.1} to ${4:99.9} mL/h in steps of ${5:0.1} mL/h\n  volume     up to ${6:60} mL\n$0"
        }
        StanzaKind::GivingSet => {
            "giving-set ${1:name} \"${2:Title}\"\n  drops      ${3:20} per mL\n$0"
        }
        StanzaKind::Area => {
            "area ${1:name} \"${2:Title}\"\n  patient    weight ${3:40} to ${4:150} kg\n$0"
        }
        StanzaKind::Solution => {
            "solution ${1:name} \"${2:Title}\"\n  contains   ${3:substance} ${4:strength}\n  osmolarity ${5:number} mOsm/L\n$0"
        }
        StanzaKind::Ingredient => {
            "ingredient ${1:substance} \"${2:Title}\"\n  usual dose up to ${3:dose}\n  never dose above ${4:dose}\n  never total above ${5:amount} per day\n  source     \"${6:where the limits come from}\"\n$0"
        }
        StanzaKind::Drug => {
            "drug ${1:name} \"${2:Title}\"\n  dosed in   ${3:unit}\n  supplied   ${4:amount} in ${5:volume}\n  with       ${6:solution}\n  only by    ${7:route}\n  usual dose ${8:range}\n  never dose above ${9:dose}\n  source     \"${10:where the limits come from}\"\n$0"
        }
        StanzaKind::Order => {
            "order ${1:name} \"${2:Title}\"\n  drug       ${3:drug}\n  area       ${4:area}\n  patient    weight ${5:range}\n  route      ${6:route}\n  pump       ${7:pump}\n  mix        ${8:amount} made up to ${9:volume} with ${10:solution}\n  run        all at ${11:dose}\n  then       ${12:renew}\n$0"
        }
        StanzaKind::Specimen => {
            "specimen ${1:name} \"${2:Title}\"\n  drug       ${3:drug}\n  mix        ${4:amount} made up to ${5:volume} with ${6:solution}\n  run        all at ${7:dose}\n  then       stop\n  expect     finding ${8:rule}\n$0"
        }
        StanzaKind::Set => {
            "set ${1:name} \"${2:Title}\"\n  area       ${3:area}\n  patient    weight ${4:range}\n  include    ${5:orders}\n  fluid      up to ${6:volume}\n  review by  ${7:date}\n$0"
        }
        StanzaKind::Preamble | StanzaKind::Unknown => return None,
    };
    Some(text.to_owned())
}

/// The lines that can stand in the stanza, and do not yet.
pub(super) fn lines(cursor: &Cursor<'_>, start: u32) -> Vec<Item> {
    let there = there(cursor, start);
    let mut words: Vec<_> = cursor
        .words()
        .filter(|line| !is_there(line.kind, &there))
        .collect();
    if matches!(cursor.kind, StanzaKind::Order | StanzaKind::Specimen) {
        words.sort_by_key(|line| line.kind.row().place);
    }
    let home = cursor.stanza_word();
    let item = |line: &LineWord| {
        let bare = cursor.goes_on || line.kind == LineKind::HighAlert;
        let limit = matches!(line.kind, LineKind::Usual | LineKind::Never);
        let text = match (bare, limit) {
            (true, _) => line.words.to_owned(),
            (false, true) => format!("{} ", line.words),
            (false, false) => format!("{:<10} ", line.words),
        };
        Item {
            text,
            ..Item::new(Kind::Word, line.words).about(About::Line(line.words.into(), home.into()))
        }
    };
    let mut items: Vec<_> = words.into_iter().map(item).collect();
    items.extend(loads(cursor, start));
    items
}

/// The substances of which the set does not yet say how much it may bring: each
/// begins a line.
fn loads(cursor: &Cursor<'_>, start: u32) -> Vec<Item> {
    let Some(id) = cursor.stanza.filter(|_| cursor.kind == StanzaKind::Set) else {
        return Vec::new();
    };
    let own = start.saturating_sub(cursor.site.start_of(id));
    let lines = &cursor.site.workspace.stanza(id).lines;
    let others = lines.iter().filter(|line| line.keyword.start != own);
    let said: Vec<_> = others
        .filter_map(|line| match &line.fact {
            Fact::Load { substance, .. } => Some(&substance.value),
            _ => None,
        })
        .collect();
    let mut items = names::in_sight(cursor, Space::Substance);
    items.retain(|item| !said.iter().any(|name| **name == item.label));
    for item in items.iter_mut().filter(|_| !cursor.goes_on) {
        item.text = format!("{:<10} ", item.label);
    }
    items
}

/// A line that is there: what it is, and whether it stands in the phase at the
/// cursor, or above all phases.
struct There {
    kind: LineKind,
    here: bool,
}

/// The lines of the stanza, but for the one at `start`.
fn there(cursor: &Cursor<'_>, start: u32) -> Vec<There> {
    let Some(id) = cursor.stanza else {
        return Vec::new();
    };
    let workspace = cursor.site.workspace;
    let stanza = workspace.stanza(id);
    let own = start.saturating_sub(cursor.site.start_of(id));
    let kind_of = |line: &Line| {
        let words = workspace.text_at(workspace.place(id, line.keyword));
        let known = keyword_of(words, stanza.kind);
        known.map(|(word, _)| word.kind)
    };
    let mut phase = 0;
    let mut all = Vec::new();
    let mut at = 0;
    for line in &stanza.lines {
        let Some(kind) = kind_of(line) else { continue };
        phase += u32::from(kind == LineKind::Phase);
        if line.span.start < own {
            at = phase;
        }
        if line.keyword.start != own {
            all.push((kind, phase));
        }
    }
    all.into_iter()
        .map(|(kind, phase)| There {
            kind,
            here: phase == at,
        })
        .collect()
}

fn is_there(kind: LineKind, there: &[There]) -> bool {
    if kind.repeats() {
        return false;
    }
    there.iter().any(|held| {
        let same = held.kind == kind || (held.kind.is_bag() && kind.is_bag());
        same && (held.here || !kind.is_of_phase())
    })
}
