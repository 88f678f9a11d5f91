//! Changing a stretch of one file's text: only the stanzas that it touches
//! are read again.

use std::sync::Arc;

use gutta_notation::{Placed, Span, Stanza, StanzaKind, Starts, read_stanza, settle};
use rustc_hash::FxHashSet;
use smol_str::SmolStr;

use super::Workspace;
use crate::names::{Space, StanzaNames};
use crate::source::{Content, FileId, Lines, MAX_FILE_BYTES, StanzaId};
use crate::trace::Query;

/// What an edit did.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// The file.
    pub file: FileId,
    /// The place of the first stanza that was read again.
    pub first: u32,
    /// How many stanzas gave way.
    pub before: u32,
    /// How many came in their place.
    pub after: u32,
    /// The questions whose answers may have changed.
    pub asked: FxHashSet<Query>,
    /// The files whose every stanza may be judged otherwise now: what they
    /// see, or whether orders stand beside them, has changed.
    pub files: Vec<FileId>,
    /// Whether what stands behind the edit is on another line now.
    pub lines_moved: bool,
}

impl Workspace {
    /// Puts `with` in the place of the bytes `span` of the file, which must
    /// stand at characters' borders; what lies outside the text is cut off.
    ///
    /// Where the file was not read, or would not be, all of it is read again:
    /// the change then says that every stanza gave way.
    pub fn edit_file(&mut self, id: FileId, span: Span, with: &str) -> Change {
        let file = self.file(id);
        let (from, to) = borders(&file.text, span);
        let kept = (file.text.len() - (to - from)) as u64;
        let plain = file.faults.is_empty()
            && memchr::memchr(0, with.as_bytes()).is_none()
            && kept + with.len() as u64 <= MAX_FILE_BYTES;
        if plain {
            self.edit_text(id, from, to, with)
        } else {
            let mut text = file.text.clone();
            text.replace_range(from..to, with);
            self.rewrite_file(id, text)
        }
    }

    /// Puts a whole new text in the file's place, as a change of it.
    pub fn rewrite_file(&mut self, id: FileId, content: impl Into<Content>) -> Change {
        let names = |workspace: &Self| -> Vec<_> {
            workspace
                .stanzas_in(id)
                .filter_map(|stanza| workspace.names.stanza(stanza).cloned())
                .collect()
        };
        let old = names(self);
        let mut files = self.seen_by(id).to_vec();
        let path = self.file(id).path.clone();
        self.replace_file(&path, content);
        let new = names(self);
        files.extend_from_slice(self.seen_by(id));
        files.extend_from_slice(self.sees(id));
        files.sort_unstable();
        files.dedup();
        Change {
            file: id,
            first: 0,
            before: len32(old.len()),
            after: len32(new.len()),
            asked: affected(&old, &new),
            files,
            lines_moved: true,
        }
    }

    /// Every question that the file's coming or going answers otherwise.
    #[must_use]
    pub fn all_asked(&self, id: FileId) -> FxHashSet<Query> {
        let names: Vec<_> = self
            .stanzas_in(id)
            .filter_map(|stanza| self.names.stanza(stanza))
            .collect();
        affected::<&StanzaNames, _>(&[], &names)
    }

