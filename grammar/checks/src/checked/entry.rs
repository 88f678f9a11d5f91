//! One stanza's findings, held so that they stay right when it moves.

use std::collections::BTreeSet;

use gutta_notation::Span;
use gutta_protocol::{FileId, Place, StanzaId, Workspace};

use crate::{Finding, Fix, Related, TextEdit};

/// The stanzas, by number; a number is used again once its stanza is gone.
#[derive(Debug, Default)]
pub(super) struct Entries {
    all: Vec<Entry>,
    free: Vec<u32>,
}

#[derive(Debug)]
struct Entry {
    at: StanzaId,
    /// Tells the stanza from the one that had its number before.
    generation: u32,
    alive: bool,
    stale: bool,
    keys: Box<[u32]>,
    findings: Box<[Kept]>,
}

/// A stretch of a stanza, wherever that moves.
#[derive(Clone, Copy, Debug)]
struct Anchor {
    entry: u32,
    generation: u32,
    span: Span,
}

/// A finding whose own span counts from its stanza's start, and whose other
/// places are anchored in the stanzas that hold them.
#[derive(Debug)]
pub(super) struct Kept {
    finding: Finding,
    related: Box<[Anchor]>,
    edits: Box<[Anchor]>,
}

impl Kept {
    pub(super) fn new(
        mut finding: Finding,
        workspace: &Workspace,
        own: StanzaId,
        files: &[Vec<u32>],
        entries: &Entries,
    ) -> Self {
        let anchor = |place: Place| entries.anchor(workspace, own, files, place);
        let related = finding.related.iter().map(|related| anchor(related.place));
        let related = related.collect();
        let edits = finding.fixes.iter().flat_map(|fix| &fix.edits);
        let edits = edits.map(|edit| anchor(edit.place)).collect();
        let start = start(workspace, own);
        finding.place.span = back(finding.place.span, start);
        Self {
            finding,
            related,
            edits,
        }
    }
}

impl Entries {
    pub(super) fn add(&mut self, at: StanzaId) -> u32 {
        if let Some(entry) = self.free.pop() {
            let held = &mut self.all[entry as usize];
            held.at = at;
            held.alive = true;
            held.stale = true;
            held.generation += 1;
            return entry;
        }
        self.all.push(Entry {
            at,
            generation: 0,
            alive: true,
            stale: true,
            keys: Box::default(),
            findings: Box::default(),
        });
        u32::try_from(self.all.len() - 1).unwrap_or(u32::MAX)
    }

    pub(super) fn remove(&mut self, entry: u32) {
        let held = &mut self.all[entry as usize];
        held.alive = false;
        held.stale = false;
        held.findings = Box::default();
        self.free.push(entry);
    }

    pub(super) fn at(&self, entry: u32) -> StanzaId {
        self.all[entry as usize].at
    }

    pub(super) fn move_to(&mut self, entry: u32, at: StanzaId) {
        self.all[entry as usize].at = at;
    }

    pub(super) fn is_stale(&self, entry: u32) -> bool {
        self.all[entry as usize].stale
    }

    /// Marks it as out of date; `false` if it was already.
    pub(super) fn mark(&mut self, entry: u32) -> bool {
        let held = &mut self.all[entry as usize];
        held.alive && !std::mem::replace(&mut held.stale, true)
    }

    pub(super) fn keys_mut(&mut self, entry: u32) -> &mut Box<[u32]> {
        &mut self.all[entry as usize].keys
    }

    pub(super) fn keep(&mut self, entry: u32, findings: Box<[Kept]>) {
        let held = &mut self.all[entry as usize];
        held.findings = findings;
        held.stale = false;
    }

    /// The findings as the text stands; none where they are out of date.
    pub(super) fn findings(&self, workspace: &Workspace, entry: u32) -> Vec<Finding> {
        let held = &self.all[entry as usize];
        if held.stale {
            return Vec::new();
        }
        held.findings
            .iter()
            .map(|kept| self.placed(workspace, held.at, kept))
            .collect()
    }

    /// Whether some finding of the entry points into one of the files.
    pub(super) fn points_into(&self, entry: u32, files: &BTreeSet<FileId>) -> bool {
        let kept = &self.all[entry as usize].findings;
        let mut related = kept.iter().flat_map(|kept| &kept.related);
        related.any(|anchor| files.contains(&self.at(anchor.entry).file))
    }

    fn placed(&self, workspace: &Workspace, at: StanzaId, kept: &Kept) -> Finding {
        let mut finding = kept.finding.clone();
        finding.stanza = Some(at);
        finding.place = workspace.place(at, finding.place.span);
        let places = kept
            .related
            .iter()
            .map(|anchor| self.place(workspace, *anchor));
        finding.related = std::mem::take(&mut finding.related)
            .into_iter()
            .zip(places)
            .filter_map(|(related, place)| {
                Some(Related {
                    place: place?,
                    ..related
                })
            })
            .collect();
        let mut places = kept
            .edits
            .iter()
            .map(|anchor| self.place(workspace, *anchor));
        finding.fixes = std::mem::take(&mut finding.fixes)
            .into_iter()
            .filter_map(|fix| {
                let placed: Vec<_> = fix
                    .edits
                    .into_iter()
                    .map(|edit| {
                        Some(TextEdit {
                            place: places.next().flatten()?,
                            ..edit
                        })
                    })
                    .collect();
                // All of its edits or none.
                let edits = placed.into_iter().collect::<Option<Vec<_>>>()?;
                Some(Fix { edits, ..fix })
            })
            .collect();
        finding
    }

    fn place(&self, workspace: &Workspace, anchor: Anchor) -> Option<Place> {
        let held = &self.all[anchor.entry as usize];
        let same = held.alive && held.generation == anchor.generation;
        same.then(|| workspace.place(held.at, anchor.span))
    }

    fn anchor(
        &self,
        workspace: &Workspace,
        own: StanzaId,
        files: &[Vec<u32>],
        place: Place,
    ) -> Anchor {
        let holder = holder(workspace, own, place);
        let entry = files[holder.file.0 as usize][holder.index as usize];
        Anchor {
            entry,
            generation: self.all[entry as usize].generation,
            span: back(place.span, start(workspace, holder)),
        }
    }
}

/// The stanza that holds the place: its own, where the place is no further
/// than its end.
fn holder(workspace: &Workspace, own: StanzaId, place: Place) -> StanzaId {
    let from = start(workspace, own);
    let end = from + workspace.stanza(own).len;
    if place.file == own.file && (from..=end).contains(&place.span.start) {
        return own;
    }
    workspace
        .stanza_at(place.file, place.span.start)
        .unwrap_or(own)
}

fn start(workspace: &Workspace, id: StanzaId) -> u32 {
    workspace.place(id, Span::new(0, 0)).span.start
}

fn back(span: Span, start: u32) -> Span {
    Span::new(
        span.start.saturating_sub(start),
        span.end.saturating_sub(start),
    )
}
