//! What the resources do not hold: a list that loses nothing.

use std::collections::BTreeMap;

use gutta_notation::lines::Reach;
use gutta_notation::{Fact, Line, Span};
use gutta_protocol::{StanzaId, Workspace};

use super::fate::{Fate, fate};
use super::text::plain;
use crate::holder::holder_of;
use crate::report::Lines;

/// A line that no field holds, or that a field holds in part.
#[derive(Clone, Debug)]
pub(crate) struct Omission {
    /// The line in its file, from 1.
    pub(crate) line: usize,
    /// `run`.
    pub(crate) keyword: String,
    /// As written.
    pub(crate) text: String,
    /// Why.
    pub(crate) why: String,
    /// Whether it goes along in words.
    pub(crate) in_words: bool,
}

/// What the resources do not hold of one stanza.
#[derive(Clone, Debug)]
pub(crate) struct LeftOut {
    pub(crate) stanza: StanzaId,
    /// From the root.
    pub(crate) file: String,
    /// `order noradrenaline-central`.
    pub(crate) holder: String,
    /// In the order of the text.
    pub(crate) omissions: Vec<Omission>,
    /// The number in its file, from 1, of each line of the stanza.
    numbers: Vec<usize>,
}

impl LeftOut {
    /// What no field ever holds of a stanza.
    pub(crate) fn of(workspace: &Workspace, lines: &Lines<'_>, id: StanzaId) -> Self {
        let stanza = workspace.stanza(id);
        let number = |line: &Line| {
            let place = workspace.place(id, line.span);
            lines.position(place.file, place.span.start).line
        };
        let mut left = Self {
            stanza: id,
            file: plain(&workspace.file(id.file).path),
            holder: holder_of(workspace, id),
            omissions: Vec::new(),
            numbers: stanza.lines.iter().map(number).collect(),
        };
        for (at, line) in stanza.lines.iter().enumerate() {
            match fate(stanza.kind, &line.fact) {
                Fate::Expressed => {}
                Fate::InWords(why) => left.push(workspace, at, line, why, true),
                Fate::LeftOut(why) => left.push(workspace, at, line, why, false),
            }
        }
        left
    }

    /// Adds that a line is held in part, or not at all.
    pub(crate) fn note(&mut self, workspace: &Workspace, span: Span, why: &str) {
        let mut lines = workspace.stanza(self.stanza).lines.iter().enumerate();
        let Some((at, line)) = lines.find(|(_, line)| line.span == span) else {
            return;
        };
        let number = self.numbers.get(at).copied();
        let noted = |other: &Omission| Some(other.line) == number && other.why == why;
        if !self.omissions.iter().any(noted) {
            self.push(workspace, at, line, why, true);
            self.omissions.sort_by_key(|omission| omission.line);
        }
    }

    fn push(&mut self, workspace: &Workspace, at: usize, line: &Line, why: &str, in_words: bool) {
        let text = |span| plain(workspace.text_at(workspace.place(self.stanza, span)));
        self.omissions.push(Omission {
            line: self.numbers.get(at).copied().unwrap_or_default(),
            keyword: text(line.keyword),
            text: text(line.span),
            why: why.to_owned(),
            in_words,
        });
    }

    /// `icu.gtt, order a: adjust (17, 19), then (20)`.
    pub(crate) fn told(&self) -> String {
        let mut lines: BTreeMap<usize, (&str, Vec<String>)> = BTreeMap::new();
        let mut first = BTreeMap::new();
        for omission in &self.omissions {
            let keyword = omission.keyword.as_str();
            let at = *first.entry(keyword).or_insert(omission.line);
            let (_, all) = lines.entry(at).or_insert((keyword, Vec::new()));
            let line = omission.line.to_string();
            if !all.contains(&line) {
                all.push(line);
            }
        }
        let lines = lines
            .into_values()
            .map(|(keyword, all)| format!("{keyword} ({})", all.join(", ")));
        let lines = lines.collect::<Vec<_>>().join(", ");
        format!("{}, {}: {lines}", self.file, self.holder)
    }
}

/// The lines of an order's phase that go along in words: its own, and those of
/// the whole order that it does not override.
pub(crate) fn words(workspace: &Workspace, id: StanzaId, phase: usize, named: bool) -> Vec<String> {
    let stanza = workspace.stanza(id);
    // The phase that each line stands in; `None`: above the first.
    let mut at = (!named).then_some(0);
    let placed: Vec<(&Line, Option<usize>)> = stanza
        .lines
        .iter()
        .map(|line| {
            if matches!(line.fact, Fact::Phase { .. }) {
                at = Some(at.map_or(0, |at| at + 1));
            }
            (line, at)
        })
        .collect();
    let last = placed.iter().filter_map(|(_, at)| *at).max();
    let kind = |line: &Line| std::mem::discriminant(&line.fact);
    let own = |line: &Line| {
        let same =
            |(other, at): &(&Line, Option<usize>)| *at == Some(phase) && kind(other) == kind(line);
        placed.iter().any(same)
    };
    let reach = |line: &Line| line.fact.kind().map(|kind| kind.row().reach);
    let holds = |line: &Line, at: Option<usize>| match (reach(line), at) {
        (Some(Reach::Stanza) | None, _) => true,
        (Some(_), Some(at)) => at == phase,
        (Some(Reach::EachPhase), None) => !own(line),
        (Some(Reach::FirstPhase), None) => phase == 0 && !own(line),
        (Some(Reach::LastPhase), None) => last == Some(phase) && !own(line),
    };
    let chosen = placed.iter().filter(|(line, at)| {
        matches!(fate(stanza.kind, &line.fact), Fate::InWords(_)) && holds(line, *at)
    });
    chosen
        .map(|(line, _)| plain(workspace.text_at(workspace.place(id, line.span))))
        .collect()
}