    fn edit_text(&mut self, id: FileId, from: usize, to: usize, with: &str) -> Change {
        let style = self.house.style;
        let file = &mut self.files[id.0 as usize];
        let lines_moved = breaks(&file.text[from..to]) != breaks(with);
        file.text.replace_range(from..to, with);
        file.lines = Lines::default();
        let text = file.text.as_str();
        let starts = file
            .starts
            .get_or_insert_with(|| Starts::of(file.ast.stanzas.iter().map(|placed| placed.start)));
        let new_end = from + with.len();
        let touched = starts.edit(text, len32(from), len32(to), len32(new_end));
        let starts = starts.as_slice();
        let stanzas = &mut file.ast.stanzas;
        let (first, before) = (touched.first, touched.before);
        let after = touched.after;
        let read = |index: usize, above: Option<&Stanza>| -> Placed {
            let start = starts[index];
            let end = starts
                .get(index + 1)
                .map_or(text.len(), |end| *end as usize);
            let own = text.get(start as usize..end).unwrap_or("");
            let mut stanza = read_stanza(own, style);
            if let Some(above) = above {
                settle(above, own, &mut stanza);
            }
            Placed {
                start,
                stanza: Arc::new(stanza),
            }
        };
        let mut new: Vec<Placed> = Vec::with_capacity(after + 1);
        for index in first..first + after {
            let above = match new.last() {
                Some(placed) => Some(&*placed.stanza),
                None => index.checked_sub(1).map(|above| &*stanzas[above].stanza),
            };
            let placed = read(index, above);
            new.push(placed);
        }
        // The stanza below was settled by what stood above it.
        let mut before = before;
        if let Some(below) = stanzas.get(first + before)
            && can_settle(&below.stanza)
        {
            let above = match new.last() {
                Some(placed) => Some(&*placed.stanza),
                None => first.checked_sub(1).map(|above| &*stanzas[above].stanza),
            };
            let placed = read(first + after, above);
            new.push(placed);
            before += 1;
        }
        // What the scan looked at without the edit's reaching it stays.
        let untouched = |old: &Placed, now: &Placed| old.stanza == now.stanza;
        let mut skip = 0;
        while skip < before.min(new.len())
            && (new[skip].start + new[skip].stanza.len) as usize <= from
            && untouched(&stanzas[first + skip], &new[skip])
        {
            skip += 1;
        }
        let mut tail = 0;
        while tail < before.min(new.len()) - skip
            && new[new.len() - 1 - tail].start as usize >= new_end
            && untouched(
                &stanzas[first + before - 1 - tail],
                &new[new.len() - 1 - tail],
            )
        {
            tail += 1;
        }
        new.truncate(new.len() - tail);
        new.drain(..skip);
        let (first, before, after) = (first + skip, before - skip - tail, new.len());
        stanzas.splice(first..first + before, new);
        for (placed, start) in stanzas[first..].iter_mut().zip(&starts[first..]) {
            placed.start = *start;
        }
        let beside = self.holds_orders(id);
        let sees = self.sees(id).to_vec();
        let (first, before, after) = (len32(first), len32(before), len32(after));
        let renamed = self.names.splice(&self.files, id, first, before, after);
        let mut files = Vec::new();
        if renamed.relinked {
            files.push(id);
            files.extend(sees);
            files.extend_from_slice(self.sees(id));
        }
        if beside != self.holds_orders(id) {
            files.push(id);
        }
        files.sort_unstable();
        files.dedup();
        let new: Vec<_> = (first..first + after)
            .filter_map(|index| self.names.stanza(StanzaId { file: id, index }))
            .collect();
        Change {
            file: id,
            first,
            before,
            after,
            asked: affected(&renamed.old, &new),
            files,
            lines_moved,
        }
    }
}

/// The questions whose answers may have changed, where some stanzas gave way
/// to others.
pub(super) fn affected<O, N>(old: &[O], new: &[N]) -> FxHashSet<Query>
where
    O: std::borrow::Borrow<StanzaNames>,
    N: std::borrow::Borrow<StanzaNames>,
{
    let old = old.iter().map(std::borrow::Borrow::borrow);
    let new = new.iter().map(std::borrow::Borrow::borrow);
    let (old_declared, old_mentioned) = gathered(old);
    let (new_declared, new_mentioned) = gathered(new);
    let mut asked: FxHashSet<Query> = FxHashSet::default();
    for (name, _) in old_declared.union(&new_declared) {
        asked.insert(Query::Name((*name).clone()));
    }
    for (_, space) in old_declared.symmetric_difference(&new_declared) {
        asked.insert(Query::Sight(*space));
    }
    for name in old_mentioned.symmetric_difference(&new_mentioned) {
        asked.insert(Query::Mentions((*name).clone()));
    }
    asked
}

type Gathered<'a> = (FxHashSet<(&'a SmolStr, Space)>, FxHashSet<&'a SmolStr>);

fn gathered<'a>(stanzas: impl Iterator<Item = &'a StanzaNames>) -> Gathered<'a> {
    let mut declared = FxHashSet::default();
    let mut mentioned = FxHashSet::default();
    for names in stanzas {
        declared.extend(names.declared.iter().map(|(name, space)| (name, *space)));
        mentioned.extend(names.references.iter().map(|reference| &reference.name));
    }
    (declared, mentioned)
}

/// Whether the stanza above can have a say in how this one was read.
fn can_settle(stanza: &Stanza) -> bool {
    stanza.lines.is_empty()
        && stanza.title.is_none()
        && matches!(
            stanza.kind,
            StanzaKind::Drug | StanzaKind::Area | StanzaKind::Pump | StanzaKind::GivingSet
        )
}

/// The span inside the text, moved out to characters' borders.
fn borders(text: &str, span: Span) -> (usize, usize) {
    let from = text.floor_char_boundary(span.start as usize);
    let to = text.ceil_char_boundary(span.end as usize).max(from);
    (from, to)
}

fn breaks(text: &str) -> usize {
    memchr::memchr2_iter(b'\n', b'\r', text.as_bytes()).count()
}

fn len32(len: usize) -> u32 {
    u32::try_from(len).unwrap_or(u32::MAX)
}
