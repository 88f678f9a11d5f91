//! What a set includes, what its orders give, and who asks for what.

use gutta_notation::{Span, StanzaKind};
use gutta_protocol::{Reference, Space, StanzaId};

use super::names::{Target, named_at};
use crate::state::Site;

/// One stanza asking for another, and where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Call {
    /// The other end.
    pub(crate) other: StanzaId,
    /// The mentions, in the asking stanza's file.
    pub(crate) at: Vec<Span>,
}

/// The sets, orders, specimens and drugs that the name at the byte means; on
/// no name, the stanza around it.
pub(crate) fn callable(site: Site<'_>, offset: u32) -> Vec<StanzaId> {
    let mut ids = match named_at(site, offset).map(|named| named.target) {
        Some(Target::Stanzas(ids)) => ids,
        Some(_) => Vec::new(),
        None => site.stanza_at(offset).into_iter().collect(),
    };
    ids.retain(|id| is_callable(site, *id));
    ids
}

fn is_callable(site: Site<'_>, id: StanzaId) -> bool {
    let stanza = site.workspace.stanza(id);
    let kind = matches!(
        stanza.kind,
        StanzaKind::Set | StanzaKind::Order | StanzaKind::Specimen | StanzaKind::Drug
    );
    kind && stanza.name.is_some()
}

/// What a stanza asks another for.
fn asks(site: Site<'_>, from: StanzaId, reference: &Reference) -> bool {
    let wanted = match site.workspace.stanza(from).kind {
        StanzaKind::Set => StanzaKind::Order,
        StanzaKind::Order | StanzaKind::Specimen => StanzaKind::Drug,
        _ => return false,
    };
    reference.spaces == [Space::Stanza(wanted)]
}

/// What the stanza asks for.
pub(crate) fn outgoing(site: Site<'_>, id: StanzaId) -> Vec<Call> {
    let workspace = site.workspace;
    let mut calls: Vec<Call> = Vec::new();
    for reference in workspace.references(id) {
        if !asks(site, id, reference) {
            continue;
        }
        let Target::Stanzas(others) = super::names::target_of(site.of(id.file), reference) else {
            continue;
        };
        let at = workspace.place(id, reference.span).span;
        others
            .into_iter()
            .for_each(|other| add(&mut calls, other, at));
    }
    calls
}

/// Who asks for the stanza.
pub(crate) fn incoming(site: Site<'_>, id: StanzaId) -> Vec<Call> {
    let workspace = site.workspace;
    let mut calls: Vec<Call> = Vec::new();
    for (from, reference) in workspace.referrers(id) {
        if asks(site, from, reference) {
            add(&mut calls, from, workspace.place(from, reference.span).span);
        }
    }
    calls
}

/// Mentions come by stanza, so that only the last call may be the same; of
/// what a stanza asks for there are few.
fn add(calls: &mut Vec<Call>, other: StanzaId, at: Span) {
    match calls.iter_mut().rev().find(|call| call.other == other) {
        Some(call) => call.at.push(at),
        None => calls.push(Call {
            other,
            at: vec![at],
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::{Call, callable, incoming, outgoing};
    use crate::features::harness::Fixture;

    const WARD: &str = "\
drug a \"A\"
  also       b
order o \"O\"
  drug       b
specimen slip \"S\"
  drug       a
set t \"T\"
  include    o
  line       one: o
";

    fn told(fixture: &Fixture, calls: &[Call]) -> Vec<String> {
        let name = |call: &Call| {
            fixture
                .workspace
                .stanza(call.other)
                .name
                .clone()
                .unwrap()
                .value
        };
        calls
            .iter()
            .map(|call| format!("{} {}", name(call), call.at.len()))
            .collect()
    }

    fn at(marked: &str) -> (Fixture, gutta_protocol::StanzaId) {
        let fixture = Fixture::of(&WARD.replacen(&marked.replace('|', ""), marked, 1));
        let ids = callable(fixture.site(), fixture.cursor());
        assert_eq!(ids.len(), 1, "{marked}");
        (fixture, ids[0])
    }

    #[test]
    fn a_set_asks_for_orders_and_these_for_drugs() {
        let (fixture, set) = at("set t| ");
        assert_eq!(told(&fixture, &outgoing(fixture.site(), set)), ["o 2"]);
        assert_eq!(told(&fixture, &incoming(fixture.site(), set)), [""; 0]);
        let (fixture, order) = at("include    o|");
        assert_eq!(told(&fixture, &outgoing(fixture.site(), order)), ["a 1"]);
        assert_eq!(told(&fixture, &incoming(fixture.site(), order)), ["t 2"]);
        let (fixture, drug) = at("drug       b|");
        assert_eq!(told(&fixture, &outgoing(fixture.site(), drug)), [""; 0]);
        assert_eq!(
            told(&fixture, &incoming(fixture.site(), drug)),
            ["o 1", "slip 1"]
        );
    }

    #[test]
    fn what_asks_for_nothing_is_not_asked() {
        let fixture = Fixture::of("area a| \"A\"\n  ceiling 5 mL/h\n");
        assert!(callable(fixture.site(), fixture.cursor()).is_empty());
    }
}
